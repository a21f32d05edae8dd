"""Finish: worked examples of the books, exact circles, and the ends of the envelope."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.finish import (
    ball_scallop,
    mean_roughness,
    rounded_feed_mark,
    sharp_feed_mark,
    step_over_for_scallop,
    wall_cusp,
    wall_cusp_with_runout,
)
from firstoff.errors import OutOfRange
from tests.cutting.shared import table


def test_feed_marks_of_the_book() -> None:
    # SF-02: ghosh, problem 4.24: f 0.125, 30 and 7 degrees, r 0.7 mm; Ra by stephenson, eq. (10.10)
    assert sharp_feed_mark(0.125e-3, np.radians(30), np.radians(7)) == pytest.approx(0.0143e-3, rel=5e-3)
    mark = rounded_feed_mark(0.125e-3, 0.7e-3)
    assert mark == pytest.approx(0.00279e-3, rel=2e-3)
    assert mean_roughness(mark) == pytest.approx(0.717e-6, rel=2e-3)
    assert mean_roughness(mark) == pytest.approx(0.0321 * 0.125e-3**2 / 0.7e-3, rel=1e-3)


def test_slab_milling_of_the_book() -> None:
    # SF-03: ghosh, problem 4.25: 25 mm/min, 12 teeth, 60 /min, D 100 mm
    assert wall_cusp(25e-3 / 60 / 12, 0.1) == pytest.approx(3e-9, rel=0.02)


def test_mean_roughness_is_that_of_a_parabola() -> None:
    y = np.linspace(-1, 1, 200001) ** 2
    assert mean_roughness(1.0) == pytest.approx(np.mean(np.abs(y - y.mean())), rel=1e-4)


def test_scallops() -> None:
    # SF-01: a 3 mm radius at 0.5 mm, in closed form and on a public page
    assert ball_scallop(0.5e-3, 6e-3) == pytest.approx(10.4348e-6, rel=1e-5)
    for case in table("scallop.json"):
        if case["tool"] == "ball":
            got = ball_scallop(case["stepover_along_surface_mm"] * 1e-3, 2e-3 * case["R_mm"])
            assert got == pytest.approx(case["h_um"] * 1e-6, rel=1e-4)


@given(st.floats(1e-3, 1.0))
def test_step_over_undoes_the_scallop(share: float) -> None:
    assert step_over_for_scallop(ball_scallop(share * 0.006, 0.006), 0.006) == pytest.approx(share * 0.006)


@given(st.floats(1e-5, 2e-4), st.integers(1, 6))
def test_runout_goes_from_a_mark_a_tooth_to_a_mark_a_turn(feed: float, teeth: int) -> None:
    offsets = feed**2 / 0.006 * np.array([0.0, 0.01, 0.1, 1.0, 1e4])
    cusp = wall_cusp_with_runout(feed, 0.006, teeth, offsets)
    assert cusp[0] == pytest.approx(wall_cusp(feed, 0.006), rel=1e-6)
    assert cusp[-1] == pytest.approx(wall_cusp(teeth * feed, 0.006), rel=1e-6)
    assert np.all(np.diff(cusp) >= -1e-9 * cusp[-1])


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="step-over is"):
        ball_scallop(7e-3, 6e-3)
    with pytest.raises(OutOfRange, match="corner radius is 0"):
        rounded_feed_mark(1e-4, 0.0)
    with pytest.raises(OutOfRange, match="end angle is 0"):
        sharp_feed_mark(1e-4, 0.0, 0.0)
    with pytest.raises(OutOfRange, match="number of teeth is 0"):
        wall_cusp_with_runout(1e-4, 6e-3, 0, 1e-6)
    with pytest.raises(OutOfRange, match="feed per tooth is -1"):
        wall_cusp(-1.0, 6e-3)
    with pytest.raises(OutOfRange, match="height of the ridge"):
        step_over_for_scallop(0.004, 0.006)
    with pytest.raises(OutOfRange, match="height is nan"):
        mean_roughness(float("nan"))
