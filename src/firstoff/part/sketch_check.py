"""Whether a cut of a sketch can be made in its block, told by sizes alone, before anything is built. Pure, mm."""

from __future__ import annotations

import math
from typing import Protocol

from firstoff.part.sketch import (
    FACES,
    Boss,
    Cut,
    Groove,
    Hole,
    Place,
    Pocket,
    Round,
    Sketch,
    Slope,
    Slot,
    Step,
    axes_of,
)

NEAR = 1e-6                              # smaller differences are rounding [mm]


class Line(Protocol):
    """Where a message can be put."""

    def fail(self, what: str, right: str = "", at: str | None = None) -> None:
        """Raise, with the place of the line."""


def check(sketch: Sketch, cut: Cut, line: Line) -> None:
    """Refuse a cut that lies outside the block, goes through it unsaid, or leaves nothing of a side.

    Raises:
        SketchError: with the word of the line.
    """
    size = sketch.block.size if sketch.block is not None else (0.0, 0.0, 0.0)
    if isinstance(cut, Hole):
        _hole(cut, size, line)
    elif isinstance(cut, Pocket):
        _pocket(cut, size, line)
    elif isinstance(cut, Slot):
        _slot(cut, size, line)
    elif isinstance(cut, Step):
        _below(cut.depth.value, size[FACES[cut.face][0]], "step", line)
        if cut.width.value >= size[FACES[cut.side][0]] - NEAR:
            line.fail("the step takes the whole face", f"less than {size[FACES[cut.side][0]]:g} mm wide", at="wide")
    elif isinstance(cut, Slope):
        _slope(cut, size, line)
    elif isinstance(cut, Groove):
        _groove(cut, size, line)
    elif isinstance(cut, Boss):
        _boss(cut, sketch, size, line)
    else:
        _round(cut, size, line)


def _below(depth: float, thickness: float, what: str, line: Line) -> None:
    if depth >= thickness - NEAR:
        line.fail(f"the {what} is {depth:g} mm deep, the block only {thickness:g} mm there",
                  "say 'through', or less deep", at="deep")


def _hole(cut: Hole, size: tuple[float, float, float], line: Line) -> None:
    radius, thickness = cut.diameter.value / 2, size[FACES[cut.face][0]]
    top = max(radius, *(wide[0] / 2 for wide in (cut.countersink, cut.counterbore) if wide is not None), 0.0)
    if cut.depth is not None:
        tip = radius / math.tan(math.radians(cut.point / 2)) if cut.point < 180.0 else 0.0
        _below(cut.depth.value, thickness, "hole", line)
        if cut.depth.value + tip >= thickness - NEAR:
            line.fail(f"the drill's point, {tip:.3g} mm long, comes out on the far side", "say 'through', or 'flat'",
                      at="deep")
    _within(cut.places, cut.face, top, "hole", size, line)
    _mouth(cut, thickness, line)


def _within(
    places: tuple[Place, ...], face: str, radius: float, what: str, size: tuple[float, float, float], line: Line
) -> None:
    """What is round stays within the face."""
    for place in places:
        for value, axis in zip((place.u, place.v), axes_of(face), strict=True):
            if not 0.0 < value < size[axis]:
                line.fail(f"the {what} at {place.u:g}, {place.v:g} mm is outside the block",
                          f"between 0 and {size[axis]:g} mm along {'xyz'[axis]}", at="at")
            if min(value, size[axis] - value) <= radius + NEAR:
                line.fail(f"the {what} at {place.u:g}, {place.v:g} mm breaks out of the side of the block",
                          f"at least {radius:g} mm from every side", at="at")


def _groove(cut: Groove, size: tuple[float, float, float], line: Line) -> None:
    _below(cut.depth.value, size[FACES[cut.face][0]], "groove", line)
    if cut.width.value >= cut.diameter.value / 2 - NEAR:
        line.fail("the groove has no core left", f"less than {cut.diameter.value / 2:g} mm wide, or a hole", at="")
    _within(cut.places, cut.face, cut.diameter.value / 2, "groove", size, line)


def _boss(cut: Boss, sketch: Sketch, size: tuple[float, float, float], line: Line) -> None:
    known = next((other for other in sketch.cuts if isinstance(other, Boss) and other.face == cut.face), None)
    if known is not None:
        line.fail(f"the face has bosses already, on line {known.line}, which this would cut away",
                  "bosses of one face on one line: at 10, 7; 30, 7", at="")
    if cut.height.value >= size[FACES[cut.face][0]] - NEAR:
        line.fail(f"the boss is {cut.height.value:g} mm high, the block only {size[FACES[cut.face][0]]:g} mm there",
                  "less high", at="high")
    _within(cut.places, cut.face, cut.diameter.value / 2, "boss", size, line)


def _mouth(cut: Hole, thickness: float, line: Line) -> None:
    goes = cut.depth.value if cut.depth is not None else thickness
    if cut.countersink is not None and cut.counterbore is not None:
        line.fail("the hole is countersunk and counterbored", "one of the two", at="counterbored")
    if cut.countersink is not None:
        wide, angle = cut.countersink
        deep = (wide - cut.diameter.value) / 2 / math.tan(math.radians(angle / 2))
        if wide <= cut.diameter.value + NEAR:
            line.fail(f"the countersink is not wider than the hole of {cut.diameter.value:g} mm",
                      f"more than {cut.diameter.value:g} mm", at="countersunk")
        if deep >= goes - NEAR:
            line.fail(f"the countersink would be {deep:.3g} mm deep, the hole only {goes:g} mm",
                      "a smaller countersink", at="countersunk")
    if cut.counterbore is not None:
        if cut.counterbore[0] <= cut.diameter.value + NEAR:
            line.fail(f"the counterbore is not wider than the hole of {cut.diameter.value:g} mm",
                      f"more than {cut.diameter.value:g} mm", at="counterbored")
        if cut.counterbore[1] >= goes - NEAR:
            line.fail(f"the counterbore is as deep as the hole of {goes:g} mm", "less deep", at="counterbored")


def _pocket(cut: Pocket, size: tuple[float, float, float], line: Line) -> None:
    if cut.depth is not None:
        _below(cut.depth.value, size[FACES[cut.face][0]], "pocket", line)
    _corner(cut.corner.value, min(each.value for each in cut.sizes), "pocket", line)
    if cut.floor.value > cut.corner.value + NEAR:
        line.fail(f"the floor radius {cut.floor.value:g} mm is more than the corners' {cut.corner.value:g} mm",
                  f"corner {cut.floor.value:g}: the cutter leaves it there, too", at="floor")
    if cut.floor.value > 0.0 and (cut.depth is None or cut.floor.value >= cut.depth.value - NEAR):
        line.fail("there is no floor and wall for the floor radius", "'deep', and deeper than the radius", at="floor")
    for place in cut.places:
        whole = True
        for value, wide, axis in zip((place.u, place.v), cut.sizes, axes_of(cut.face), strict=True):
            low, high = value - wide.value / 2, value + wide.value / 2
            if high <= NEAR or low >= size[axis] - NEAR:
                line.fail(f"the pocket at {place.u:g}, {place.v:g} mm is outside the block",
                          f"between 0 and {size[axis]:g} mm along {'xyz'[axis]}", at="at")
            whole = whole and low <= NEAR and high >= size[axis] - NEAR
        if whole:
            line.fail("the pocket takes the whole face", "a smaller pocket, or a lower block", at="at")


def _corner(radius: float, width: float, what: str, line: Line) -> None:
    if radius < 0.0:
        line.fail("the corner radius is negative", "0 or more", at="corner")
    if radius > width / 2 + NEAR:
        line.fail(f"the corner radius {radius:g} mm is more than half the width of the {what}",
                  f"at most {width / 2:g} mm", at="corner")


def _slot(cut: Slot, size: tuple[float, float, float], line: Line) -> None:
    across = next(axis for axis in axes_of(cut.face) if axis != cut.along)
    if cut.depth is not None:
        _below(cut.depth.value, size[FACES[cut.face][0]], "slot", line)
    low, high = cut.middle.u - cut.width.value / 2, cut.middle.u + cut.width.value / 2
    if high <= NEAR or low >= size[across] - NEAR:
        line.fail("the slot is outside the block", f"between 0 and {size[across]:g} mm along {'xyz'[across]}",
                  at="at")
    if low <= NEAR or high >= size[across] - NEAR:
        line.fail("the slot breaks out of the side of the block", "say it as a step", at="at")
    long = cut.ends[1] - cut.ends[0]
    if long <= NEAR:
        line.fail("the slot is outside the block, or has no length", f"between 0 and {size[cut.along]:g} mm",
                  at="from")
    if cut.depth is None and long >= size[cut.along] - NEAR:
        line.fail("the slot cuts the block in two", "ends inside the block, or 'deep'", at="through")
    _corner(cut.corner.value, cut.width.value, "slot", line)
    inside = (cut.ends[0] > NEAR) + (cut.ends[1] < size[cut.along] - NEAR)
    if inside and inside * cut.corner.value > long + NEAR:
        line.fail(f"the slot is {long:g} mm long, shorter than its rounded ends", "a hole, or a longer slot", at="to")


def _slope(cut: Slope, size: tuple[float, float, float], line: Line) -> None:
    drop = cut.width.value * math.tan(math.radians(cut.angle))
    for one, other in cut.edges:
        if cut.width.value >= size[FACES[other][0]] - NEAR:
            line.fail(f"the {cut.verb} takes the whole of {one}", f"less than {size[FACES[other][0]]:g} mm",
                      at=cut.verb)
        if drop >= size[FACES[one][0]] - NEAR:
            line.fail(f"the {cut.verb} takes the whole of {other}: it falls {drop:.4g} mm",
                      "a smaller angle, or a shorter block", at=cut.verb)


def _round(cut: Round, size: tuple[float, float, float], line: Line) -> None:
    for edge in cut.edges:
        for face in edge:
            if cut.radius.value >= size[FACES[face][0]] - NEAR:
                line.fail(f"the fillet is larger than the block's {size[FACES[face][0]]:g} mm there",
                          f"less than {size[FACES[face][0]]:g} mm", at="fillet")
