"""Holes: worked examples of the books."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.hole import drill_chip, drill_power, thrust_by_power_law
from firstoff.errors import OutOfRange
from tests.published import agrees

KGF = 9.80665
TURN = 2 * np.pi / 60


def test_power_and_thrust_of_the_books() -> None:
    agrees("holes", "power of a 10 mm drill, 0.2 mm a turn, 800 /min, 0.5 W s/mm3 (ex. 22.2)", "kalpakjian", 104.72,
           float(drill_power(1.25, 800 * TURN)), "W", within=1e-3)
    # formulas recomputed: the printed book has an error
    thrust = thrust_by_power_law(1.16 * 1.1 * KGF * 1e3, 12.7e-3, 0.254e-3, 0.01e-3, 0.85)
    agrees("holes", "thrust of a 12.7 mm drill, 0.254 mm a turn, k 1.1 (ex. 15.4)", "sharma", 253.4 * KGF,
           float(thrust), "N", within=5e-3)


@given(st.floats(1e-5, 5e-4), st.floats(0.5, 3.1))
def test_two_lips_take_the_feed_between_them(feed: float, angle: float) -> None:
    assert 2.0 * drill_chip(feed, angle) / np.sin(angle / 2.0) == pytest.approx(feed)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="point angle is 0"):
        drill_chip(1e-4, 0.0)
    with pytest.raises(OutOfRange, match="feed per turn is 0"):
        thrust_by_power_law(1e4, 0.01, 0.0, 1e-5, 0.8)
    with pytest.raises(OutOfRange, match="spindle speed is -1"):
        drill_power(1.0, -1.0)
