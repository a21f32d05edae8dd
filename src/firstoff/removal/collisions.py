"""What the tool and what holds it run into: vise, clamps, stops, parallels, table. Geometry; mm.

The tool is a stack of cylinders about its axis, what holds the work is boxes. A straight piece of path against a box
is exact; an arc is chords that leave it by no more than 0.2 µm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .cutters import Cutter
from .moves import Moves, Vector
from .paths import certain, straight
from .windows import Flag, Windows

Floats = NDArray[np.float64]
Longs = NDArray[np.int64]

LONGEST: Final = 1.0e6      #: [mm] pieces need not be short here: lines are exact
STEPS: Final = 12           #: cylinders that stand for the tip of a cutter that is not flat
TRIED: Final = 9            #: places along a hit at which its depth is found
TOUCH: Final = 1.0e-6       #: [mm] less deep is touching


@dataclass(frozen=True)
class Ring:
    """A cylinder about the tool's axis: a part of cutter, shank, nut or spindle.

    Fields:
        name: what it is.
        radius: of it [mm].
        low: its lower end above the tip [mm].
        high: its upper end above the tip [mm].
    """

    name: str
    radius: float
    low: float
    high: float


@dataclass(frozen=True)
class Box:
    """Something that holds the work or stands on the table.

    Fields:
        name: what it is.
        low: least x, y, z before it is turned [mm].
        high: greatest x, y, z before it is turned [mm].
        turn: about its middle, counter-clockwise from above [rad].
    """

    name: str
    low: Vector
    high: Vector
    turn: float = 0.0


@dataclass(frozen=True)
class Hit:
    """A ring of the tool in a box: the first of its kind on one move.

    Fields:
        line: of the program.
        ring: which part of the tool.
        box: what it runs into.
        place: of the tip where it begins [mm].
        depth: how far it goes in, the shortest way out, at most along the move [mm].
        rapid: whether at rapid speed.
    """

    line: int
    ring: str
    box: str
    place: Vector
    depth: float
    rapid: bool


def rings_of(
    cutter: Cutter, stickout: float, shank: float, nut: tuple[float, float], spindle: tuple[float, float],
    neck: float = math.inf,
) -> tuple[Ring, ...]:
    """A whole tool as it stands in the spindle.

    Args:
        cutter: its `length` is that of its teeth; where that has no end they go up to the nut.
        stickout: from the tip to the nut [mm].
        shank: radius of the shank [mm].
        nut: radius and height of the nut [mm].
        spindle: radius and height of what is above it [mm].
        neck: where a neck above an undercut ends [mm]; at the nut where not given.

    Returns:
        From the tip up; a tip that is not flat as steps that hold it.
    """
    teeth = min(cutter.length, stickout)
    steps = []
    if cutter.rim > 0.0:
        away = np.linspace(cutter.flat, cutter.radius, STEPS + 1)
        heights = cutter.height(away)
        steps = [Ring("cutter", float(away[k + 1]), float(heights[k]), min(float(heights[k + 1]), teeth))
                 for k in range(STEPS) if heights[k] < teeth]
    top = stickout + nut[1]
    ends = min(neck, stickout) if cutter.neck > 0.0 else teeth
    whole = [Ring("cutter", cutter.radius, cutter.rim, teeth), Ring("neck", cutter.neck, teeth, ends),
             Ring("shank", shank, ends, stickout),
             Ring("nut", nut[0], stickout, top), Ring("spindle", spindle[0], top, top + spindle[1])]
    return (*steps, *(ring for ring in whole if ring.high > ring.low))


def collide(moves: Moves, rings: Sequence[Ring], boxes: Sequence[Box]) -> list[Hit]:
    """Where a tool runs into what holds the work.

    Args:
        moves: n of them.
        rings: of the tool.
        boxes: in the axes of the moves.

    Returns:
        One hit for each move, kind of ring and box, in the order of the program.
    """
    known = certain(moves)
    move, begin, end = straight(known, LONGEST)
    found: dict[tuple[int, str, str], Hit] = {}
    for box in boxes:
        start, stop = _turned(begin, box), _turned(end, box)
        half = 0.5 * (np.array(box.high) - np.array(box.low))
        for ring in rings:
            first, last = _meets(start, stop, half, ring)
            for p in np.flatnonzero(last - first > 0.0):
                share = np.linspace(first[p], last[p], TRIED)[:, None]
                depth = float(_depth(start[p] + (stop[p] - start[p]) * share, half, ring).max())
                key = (int(move[p]), ring.name, box.name)
                if depth <= TOUCH:
                    continue
                place = begin[p] + (end[p] - begin[p]) * first[p]
                before = found.get(key)
                at = before.place if before else (float(place[0]), float(place[1]), float(place[2]))
                found[key] = Hit(int(known.line[move[p]]), ring.name, box.name, at,
                                 max(depth, before.depth if before else 0.0), bool(known.kind[move[p]] == 0))
    return [found[key] for key in sorted(found, key=lambda key: key[0])]


def _turned(points: Floats, box: Box) -> Floats:
    """Points from the middle of a box, along its sides."""
    from_middle = points - 0.5 * (np.array(box.low) + np.array(box.high))
    c, s = math.cos(box.turn), math.sin(box.turn)
    x, y, z = from_middle.T
    return np.stack([x * c + y * s, y * c - x * s, z], axis=1)


def _meets(start: Floats, stop: Floats, half: Floats, ring: Ring) -> tuple[Floats, Floats]:
    """The share of each piece in which a ring is in a box: in plan a rectangle with round corners, and in height."""
    low, high = _between(start[:, 2] + ring.low, stop[:, 2] + ring.low, -np.inf, half[2])
    up = _between(start[:, 2] + ring.high, stop[:, 2] + ring.high, -half[2], np.inf)
    spans = []
    for grow_x, grow_y in ((ring.radius, 0.0), (0.0, ring.radius)):
        x = _between(start[:, 0], stop[:, 0], -half[0] - grow_x, half[0] + grow_x)
        y = _between(start[:, 1], stop[:, 1], -half[1] - grow_y, half[1] + grow_y)
        spans.append((np.maximum(x[0], y[0]), np.minimum(x[1], y[1])))
    spans += [_in_circle(start, stop, sx * half[0], sy * half[1], ring.radius) for sx in (-1, 1) for sy in (-1, 1)]
    begins = np.min([np.where(a <= b, a, np.inf) for a, b in spans], axis=0)
    ends = np.max([np.where(a <= b, b, -np.inf) for a, b in spans], axis=0)
    first: Floats = np.maximum.reduce([begins, low, up[0], np.zeros(len(start))])
    last: Floats = np.minimum.reduce([ends, high, up[1], np.ones(len(start))])
    still = (start == stop).all(axis=1)
    return first, np.where(still & (first <= last), 1.0, last)


def _between(start: Floats, stop: Floats, low: float, high: float) -> tuple[Floats, Floats]:
    """The shares at which a number that changes evenly comes between two others and leaves them."""
    change = stop - start
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (low - start) / change, (high - start) / change
    still = change == 0.0
    inside = (start > low) & (start < high)
    return (np.where(still, np.where(inside, -np.inf, np.inf), np.minimum(one, two)),
            np.where(still, np.where(inside, np.inf, -np.inf), np.maximum(one, two)))


def _in_circle(start: Floats, stop: Floats, x: float, y: float, radius: float) -> tuple[Floats, Floats]:
    """The shares at which pieces come into a circle of the plan and leave it; the first above the second: never."""
    way, out = (stop - start)[:, :2], start[:, :2] - np.array([x, y])
    a, b, c = (way**2).sum(axis=1), (way * out).sum(axis=1), (out**2).sum(axis=1) - radius**2
    rest = b * b - a * c
    moves = (a > 0.0) & (rest > 0.0)
    root = np.sqrt(np.where(moves, rest, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (-b - root) / a, (-b + root) / a
    stands = (a == 0.0) & (c < 0.0)
    return (np.where(moves, one, np.where(stands, -np.inf, np.inf)),
            np.where(moves, two, np.where(stands, np.inf, -np.inf)))


def _depth(points: Floats, half: Floats, ring: Ring) -> Floats:
    """The shortest way out of a box for a ring, at points of the tip from its middle [mm]."""
    over = np.abs(points[:, :2]) - half[:2]
    outside = np.hypot(*np.maximum(over, 0.0).T)
    aside = ring.radius - np.where(outside > 0.0, outside, over.max(axis=1))
    up = half[2] - points[:, 2] - ring.low
    down = points[:, 2] + ring.high + half[2]
    depth: Floats = np.minimum(aside, np.minimum(up, down))
    return depth


def rapids_in_material(windows: Windows, least: float = 1e-3) -> Windows | None:
    """The windows that go through more than `least` of material [mm3] at rapid speed; None where there are none."""
    which = ((windows.flags & Flag.RAPID) != 0) & (windows.volume > least)
    return windows.take(which) if which.any() else None
