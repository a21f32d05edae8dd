"""Gouge and stock left on planes and cylinders of the part: from the swept cutter to the face, not by cells. mm.

The distance is from the cutter's own outline, in closed form along each straight piece of path; an arc is chords that
leave it by no more than 0.2 µm. Negative distances are gouges.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..errors import OutOfRange
from .cutters import Cutter
from .moves import Moves
from .paths import certain, straight
from .stock import Vector

Floats = NDArray[np.float64]
Longs = NDArray[np.int64]

LONGEST: Final = 1.0e6      #: [mm] pieces need not be short here: lines are exact
UPRIGHT: Final = 1.0e-9     #: [1] a normal that rises less is level


@dataclass(frozen=True)
class Plane:
    """A flat face of the part, bounded by a rectangle.

    Fields:
        point: middle of it [mm].
        normal: out of the material, of length 1 [1].
        along: direction in the face, of length 1 [1].
        size: along that direction and across it [mm].
    """

    point: Vector
    normal: Vector
    along: Vector
    size: tuple[float, float]


@dataclass(frozen=True)
class Cylinder:
    """A round face of the part with its axis along that of the cutter.

    Fields:
        centre: of its lower end [mm].
        radius: of it [mm].
        height: from lower to upper end [mm].
        hollow: a hole, not a boss.
    """

    centre: Vector
    radius: float
    height: float
    hollow: bool


@dataclass(frozen=True)
class Distance:
    """How near the cutter comes to a face on each piece of path that passes along it; P of them.

    Fields:
        line: of the program, shape (P,).
        least: from the swept cutter to the face, negative in the part [mm], shape (P,).
        place: of the tip there [mm], shape (P, 3).
    """

    line: Longs
    least: Floats
    place: Floats

    @property
    def gouge(self) -> float:
        """How deep the cutter goes into the part, 0 where it does not [mm]."""
        return max(0.0, -float(self.least.min())) if len(self.least) else 0.0

    @property
    def left(self) -> float | None:
        """What stays on where the nearest pass went by, None where none did [mm]."""
        return max(0.0, float(self.least.min())) if len(self.least) else None


def lowest_in(cutter: Cutter, normal: Vector) -> tuple[float, float, float]:
    """The point of a cutter that is furthest against a direction.

    Args:
        cutter: its profile.
        normal: of a face, of length 1; down only for a cutter that is wider than its neck [1].

    Returns:
        How far the point lies from the axis towards the face [mm], its height above the tip [mm], and how far it
        is from the tip along the normal, negative towards the face [mm].

    Raises:
        OutOfRange: for a face that looks down: the shank is above every other cutter.
    """
    up = normal[2]
    level = math.hypot(normal[0], normal[1])
    if up < -UPRIGHT:
        return _highest_in(cutter, up, level)
    if level <= math.cos(cutter.flank) + UPRIGHT:
        away, height = cutter.flat + cutter.corner * level, cutter.corner * (1.0 - up)
    else:
        away, height = cutter.radius, cutter.rim
    return away, height, up * height - level * away


def _highest_in(cutter: Cutter, up: float, level: float) -> tuple[float, float, float]:
    """The same for a face that looks down: on the upper side of a head that is wider than its neck."""
    if cutter.neck <= 0.0:
        raise OutOfRange("a face that looks down is out of reach of a cutter from above", right="turn the part over")
    corners = ((cutter.radius, cutter.land), (cutter.neck, cutter.length))
    away, height = min(corners, key=lambda corner: up * corner[1] - level * corner[0])
    return away, height, up * height - level * away


def distance_to_plane(moves: Moves, cutter: Cutter, plane: Plane) -> Distance:
    """How near a cutter comes to a flat face.

    Args:
        moves: n of them.
        cutter: that goes along them.
        plane: the face; only where the cutter touches within its bounds counts.

    Returns:
        Distances of the pieces that pass along it.

    Raises:
        OutOfRange: for a face that looks down, unless the cutter is wider than its neck.
    """
    line, begin, end, gaps = stretches_over(moves, cutter, plane)
    place = np.where((gaps[0] <= gaps[1])[:, None], begin, end)
    return Distance(line, np.minimum(*gaps), place)


def stretches_over(
    moves: Moves, cutter: Cutter, plane: Plane,
) -> tuple[Longs, Floats, Floats, tuple[Floats, Floats]]:
    """The stretches of path along which a cutter may touch a flat face within its bounds.

    Args:
        moves: n of them.
        cutter: that goes along them.
        plane: the face.

    Returns:
        Line of the program of each of P stretches, shape (P,), where the tip begins and ends [mm], each of shape
        (P, 3), and how far from the face the cutter is there, negative in the part [mm], each of shape (P,).

    Raises:
        OutOfRange: for a face that looks down, unless the cutter is wider than its neck.
    """
    away, height, offset = lowest_in(cutter, plane.normal)
    known = certain(moves)
    move, begin, end = straight(known, LONGEST)
    normal, along = np.array(plane.normal), np.array(plane.along)
    across = np.cross(normal, along)
    level = math.hypot(normal[0], normal[1])
    towards = np.array([-normal[0], -normal[1], 0.0]) / level if level > UPRIGHT else np.zeros(3)
    touch = away * towards + np.array([0.0, 0.0, height])
    start, stop = (point + touch - np.array(plane.point) for point in (begin, end))
    first, last = np.zeros(len(begin)), np.ones(len(begin))
    for axis, size in ((along, plane.size[0]), (across, plane.size[1])):
        upwards = float(np.sign(axis[2])) if abs(axis[2]) > UPRIGHT and abs(normal[2]) <= UPRIGHT else 0.0
        reach = cutter.land * abs(axis[2]) if cutter.neck > 0.0 else math.inf
        first, last = _within(start @ axis, stop @ axis, 0.5 * size, first, last, upwards, reach)
    on = first <= last
    begin, end = ((begin + (end - begin) * share[:, None])[on] for share in (first, last))
    one, two = ((points - np.array(plane.point)) @ normal + offset for points in (begin, end))
    return known.line[move][on], begin, end, (one, two)


def _within(
    start: Floats, stop: Floats, half: float, first: Floats, last: Floats, upwards: float, reach: float = math.inf,
) -> tuple[Floats, Floats]:
    """The share of each piece in which a coordinate is within ± half; with `upwards` (±1) a straight side that
    reaches up so far counts from any lower place from which it does."""
    change = stop - start
    low, high = -half - (reach if upwards > 0.0 else 0.0), half + (reach if upwards < 0.0 else 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (low - start) / change, (high - start) / change
    still = np.abs(change) < 1e-12
    inside = (start >= low) & (start <= high)
    enter = np.where(still, np.where(inside, 0.0, 2.0), np.minimum(one, two))
    leave = np.where(still, np.where(inside, 1.0, -1.0), np.maximum(one, two))
    return np.maximum(first, enter), np.minimum(last, leave)


def distance_to_cylinder(moves: Moves, cutter: Cutter, face: Cylinder) -> Distance:
    """How near a cutter comes to a round wall with its straight side, or its rim.

    Args:
        moves: n of them.
        cutter: that goes along them.
        face: the wall; only what is at its height, and in a hole inside its mouth, counts.

    Returns:
        Distances of the pieces that pass along it.
    """
    known = certain(moves)
    move, begin, end = straight(known, LONGEST)
    centre, top = np.array(face.centre), face.centre[2] + face.height
    first, last = np.zeros(len(begin)), np.ones(len(begin))
    first, last = _within(begin[:, 2] + cutter.rim - top, end[:, 2] + cutter.rim - top, 0.0, first, last, 1.0)
    if cutter.neck > 0.0:
        first, last = _within(face.centre[2] - begin[:, 2] - cutter.land, face.centre[2] - end[:, 2] - cutter.land,
                              0.0, first, last, 1.0)
    one, two = (begin + (end - begin) * share[:, None] for share in (first, last))
    way = (two - one)[:, :2]
    square = (way**2).sum(axis=1)
    ahead = -((one - centre)[:, :2] * way).sum(axis=1)
    foot = np.divide(ahead, square, out=np.zeros_like(square), where=square > 0.0)
    nearest = one + (two - one) * np.clip(foot, 0.0, 1.0)[:, None]
    ends = [np.hypot(*(point - centre)[:, :2].T) for point in (one, two)]
    if face.hollow:
        place = np.where((ends[0] >= ends[1])[:, None], one, two)
        least = face.radius - np.maximum(*ends) - cutter.radius
        near = np.hypot(*(nearest - centre)[:, :2].T) < face.radius
    else:
        place = nearest
        least = np.hypot(*(nearest - centre)[:, :2].T) - cutter.radius - face.radius
        near = np.ones(len(least), dtype=np.bool_)
    on = (first <= last) & near
    return Distance(known.line[move][on], least[on], place[on])
