"""Small sums with points and directions as plain tuples, so that features need neither kernel nor arrays."""

from __future__ import annotations

import math
from collections.abc import Iterable

from firstoff.part.shapes import Vector

AXES: tuple[Vector, ...] = (
    (0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0),
)
ALIKE = 1e-4                             # sine of the angle within which directions are the same


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def sub(a: Vector, b: Vector) -> Vector:
    """Difference a - b."""
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def along(a: Vector, b: Vector, t: float) -> Vector:
    """The point a + t b."""
    return a[0] + t * b[0], a[1] + t * b[1], a[2] + t * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def norm(a: Vector) -> float:
    """Length."""
    return math.sqrt(dot(a, a))


def unit(a: Vector) -> Vector:
    """The direction of a vector that is not null."""
    length = norm(a)
    return a[0] / length + 0.0, a[1] / length + 0.0, a[2] / length + 0.0


def minus(a: Vector) -> Vector:
    """The opposite direction."""
    return 0.0 - a[0], 0.0 - a[1], 0.0 - a[2]


def parallel(a: Vector, b: Vector) -> bool:
    """Whether two unit vectors lie along one line, either way."""
    return norm(cross(a, b)) < ALIKE


def same(a: Vector, b: Vector) -> bool:
    """Whether two unit vectors point the same way."""
    return parallel(a, b) and dot(a, b) > 0


def square_to(a: Vector, b: Vector) -> bool:
    """Whether two unit vectors stand at right angles."""
    return abs(dot(a, b)) < ALIKE


def span(points: Iterable[Vector], direction: Vector) -> tuple[float, float]:
    """Least and greatest coordinate of the points along a direction [mm]."""
    heights = [dot(point, direction) for point in points]
    return min(heights), max(heights)


def nearest_axis(direction: Vector) -> Vector:
    """The one of +-X, +-Y, +-Z that lies nearest to a direction."""
    return max(AXES, key=lambda axis: dot(axis, direction))


def clean(direction: Vector) -> Vector:
    """The same direction without the kernel's rounding: parts below 1e-9 are nought."""
    x, y, z = (0.0 if abs(part) < 1e-9 else part for part in direction)
    return unit((x, y, z))


def upwards_first(direction: Vector) -> Vector:
    """A line's direction told one way only: its largest component is positive."""
    largest = max(direction, key=lambda part: (round(abs(part), 6)))
    return direction if largest > 0 else minus(direction)


def distinct(directions: Iterable[Vector]) -> tuple[Vector, ...]:
    """The directions without repeats, in order."""
    out: list[Vector] = []
    for direction in directions:
        if not any(same(direction, known) for known in out):
            out.append(direction)
    return tuple(out)
