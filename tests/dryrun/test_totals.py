"""Sums of chances: independent, shared, first to go, can't say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.belief import Rows
from firstoff.checks.base import AtRisk, Finding
from firstoff.dryrun.findings import Kept
from firstoff.dryrun.totals import (
    by_operation,
    chance_part_lost,
    chance_spoiled,
    first_to_go,
    relief,
    verdict,
)
from firstoff.shop.models import Shop

SHOP = Shop(name="a shop")
ROWS = 200


def finding(p: Rows | float | None, at_risk: AtRisk = "part", name: str = "op", settle_by: str = "") -> Finding:
    rows = None if p is None else np.broadcast_to(np.asarray(p, dtype=np.float64), (ROWS,))
    return Finding("c", "operation", name, at_risk, rows, None, None, "", "because", settle_by)


def kept(p: Rows | float | None, lasting: Rows | None = None, settle_by: str = "") -> Kept:
    return Kept(finding(p, settle_by=settle_by), lasting, (), "")


def test_twenty_independent_at_one_percent_are_18_percent_scrap() -> None:
    assert chance_spoiled([finding(0.01)] * 20, ROWS) == pytest.approx(1 - 0.99**20, rel=1e-12)


def test_twenty_that_share_all_doubt_are_one_percent() -> None:
    bad_rows = (np.arange(ROWS) < ROWS // 100).astype(float)
    assert chance_spoiled([finding(bad_rows)] * 20, ROWS) == pytest.approx(0.01, rel=1e-9)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=8))
def test_the_sum_lies_between_the_worst_and_the_sum(chances: list[float]) -> None:
    total = chance_spoiled([finding(p) for p in chances], ROWS)
    assert max(chances) - 1e-9 <= total <= min(1.0, sum(chances)) + 1e-9


def test_only_the_part_counts_against_the_budget() -> None:
    findings = [finding(0.5, "finish"), finding(0.02, "part"), finding(None, "part")]
    assert chance_part_lost(findings, ROWS) == pytest.approx(0.02)


def test_first_to_go_is_the_one_whose_removal_helps_most_not_the_likeliest() -> None:
    """Two checks fail on the same tenth of the rows; the third alone on another 8 %: taking it away helps most."""
    same = (np.arange(ROWS) < ROWS // 10).astype(float)
    other = (np.arange(ROWS) >= ROWS - 16).astype(float)
    assert first_to_go([finding(same), finding(same), finding(other)], ROWS) == 2


def test_of_two_that_are_certain_the_dearer_leads() -> None:
    assert first_to_go([finding(1.0, "finish"), finding(1.0, "part")], ROWS) == 1


def test_nothing_likely_nothing_first() -> None:
    assert first_to_go([finding(0.0), finding(None)], ROWS) is None
    assert first_to_go([], ROWS) is None


@pytest.mark.parametrize(("p", "word"), [(0.01, "good"), (0.011, "close"), (0.05, "close"), (0.051, "no good")])
def test_verdicts_at_the_limits_of_the_shop(p: float, word: str) -> None:
    assert verdict(kept(p), SHOP) == word


def test_cannot_be_computed_is_cant_say() -> None:
    assert verdict(kept(None), SHOP) == "can't say"


def test_cant_say_needs_a_fifth_on_each_side_and_something_that_settles_it() -> None:
    split = np.where(np.arange(ROWS) < ROWS * 0.7, 0.001, 0.9)
    assert verdict(kept(split, split, "push a luggage scale"), SHOP) == "can't say"
    assert verdict(kept(split, split), SHOP) == "no good"
    lopsided = np.where(np.arange(ROWS) < ROWS * 0.85, 0.001, 0.9)
    assert verdict(kept(lopsided, lopsided, "push a luggage scale"), SHOP) == "no good"


def test_doubt_that_comes_anew_each_time_is_no_reason_for_cant_say() -> None:
    """Rows differ, but not once what changes at every clamping is put aside."""
    split = np.where(np.arange(ROWS) < ROWS * 0.5, 0.001, 0.9)
    assert verdict(kept(split, np.full(ROWS, 0.3), "push a luggage scale"), SHOP) == "no good"


def test_by_operation_sums_each_alone() -> None:
    sums = by_operation([finding(0.1, name="a"), finding(0.2, name="a"), finding(0.5, name="b")], ROWS)
    assert sums["a"] == pytest.approx(1 - 0.9 * 0.8)
    assert sums["b"] == pytest.approx(0.5)


def grouped(p: Rows | float, group: str) -> Finding:
    return replace(finding(p), joint_group=group)


def test_a_group_that_shares_its_sources_counts_once() -> None:
    sizes = [grouped(0.1, "size:body"), grouped(0.3, "size:body")]
    assert chance_spoiled(sizes, ROWS) == pytest.approx(0.3)
    assert chance_spoiled([*sizes, finding(0.1)], ROWS) == pytest.approx(1 - 0.7 * 0.9)
    assert chance_spoiled([*sizes, grouped(0.1, "size:sole")], ROWS) == pytest.approx(1 - 0.7 * 0.9)


def test_relief_of_one_in_a_group_is_what_it_adds_to_the_others() -> None:
    gains = relief([grouped(0.1, "g"), grouped(0.3, "g")], ROWS)
    assert gains == pytest.approx([0.0, 0.2])


@given(st.lists(st.tuples(st.sampled_from(["", "g", "h"]), st.sampled_from([None, 0.0, 0.01, 0.3, 0.3, 0.9]),
                          st.integers(0, 9)), max_size=7))
def test_relief_is_what_taking_one_away_changes(drawn: list[tuple[str, float | None, int]]) -> None:
    ramp = np.linspace(0.0, 1.0, ROWS)
    findings = [replace(finding(None if p is None else p * (ramp if turn % 2 else 1.0 - ramp)), joint_group=name)
                for name, p, turn in drawn]
    whole = chance_spoiled(findings, ROWS)
    without = [whole - chance_spoiled(findings[:k] + findings[k + 1:], ROWS) for k in range(len(findings))]
    assert relief(findings, ROWS) == pytest.approx(without, abs=1e-12)


@given(st.lists(st.tuples(st.sampled_from(["", "", "g"]), st.sampled_from([0.0, 1e-6, 0.01, 0.3, 0.3, 0.9, 1.0]),
                          st.integers(0, 9)), min_size=1, max_size=40))
def test_what_is_first_to_go_is_the_same_as_if_the_relief_by_each_were_looked_at(
    drawn: list[tuple[str, float, int]]
) -> None:
    ramp = np.linspace(0.0, 1.0, ROWS)
    chances = [np.full(ROWS, p) if turn == 0 else p * (ramp if turn % 2 else 1.0 - ramp) for _, p, turn in drawn]
    findings = [replace(finding(p), joint_group=name) for p, (name, _, _) in zip(chances, drawn, strict=True)]
    gains = relief(findings, ROWS)
    best = max(range(len(findings)), key=lambda k: (round(gains[k], 4), round(findings[k].p_fail or 0.0, 4), -k))
    first = first_to_go(findings, ROWS)
    assert first == (best if (findings[best].p_fail or 0.0) > 0.0 else None)
