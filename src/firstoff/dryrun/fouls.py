"""What stands about the work, as boxes in the axes of the setting, from its zero. Geometry; mm."""

from __future__ import annotations

from typing import Final

from ..part.shapes import Vector
from ..removal.collisions import Box
from .placing import Block, Placed

DEEP: Final = 100.0         #: of a box that stands for table or vise bed, downwards and to each side [mm]
THIN: Final = 3.0           #: least thickness of a parallel: thicker ones give alarms where none are [mm]; judged
TIP: Final = 10.0           #: of a clamp's tip on the work, along each side [mm]; judged, as in checks/_touching
STRAP: Final = (25.0, 14.0, 40.0)   #: width and height of a clamp's strap, and how far it reaches out [mm]; judged
HEAD: Final = 1.0           #: height of a screw's head over its diameter, and half its width [1]
STOP: Final = 8.0           #: of a stop along each side [mm]; judged
FLAT: Final = 0.999         #: cosine from which a face is level
JAWS: Final = ("fixed jaw", "moving jaw")


def boxes_of(placed: Placed, zero: Vector) -> tuple[tuple[Box, ...], tuple[str, ...]]:
    """Jaws, parallels, bed and stop, and what of the holding is not known.

    Args:
        placed: the part in its setting.
        zero: in machine axes.

    Returns:
        Boxes from the zero, and words for what is not looked at.
    """
    low, high = placed.extent()
    bed = placed.bed()
    floor = Box("bed", (low[0] - DEEP, low[1] - DEEP, bed - DEEP), (high[0] + DEEP, high[1] + DEEP, bed))
    jaws = placed.jaws()
    named = [_jaw(name, jaw, placed) for name, jaw in zip(JAWS, jaws, strict=False)]
    clamps = _clamps(placed)
    found = [floor, *named, *_parallels(placed, jaws), *_stop(placed), *clamps]
    holder = placed.device.name if placed.device else "what holds the part"
    lacking = () if jaws or clamps else (f"where {holder} stands",)
    return tuple(Box(b.name, _less(b.low, zero), _less(b.high, zero)) for b in found), lacking


def _jaw(name: str, jaw: Block, placed: Placed) -> Box:
    """A jaw as thick as its device says; else as it is drawn."""
    thick = placed.device.jaw_thickness if placed.device else None
    low, high = list(jaw.low), list(jaw.high)
    if thick is not None:
        out = placed.machine(jaw.outward)
        axis = max((0, 1), key=lambda k: abs(out[k]))
        if out[axis] > 0.0:
            high[axis] = low[axis] + thick
        else:
            low[axis] = high[axis] - thick
    return Box(name, (low[0], low[1], low[2]), (high[0], high[1], high[2]))


def _less(a: Vector, b: Vector) -> Vector:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def _parallels(placed: Placed, jaws: tuple[Block, ...]) -> list[Box]:
    """Thin strips along both jaws, under the work."""
    if placed.setting.holding.parallels <= 0.0 or len(jaws) != 2:
        return []
    low, high = placed.extent()
    out = []
    for jaw in jaws:
        axis = max((0, 1), key=lambda k: abs(placed.machine(jaw.outward)[k]))
        inwards = -1.0 if placed.machine(jaw.outward)[axis] > 0 else 1.0
        near = jaw.low[axis] if inwards < 0 else jaw.high[axis]
        ends = sorted((near, near + inwards * THIN))
        first, last = list(low), list(high)
        first[axis], last[axis] = ends
        out.append(Box("parallel", (first[0], first[1], placed.bed()), (last[0], last[1], low[2])))
    return out


def _clamps(placed: Placed) -> list[Box]:
    """Straps of clamps from where they press over the nearest edge outwards, or heads of screws."""
    kind = placed.device.kind if placed.device else ""
    if kind not in ("clamps", "screws"):
        return []
    low, high = placed.extent()
    out = []
    for along, away in placed.setting.holding.clamps:
        x, y = low[0] + along, low[1] + away
        top = _top(placed, x, y)
        if kind == "screws":
            out.append(Box("screw", (x - TIP / 2, y - TIP / 2, top), (x + TIP / 2, y + TIP / 2, top + HEAD * TIP)))
            continue
        wide, thick, reach = STRAP
        edges = {(0, -1): x - low[0], (0, 1): high[0] - x, (1, -1): y - low[1], (1, 1): high[1] - y}
        axis, sign = min(edges, key=lambda edge: edges[edge])
        first, last = [x - wide / 2, y - wide / 2], [x + wide / 2, y + wide / 2]
        tip = (x, y)[axis] - sign * TIP / 2
        end = (high[axis] if sign > 0 else low[axis]) + sign * reach
        first[axis], last[axis] = sorted((tip, end))
        out.append(Box("clamp", (first[0], first[1], top), (last[0], last[1], top + thick)))
    return out


def _top(placed: Placed, x: float, y: float) -> float:
    """Height of the highest level face at a place; of the piece where none is there."""
    found = []
    for face in placed.part.faces:
        if face.kind == "plane" and placed.machine(face.normal)[2] > FLAT:
            ends = [placed.machine(face.low), placed.machine(face.high)]
            box = [sorted(end[k] for end in ends) for k in (0, 1)]
            if box[0][0] <= x <= box[0][1] and box[1][0] <= y <= box[1][1]:
                found.append(ends[0][2])
    return max(found, default=placed.extent()[1][2])


def _stop(placed: Placed) -> list[Box]:
    """A small block at the middle of the face that is against the stop, no higher than the jaws."""
    name, top = placed.setting.holding.stop, placed.jaw_top()
    side = placed.side(name) if name else None
    if side is None or top is None:
        return []
    way, (low, high) = placed.machine(side.normal), placed.extent()
    axis = 0 if abs(way[0]) > abs(way[1]) else 1
    near = side.out if way[axis] > 0 else -side.out
    middle = [(a + b) / 2.0 for a, b in zip(low, high, strict=True)]
    first, last = [middle[0] - STOP / 2, middle[1] - STOP / 2], [middle[0] + STOP / 2, middle[1] + STOP / 2]
    first[axis], last[axis] = sorted((near, near + (STOP if way[axis] > 0 else -STOP)))
    return [Box("stop", (first[0], first[1], placed.bed()), (last[0], last[1], top))]
