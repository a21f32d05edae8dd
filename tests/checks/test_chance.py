from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.belief import Belief, Level
from firstoff.checks._chance import (
    decided,
    discrepancy,
    figure,
    known,
    lasting,
    middle,
    over,
    spread,
    weighed,
)
from tests.checks.builders import case, column, spread_column

RATIO = st.floats(0.01, 100.0)


@given(RATIO, RATIO, st.floats(0.02, 2.0))
def test_over_is_the_lognormal_tail(demand: float, capacity: float, scatter: float) -> None:
    p = over(np.array([demand]), np.array([capacity]), scatter)[0]
    assert 0.0 <= p <= 1.0
    assert p + over(np.array([capacity]), np.array([demand]), scatter)[0] == pytest.approx(1.0)
    assert over(np.array([1.1 * demand]), np.array([capacity]), scatter)[0] >= p


def test_over_agrees_with_counting() -> None:
    drawn = 0.8 * np.exp(0.3 * np.random.default_rng(1).standard_normal(400_000))
    assert over(np.array([0.8]), np.array([1.0]), 0.3)[0] == pytest.approx(np.mean(drawn > 1.0), abs=0.003)


def test_over_at_the_ends() -> None:
    assert np.all(over(np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0]), 0.1) == [0.0, 1.0, 0.0])
    assert np.all(over(np.array([1.0, 2.0]), np.array([1.5, 1.5]), 0.0) == [0.0, 1.0])


def test_half_of_the_rows_at_half() -> None:
    assert over(np.full(3, 5.0), np.full(3, 5.0), 0.2) == pytest.approx([0.5] * 3)


def test_scatter_of_an_operation_is_taken_out_of_the_rows() -> None:
    fresh = Belief.of([column("a", "k", 5.0, 1.5, level=Level.OPERATION), column("b", "k", 5.0, 1.5)], rows=64)
    rows, own = lasting(fresh, "a", "k")
    assert rows == pytest.approx(np.full(64, 5.0)) and own == pytest.approx(np.log(1.5))
    rows, own = lasting(fresh, "b", "k")
    assert np.ptp(rows) > 1.0 and own == 0.0


def test_scatter_of_a_signed_column_in_mm() -> None:
    fresh = Belief.of([spread_column("a", "k", 1.0, 0.5, "mm", Level.HOLE)], rows=64)
    rows, own = lasting(fresh, "a", "k")
    assert rows == pytest.approx(np.full(64, 1e-3)) and own == pytest.approx(0.5e-3)


def test_what_nobody_believes_is_certain() -> None:
    nothing = Belief.of([], rows=8)
    assert np.all(known(nothing, "x", "y", 3.0) == 3.0) and np.all(discrepancy(nothing, "force") == 1.0)


def test_independent_scatters_add_in_squares() -> None:
    assert spread(0.3, 0.4) == pytest.approx(0.5) and spread() == 0.0


def test_findings() -> None:
    believed = Belief.of([], rows=8)
    high = weighed("c", case(), "tool", np.full(8, 2.0), np.full(8, 1.0), 0.1, unit="N", because="so")
    assert high.p_fail is not None and high.p_fail > 0.99 and high.demand is not None and high.demand.median == 2.0
    assert decided("c", case(), believed, "part", 2.0, 1.0, unit="mm", because="so").p_fail == 1.0
    assert decided("c", case(), believed, "part", 1.0, 1.0, unit="mm", because="so").p_fail == 0.0
    assert replace(high, unit="mm").unit == "mm"


@pytest.mark.parametrize(("number", "text"), [
    (0.0, "0"), (0.3512, "0.35"), (1.234, "1.2"), (43.4, "43"), (312.0, "310"), (98765.0, "99000"), (-2.26, "-2.3")])
def test_two_figures_count(number: float, text: str) -> None:
    assert figure(number) == text
    assert middle(np.full(5, number)) == text
