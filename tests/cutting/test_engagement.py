"""Engagement: closed forms, and the mirror of up- and down-milling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.engagement import (
    ball_diameter,
    chamfer_diameter,
    corner_diameter,
    cutting_speed,
    engagement_angles,
    largest_chip,
    table_feed,
)
from firstoff.errors import OutOfRange
from tests.published import agrees

part = st.floats(0.001, 1.0)


def test_known_angles() -> None:
    # half immersion is a quarter turn, on either side
    climb, conventional = (engagement_angles(0.003, 0.006, way) for way in ("climb", "conventional"))
    for what, published, ours in (
        ("entry, half immersion, climb", 90.0, climb.entry), ("exit, half immersion, climb", 180.0, climb.exit),
        ("exit, half immersion, conventional", 90.0, conventional.exit),
    ):
        agrees("engagement", f"angle of {what} (ch. 2)", "altintas2012", published, float(np.degrees(ours)), "deg",
               within=1e-9)
    assert conventional.entry == pytest.approx(0.0)
    assert engagement_angles(0.001, 0.006, "slot") == pytest.approx((0.0, np.pi))
    # 0.6 of 6 mm, climb: 143.1301 degrees
    assert np.degrees(engagement_angles(0.0006, 0.006, "climb").entry) == pytest.approx(143.1301024)


def test_feed_of_the_book() -> None:
    # 0.6 m/min, 10 teeth, 100 /min
    agrees("engagement", "feed of the table, 0.6 mm a tooth, 10 teeth, 100 /min (ex. 23.2)", "kalpakjian", 600.0,
           float(table_feed(0.6e-3, 10, 100 * 2 * np.pi / 60)) * 60e3, "mm/min", within=1e-9)


@given(part)
def test_up_and_down_are_mirrors(share: float) -> None:
    up, down = engagement_angles(share, 1.0, "conventional"), engagement_angles(share, 1.0, "climb")
    assert up.entry + down.exit == pytest.approx(np.pi)
    assert up.exit + down.entry == pytest.approx(np.pi)


@given(part)
def test_the_largest_chip_is_the_greatest_sine(share: float) -> None:
    angles = engagement_angles(share, 1.0, "climb")
    middle = angles.entry + (angles.exit - angles.entry) * (np.arange(2000) + 0.5) / 2000
    assert largest_chip(1.0, share, 1.0) == pytest.approx(np.sin(middle).max(), rel=2e-3, abs=2e-3)


def test_from_half_immersion_the_chip_is_the_feed() -> None:
    assert largest_chip(2e-5, np.array([0.5, 0.7, 1.0]), 1.0) == pytest.approx(2e-5)


def test_working_diameters_at_their_ends() -> None:
    assert ball_diameter(np.array([0.0, 0.003, 0.02]), 0.006) == pytest.approx([0.0, 0.006, 0.006])
    assert corner_diameter(np.array([0.0, 1e-3]), 0.006, 1e-3) == pytest.approx([0.004, 0.006])
    assert corner_diameter(0.001, 0.006, 0.003) == pytest.approx(ball_diameter(0.001, 0.006))
    assert chamfer_diameter(np.array([0.0, 0.001, 0.1]), 0.001, np.pi / 4, 0.01) == pytest.approx(
        [0.001, 0.003, 0.01])


def test_speed_and_feed_of_the_trade() -> None:
    # kalpakjian, ex. 23.2: 10 teeth, 0.6 mm a tooth at 100 a minute give 600 mm a minute
    turn = 2 * np.pi
    assert table_feed(0.6e-3, 10, turn * 100 / 60) == pytest.approx(0.6 / 60)
    assert cutting_speed(0.15, turn * 100 / 60) == pytest.approx(np.pi * 0.15 * 100 / 60)


@pytest.mark.parametrize("width", [-1e-3, 0.0061, float("nan")])
def test_impossible_widths_are_refused(width: float) -> None:
    with pytest.raises(OutOfRange, match="width of cut is"):
        engagement_angles(width, 0.006, "climb")


def test_other_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="direction is 'sideways'"):
        engagement_angles(0.001, 0.006, "sideways")  # type: ignore[arg-type]
    with pytest.raises(OutOfRange, match="feed per tooth is -1"):
        largest_chip(-1.0, 0.001, 0.006)
    with pytest.raises(OutOfRange, match="depth of cut is"):
        ball_diameter(-1e-3, 0.006)
    with pytest.raises(OutOfRange, match="half the diameter"):
        corner_diameter(0.001, 0.006, 0.004)
    with pytest.raises(OutOfRange, match="number of teeth is 0"):
        table_feed(1e-5, 0, 100.0)
