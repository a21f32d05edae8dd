from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.checks.base import LAPSE, Case, Finding, Spread, State, cannot, word_loglik
from firstoff.checks.chatter import CHECK as CHATTER
from firstoff.checks.size import CHECK as SIZE
from firstoff.dryrun.registry import all_checks
from tests.checks.builders import block, case, job, operation, setting, shop


def finding(p: np.ndarray | None) -> Finding:
    return Finding("chatter", "operation", "op", "finish", p, None, None, "", "so")


def test_a_word_and_ok_are_complements_up_to_lapses() -> None:
    p = np.linspace(0.0, 1.0, 11)
    sang, fine = (word_loglik(CHATTER, finding(p), word) for word in ("sang", "ok"))
    assert sang is not None and fine is not None
    assert np.exp(sang) + np.exp(fine) == pytest.approx(np.ones(11))
    assert np.exp(sang[0]) == pytest.approx(LAPSE)


def test_a_word_says_nothing_about_another_check() -> None:
    assert word_loglik(CHATTER, finding(np.array([0.5])), "moved") is None
    assert word_loglik(SIZE, finding(np.array([0.5])), "ok") is None
    assert word_loglik(CHATTER, finding(None), "sang") is None


def test_a_spread_of_a_certain_number() -> None:
    assert Spread.of(3.0) == (3.0, 3.0, 3.0)
    assert Spread.of(np.arange(101.0)) == pytest.approx((5.0, 50.0, 95.0))


def test_cannot_has_no_chance() -> None:
    none = cannot("chatter", case(), "finish", "so", "tap it")
    assert none.p_fail is None and none.settle_by == "tap it"


def test_what_is_left_on_a_feature() -> None:
    state = State("block", left=(("pocket-1", 0.3),))
    assert state.left_on("pocket-1") == 0.3 and state.left_on("slot-1") == 0.0


WORDS = ("ok", "sang", "squealed", "slowed", "moved", "broke")
CHANCES = st.lists(st.floats(0.0, 1.0), min_size=1, max_size=8)


@given(CHANCES)
def test_chances_of_all_words_about_one_check_are_at_most_one(chances: list[float]) -> None:
    p = np.array(chances)
    for check in all_checks():
        said = [w for word in WORDS if (w := word_loglik(check, finding(p), word)) is not None]
        assert np.all(sum((np.exp(w) for w in said), np.zeros(len(p))) <= 1.0 + 1e-12), check.name
        assert len(said) == (2 if check.word else 0), check.name


@given(CHANCES)
def test_no_word_rules_a_row_out_nor_proves_it(chances: list[float]) -> None:
    """A person misses, or misnames, one thing in twenty: a likelihood is never below that, nor above the rest."""
    p = np.array(chances)
    for word in ("ok", "sang"):
        said = word_loglik(CHATTER, finding(p), word)
        assert said is not None and np.all(np.isfinite(said))
        assert np.all((np.exp(said) >= LAPSE - 1e-12) & (np.exp(said) <= 1.0 - LAPSE + 1e-12))


def test_what_is_likelier_to_sing_is_likelier_said_to() -> None:
    p = np.linspace(0.0, 1.0, 50)
    sang, fine = (word_loglik(CHATTER, finding(p), word) for word in ("sang", "ok"))
    assert sang is not None and fine is not None
    assert np.all(np.diff(sang) > 0.0) and np.all(np.diff(fine) < 0.0)


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40))
def test_a_spread_is_in_order_and_within_the_rows(rows: list[float]) -> None:
    spread = Spread.of(np.array(rows))
    for less, more in pairwise((min(rows), *spread, max(rows))):
        assert less <= more + 1e-6


def test_a_finding_fails_as_often_as_its_rows_do() -> None:
    assert finding(np.array([0.0, 0.5, 1.0, 0.5])).p_fail == 0.5
    assert finding(None).p_fail is None


def test_cannot_says_for_whom_and_at_what_risk() -> None:
    none = cannot("size", case("limit", "height"), "size", "so")
    assert (none.check, none.subject, none.name, none.at_risk) == ("size", "limit", "height", "size")
    assert (none.p_rows, none.demand, none.capacity, none.unit) == (None, None, None, "")


def test_a_case_finds_its_things_by_name() -> None:
    this: Case = case(place=setting(machine="press"), op=operation(tool="em10", features=["stock-6", "stock-1"]))
    tiny = shop()
    assert this.machine == tiny.machines["press"] and this.machine_name == "press"
    assert this.machine_kind == "drill_press"
    assert this.tool == tiny.tools["em10"]
    assert (this.material_name, this.material) == ("steel", tiny.materials["steel"])
    assert this.part == block() and this.wanted == job().parts["block"]
    assert [feature.id for feature in this.features] == ["stock-6", "stock-1"]
    assert this.op is this.operation and this.setting == this.route.settings["first"]


@pytest.mark.parametrize("what", ["part", "setting", "tool", "op"])
def test_what_a_case_does_not_have_is_no_other_thing(what: str) -> None:
    bare = replace(case("limit", "height"), part_name=None)
    with pytest.raises(AssertionError):
        getattr(bare, what)
