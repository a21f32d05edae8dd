"""A candidate is looked at check by check, and no further than it is worth; what is settled is what all would say."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.checks.base import Check, Finding
from firstoff.dryrun.findings import found_by
from firstoff.dryrun.keys import case_key
from firstoff.dryrun.looking import DEAR, Look, checks_of
from firstoff.dryrun.registry import all_checks
from firstoff.dryrun.totals import chance_spoiled
from firstoff.job.route import Cut
from tests.checks import builders
from tests.dryrun import small

ROWS = 8
CASE = builders.case()


def check_of(name: str) -> Check:
    return Check(name, name, "part", "operation", lambda case: True, lambda case, belief: finding(name, 0.0))


def finding(name: str, p: float, group: str = "") -> Finding:
    return Finding(name, "operation", "op", "part", np.linspace(0.5, 1.0, ROWS) * p, None, None, "", "so",
                   joint_group=group)


class Counted(Look):
    """Counts what it has run."""

    def __init__(self, chances: dict[str, float], group: str = "") -> None:
        self.ran: list[str] = []

        def find(check: Check) -> Finding:
            self.ran.append(check.name)
            return finding(check.name, chances[check.name], group)

        super().__init__(CASE, tuple(check_of(name) for name in chances), ROWS, find)


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=8), st.floats(0.0, 1.0), st.booleans())
def test_within_says_what_all_checks_together_say(chances: list[float], most: float, grouped: bool) -> None:
    named = {f"c{i}": p for i, p in enumerate(chances)}
    group = "sizes" if grouped else ""
    whole = chance_spoiled([finding(name, p, group) for name, p in named.items()], ROWS)
    look = Counted(named, group)
    if not math.isclose(whole, most, rel_tol=1e-6, abs_tol=1e-12):
        assert look.within(most) == (whole <= most)
    assert look.p_spoil == pytest.approx(whole, abs=1e-12)
    assert sorted(look.ran) == sorted(named), "each check ran once, whatever was asked"


def test_what_is_too_risky_already_is_looked_at_no_further() -> None:
    look = Counted({"a": 0.5, "b": 0.1, "c": 0.1})
    assert not look.within(0.2)
    assert look.ran == ["a"]


def test_what_is_beside_one_check_is_all_the_others() -> None:
    look = Counted({"a": 0.5, "b": 0.1, "c": 0.2})
    rows = np.linspace(0.5, 1.0, ROWS)
    assert look.beside("a") == pytest.approx((1.0 - 0.1 * rows) * (1.0 - 0.2 * rows))
    assert look.beside("none of them") == pytest.approx(look.beside("a") * (1.0 - 0.5 * rows))


def test_dear_checks_come_last_and_findings_in_the_order_of_the_checks() -> None:
    look = Counted({DEAR[-1]: 0.1, DEAR[0]: 0.2, "a": 0.3})
    assert [f.check for f in look.whole()] == [DEAR[-1], DEAR[0], "a"]
    assert look.ran == ["a", DEAR[0], DEAR[-1]]


def test_one_check_can_be_asked_first() -> None:
    look = Counted({"a": 0.5, DEAR[-1]: 0.1})
    found = look.of(DEAR[-1])
    assert found is not None and look.ran == [DEAR[-1]] and look.of("another") is None


def test_dear_checks_are_checks() -> None:
    assert {check.name for check in all_checks()} >= set(DEAR)


def test_no_check_of_a_setting_or_joint_reads_the_numbers_of_a_cut() -> None:
    """Their key leaves these out: with other numbers, and with none, each finds the same."""
    by, route = small.belief(), small.route()
    bare = route.model_copy(update={"operations": {
        name: op.model_copy(update={"cut": Cut(), "stickout": None, "collet": None})
        for name, op in route.operations.items()}})
    looked = 0
    for name, case in small.cases(route).items():
        if case.subject not in ("setting", "joint"):
            continue
        other = small.cases(bare)[name]
        assert case_key(case, by, cuts=False) == case_key(other, by, cuts=False) != case_key(other, by)
        for check in checks_of(case):
            one, two = found_by(check, case, by), found_by(check, other, by)
            assert one.because == two.because
            assert str(one.p_rows) == str(two.p_rows)
            looked += 1
    assert looked > 4
