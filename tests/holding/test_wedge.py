"""Wedges and slopes: two textbook problems, inverses, the limit of staying."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.holding.wedge import (
    force_to_hold_on_slope,
    force_up_slope,
    wedge_force_to_free,
    wedge_gain,
    wedge_rise,
    wedge_slip_out_use,
)
from tests.published import agrees

ANGLES, FRICTIONS = st.floats(0.02, 0.5), st.floats(0.02, 0.5)


def test_block_raised_and_lowered_by_a_wedge() -> None:
    args = (np.radians(8.0), 0.35, 0.35, 0.35)
    agrees("holding", "wedge of 8 degrees under 400 lb, mu 0.35: force to raise (problem 8.4)", "beer", 423.0,
           float(400.0 / wedge_gain(*args)), "lbf", within=0.005)
    agrees("holding", "the same wedge: force to free it (problem 8.4)", "beer", 206.0,
           float(wedge_force_to_free(400.0, *args)), "lbf", within=0.005)


def test_a_splitting_wedge_that_stays_of_a_textbook() -> None:
    # mu 0.3 on both sides: it holds itself up to 33.4 degrees, by the formula; ours is 1 there
    angle = np.arctan(0.3) * 2.0
    agrees("holding", "widest splitting wedge that stays, mu 0.3 (problem 8-58)", "hibbeler", 33.4,
           float(np.degrees(angle / wedge_slip_out_use(angle, 0.3, 0.3))), "deg", within=0.001)


def test_block_on_a_slope() -> None:
    slope = np.radians(25.0)
    for what, mu, newtons in (("to start it up", 0.35, 780.0), ("to keep it moving up", 0.25, 649.0)):
        agrees("holding", f"800 N on a slope of 25 degrees, mu {mu}: force {what} (problem 8.2)", "beer", newtons,
               float(force_up_slope(800.0, slope, mu)), "N", within=0.005)
    agrees("holding", "800 N on a slope of 25 degrees, mu 0.35: force to hold it (problem 8.2)", "beer", 80.0,
           float(force_to_hold_on_slope(800.0, slope, 0.35)), "N", within=0.005)


@given(ANGLES)
def test_without_friction_work_in_is_work_out(angle: float) -> None:
    assert 1.0 / wedge_gain(angle, 0.0, 0.0, 0.0) == pytest.approx(np.tan(angle))
    assert wedge_force_to_free(100.0, angle, 0.0, 0.0, 0.0) == pytest.approx(-100.0 * np.tan(angle))


@given(ANGLES, FRICTIONS, FRICTIONS, FRICTIONS)
def test_less_work_comes_out_than_goes_in(angle: float, face: float, base: float, guide: float) -> None:
    push = 100.0 / wedge_gain(angle, face, base, guide)
    assert 0.0 < 100.0 * np.tan(angle) < push
    assert push > wedge_force_to_free(100.0, angle, face, base, guide)


@given(ANGLES, FRICTIONS, FRICTIONS, FRICTIONS)
def test_a_wedge_stays_exactly_when_it_must_be_pulled(angle: float, face: float, base: float, guide: float) -> None:
    use = float(wedge_slip_out_use(angle, face, base))
    pull = float(wedge_force_to_free(1.0, angle, face, base, guide))
    assert abs(use - 1.0) < 1e-9 or (use < 1.0) == (pull > 0.0)


@given(ANGLES)
def test_a_wedge_rises_by_its_slope(angle: float) -> None:
    assert wedge_rise(2.0, angle) == pytest.approx(2.0 * np.tan(angle))


@given(ANGLES, FRICTIONS, FRICTIONS)
def test_a_wedge_that_stays_wastes_more_than_half(angle: float, face: float, base: float) -> None:
    # The classic statement, without friction in the guide.
    if wedge_slip_out_use(angle, face, base) < 1.0 and angle + np.arctan(face) < 1.5:
        assert wedge_gain(angle, face, base, 0.0) * np.tan(angle) < 0.5


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="jams"):
        wedge_gain(1.2, 0.6, 0.1, 0.6)
    with pytest.raises(OutOfRange, match="without angle"):
        wedge_gain(0.0, 0.0, 0.0, 0.0)
    with pytest.raises(OutOfRange, match=r"angle is 1\.6"):
        wedge_rise(1.0, 1.6)
    with pytest.raises(OutOfRange, match="add up"):
        force_up_slope(1.0, 1.5, 0.3)
    with pytest.raises(OutOfRange, match="slope is"):
        force_to_hold_on_slope(1.0, 1.6, 0.3)
    with pytest.raises(OutOfRange, match=r"base_friction is -0\.1"):
        wedge_force_to_free(1.0, 0.1, 0.1, -0.1, 0.1)
