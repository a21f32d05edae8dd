"""Circles of G2 and G3: their centre from a radius, and whether start and end lie on one circle."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

Point = tuple[float, float]

#: how far start and end of an arc may differ in radius [mm]: two steps of the last digit that posts write
#: (0.001 mm, 0.0001 in, each in four numbers), with some room
CLOSES: Final = 0.01
#: a long arc whose ends are nearer than this may have been meant as nearly none of the circle [mm]
NEARLY_ONE_POINT: Final = 0.003


class Circle(NamedTuple):
    """The centre of an arc in its plane, and what is wrong with it.

    Fields:
        centre: first and second coordinate of the plane; None where there is none.
        fault: in words; empty where all is well.
    """

    centre: Point | None
    fault: str = ""


def by_radius(start: Point, end: Point, radius: float, clockwise: bool, small: float = CLOSES) -> Circle:
    """The circle of a given radius through two points: the shorter arc, or with a negative radius the longer.

    Args:
        start: where the arc begins.
        end: where it ends.
        radius: with its sign.
        clockwise: which way it goes.
        small: how much too far apart the ends may be.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(dx, dy)
    if chord == 0.0:
        return Circle(None, "begins and ends in one point, so R does not say where its centre is; write I J")
    if radius == 0.0:
        return Circle(None, "has a radius of 0")
    square = radius * radius - 0.25 * chord * chord
    if chord - 2.0 * abs(radius) > small:
        return Circle(None, f"does not reach: its ends are {chord:.4g} apart, twice R is {2 * abs(radius):.4g}")
    height = math.sqrt(max(square, 0.0)) / chord
    side = height if clockwise == (radius < 0.0) else -height
    return Circle((start[0] + 0.5 * dx - side * dy, start[1] + 0.5 * dy + side * dx))


def closing(start: Point, end: Point, centre: Point, clockwise: bool, small: float = CLOSES) -> str:
    """What is wrong with an arc about a centre; empty where nothing is.

    Args:
        start: where it begins.
        end: where it ends.
        centre: about which it goes.
        clockwise: which way it goes.
        small: how much its two radii may differ.
    """
    first, last = math.dist(start, centre), math.dist(end, centre)
    if first <= small and last <= small:
        return "has a radius of 0"
    if abs(first - last) > small:
        return f"does not close: R is {first:.5g} at its start and {last:.5g} at its end"
    if 0.0 < math.dist(start, end) < NEARLY_ONE_POINT and _swept(start, end, centre, clockwise) > math.pi:
        return "begins and ends in nearly one point: the whole circle, or none of it"
    return ""


def _swept(start: Point, end: Point, centre: Point, clockwise: bool) -> float:
    """How far an arc turns [rad], between nothing and a whole turn."""
    out, back = ((point[0] - centre[0], point[1] - centre[1]) for point in (start, end))
    angle = math.atan2(out[0] * back[1] - out[1] * back[0], out[0] * back[0] + out[1] * back[1])
    return (-angle if clockwise else angle) % (2.0 * math.pi)
