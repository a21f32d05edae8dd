"""Finish: worked examples of the books, exact circles, and the ends of the envelope."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.finish import (
    ball_scallop,
    height_for_roughness,
    mean_roughness,
    ridge_height,
    rounded_feed_mark,
    sharp_feed_mark,
    step_over_for_ridge,
    wall_cusp,
    wall_cusp_with_runout,
)
from firstoff.errors import OutOfRange
from tests.cutting.shared import table
from tests.published import agrees


def test_feed_marks_of_the_book() -> None:
    # SF-02: ghosh, problem 4.24: f 0.125, 30 and 7 degrees, r 0.7 mm; Ra by stephenson, eq. (10.10)
    sharp = sharp_feed_mark(0.125e-3, np.radians(30), np.radians(7))
    agrees("finish", "marks of a sharp corner, f 0.125 mm, 30 and 7 degrees (problem 4.24)", "ghosh", 14.3,
           float(sharp) * 1e6, "um", within=5e-3)
    mark = rounded_feed_mark(0.125e-3, 0.7e-3)
    agrees("finish", "marks of a corner of 0.7 mm, f 0.125 mm (problem 4.24)", "ghosh", 2.79, float(mark) * 1e6, "um",
           within=2e-3)
    agrees("finish", "Ra of a corner of 0.7 mm, f 0.125 mm: 0.0321 f2/r (eq. 10.10)", "stephenson",
           0.0321 * 0.125**2 / 0.7 * 1e3, float(mean_roughness(mark)) * 1e6, "um", within=2e-3)


def test_slab_milling_of_the_book() -> None:
    # SF-03: 25 mm/min, 12 teeth, 60 /min, D 100 mm
    agrees("finish", "slab mill D100, 12 teeth, 25 mm/min at 60 /min (problem 4.25)", "ghosh", 3.0,
           float(wall_cusp(25e-3 / 60 / 12, 0.1)) * 1e9, "nm", within=0.02)


def test_mean_roughness_is_that_of_a_parabola() -> None:
    y = np.linspace(-1, 1, 200001) ** 2
    assert mean_roughness(1.0) == pytest.approx(np.mean(np.abs(y - y.mean())), rel=1e-4)


def test_scallops() -> None:
    # SF-01: a 3 mm radius at 0.5 mm, in closed form and on a public page
    agrees("finish", "ridge of a ball of 3 mm radius, passes 0.5 mm apart", "own", 10.4348,
           float(ball_scallop(0.5e-3, 6e-3)) * 1e6, "um", within=1e-5)
    for case in table("scallop.json"):
        step, size = case["stepover_along_surface_mm"] * 1e-3, 2e-3 * case["R_mm"]
        if case["tool"] == "ball":
            assert ball_scallop(step, size) == pytest.approx(case["h_um"] * 1e-6, rel=1e-4)
            assert ridge_height(step, size, size / 2.0) == pytest.approx(case["h_um"] * 1e-6, rel=1e-4)


@given(st.floats(0.01, 1.0), st.floats(0.0, 1.5))
def test_a_ball_leaves_the_same_ridge_on_any_slope(share: float, slope: float) -> None:
    step = share * 0.006
    assert ridge_height(step, 0.006, 0.003, slope) == pytest.approx(ball_scallop(step, 0.006), rel=1e-6)


def test_a_corner_radius_leaves_nothing_on_a_flat_until_passes_part() -> None:
    steps = np.array([1e-3, 5e-3, 5.9e-3, 6e-3])
    beyond = np.maximum(steps - 5e-3, 0.0) / 2.0
    arc = 0.5e-3 - np.sqrt(0.5e-3**2 - beyond**2)
    assert ridge_height(steps, 6e-3, 0.5e-3) == pytest.approx(arc, abs=1e-10)


@given(st.floats(1e-3, 1.0), st.floats(0.0, 1.0))
def test_a_flat_is_the_limit_of_a_gentle_slope(share: float, corner: float) -> None:
    """On a flat the angle is told at once, on a slope it is looked for."""
    step, radius = share * 6e-3, corner * 3e-3
    flat, gentle = (ridge_height(step, 6e-3, radius, slope) for slope in (0.0, 1e-9))
    assert flat == pytest.approx(gentle, rel=1e-5, abs=1e-11)
    height = share * radius
    apart = 2.0 * (3e-3 - radius + np.sqrt(radius**2 - (radius - height) ** 2))
    assert step_over_for_ridge(height, 6e-3, radius) == pytest.approx(apart, rel=1e-6)


@given(st.floats(0.1, 1.4), st.floats(0.0, 2.5e-3))
def test_small_steps_up_a_slope_follow_the_radius_that_the_cutter_shows(slope: float, corner: float) -> None:
    # vickers1989: a flat cutter on a slope shows the radius R / sin(slope)
    shows = corner + (3e-3 - corner) / np.sin(slope)
    assert ridge_height(1e-4, 6e-3, corner, slope) == pytest.approx(1e-8 / (8.0 * shows), rel=2e-3)


@given(st.floats(1e-4, 0.999), st.floats(0.0, 1.0), st.floats(0.0, 1.4))
def test_step_over_undoes_the_ridge(share: float, corner: float, slope: float) -> None:
    height = share * (0.003 * corner + 0.003 * (1.0 - corner) * np.sin(slope))
    step = step_over_for_ridge(height, 0.006, 0.003 * corner, slope)
    assert ridge_height(step, 0.006, 0.003 * corner, slope) == pytest.approx(height, rel=1e-4, abs=1e-11)


def test_roughness_and_height_undo_each_other() -> None:
    assert mean_roughness(height_for_roughness(1.6e-6)) == pytest.approx(1.6e-6)


def test_roughness_of_a_turned_end_of_the_book() -> None:
    agrees("finish", "ideal mean roughness, f 0.25 mm, r 1.2 mm (worked example)", "groover", 1.6,
           float(mean_roughness(rounded_feed_mark(0.25e-3, 1.2e-3))) * 1e6, "um", within=0.06)


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
        step_over_for_ridge(0.004, 0.006, 0.003)
    with pytest.raises(OutOfRange, match="step-over is"):
        ridge_height(7e-3, 6e-3, 1e-3)
    with pytest.raises(OutOfRange, match="corner radius is"):
        ridge_height(1e-3, 6e-3, 4e-3)
    with pytest.raises(OutOfRange, match="slope is"):
        ridge_height(1e-3, 6e-3, 1e-3, 1.6)
    with pytest.raises(OutOfRange, match="height is nan"):
        mean_roughness(float("nan"))
