"""Circles: the centre of R arcs lies as far from both ends as R says, on the right side; faults are named."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.program.arcs import by_radius, closing

COORDINATE = st.floats(-100.0, 100.0)


@given(COORDINATE, COORDINATE, st.floats(-math.pi, math.pi), st.floats(0.1, 6.1), st.floats(0.5, 50.0), st.booleans())
def test_the_centre_of_an_arc_is_found_again(
    x: float, y: float, begin: float, turn: float, radius: float, clockwise: bool
) -> None:
    signed = -turn if clockwise else turn
    start = (x + radius * math.cos(begin), y + radius * math.sin(begin))
    end = (x + radius * math.cos(begin + signed), y + radius * math.sin(begin + signed))
    if abs(turn - math.pi) < 1e-3:
        return
    circle = by_radius(start, end, radius if turn < math.pi else -radius, clockwise)
    assert circle.fault == ""
    assert circle.centre == pytest.approx((x, y), abs=1e-5)
    assert closing(start, end, (x, y), clockwise) == ""


def test_half_a_circle_has_its_centre_in_the_middle_even_where_the_last_digit_is_short() -> None:
    for radius in (5.0, -5.0, 4.9999):
        assert by_radius((0.0, 0.0), (10.0, 0.0), radius, True).centre == pytest.approx((5.0, 0.0), abs=0.01)


@pytest.mark.parametrize(("end", "radius", "fault"), [
    ((0.0, 0.0), 5.0, "one point"), ((10.0, 0.0), 0.0, "radius of 0"), ((10.0, 0.0), 4.0, "does not reach"),
])
def test_a_radius_that_gives_no_circle(end: tuple[float, float], radius: float, fault: str) -> None:
    circle = by_radius((0.0, 0.0), end, radius, False)
    assert circle.centre is None and fault in circle.fault


@pytest.mark.parametrize(("end", "centre", "fault"), [
    ((6.0, 0.0), (2.0, 0.0), "does not close: R is 2 at its start and 4 at its end"),
    ((0.0, 0.0), (0.0, 0.0), "radius of 0"), ((0.0, 0.001), (5.0, 0.0), "nearly one point"),
])
def test_a_centre_that_gives_no_circle(end: tuple[float, float], centre: tuple[float, float], fault: str) -> None:
    assert fault in closing((0.0, 0.0), end, centre, clockwise=False)


def test_rounding_of_what_is_written_is_no_fault() -> None:
    assert closing((0.0, 0.0), (10.0, 0.004), (5.0, 0.003), clockwise=True) == ""


def test_a_tiny_arc_is_a_tiny_arc() -> None:
    assert closing((0.0, 0.0), (0.0, 0.001), (5.0, 0.0), clockwise=True) == ""
