"""A sketch told in lines again, and in a form in which two sketches of one solid are the same. Pure, mm."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import groupby

from firstoff.part.sketch import (
    FACES,
    UNITS,
    Block,
    Boss,
    Cut,
    Groove,
    Hole,
    Place,
    Pocket,
    Round,
    Size,
    Sketch,
    Slope,
    Slot,
    Step,
    axes_of,
)

DIGITS = 4                               # to which sizes are compared [1]
Key = tuple[object, ...]


def lines_of(sketch: Sketch) -> list[str]:
    """The sketch in lines that can be read again, in its own unit."""
    tell = _Teller(sketch.unit)
    out = [] if sketch.block is None else [tell.block(sketch.block)]
    out += [tell.cut(cut, sketch) for cut in sketch.cuts]
    out += [text for _, text in sketch.texts if text.startswith("#")]
    return out + [f"flat {tell.length(flat.zone)} on {flat.face}" for flat in sketch.flats]


class _Teller:
    def __init__(self, unit: str) -> None:
        self.scale = UNITS[unit]

    def length(self, value: float) -> str:
        """A length in the file's unit."""
        text = f"{value / self.scale:.7f}".rstrip("0").rstrip(".")
        return "0" if text in ("-0", "") else text

    def limits(self, allowed: tuple[float, float] | None) -> str:
        """Deviations, as they stand behind a size."""
        if allowed is None:
            return ""
        low, high = allowed
        if abs(low + high) < 1e-9:
            return f" ±{self.length(high)}"
        more, less = "+" if high >= 0 else "", "+" if low > 0 else "-" if low == 0 else ""
        return f" {more}{self.length(high)}/{less}{self.length(low)}"

    def size(self, size: Size) -> str:
        """A size with its fit or limits."""
        allowed = None if size.lower is None or size.upper is None else (size.lower, size.upper)
        return self.length(size.value) + (f" {size.fit}" if size.fit else "") + self.limits(allowed)

    def block(self, block: Block) -> str:
        """The first line."""
        return "block " + " x ".join(self.size(size) for size in block.sizes)

    def deep(self, depth: Size | None) -> str:
        """How deep, or through."""
        return "through" if depth is None else f"deep {self.size(depth)}"

    def places(self, places: tuple[Place, ...], face: str, sketch: Sketch) -> str:
        """Where, measured from the sides that the limits are told from."""
        sides = next((place.sides for place in places), ("", ""))
        lengths = (0.0, 0.0) if sketch.block is None else tuple(sketch.block.size[axis] for axis in axes_of(face))
        far = [FACES[side][1] > 0 if side else False for side in sides]
        told = [
            ", ".join(self.length(length - value if other else value) + self.limits(allowed)
                      for value, allowed, other, length in
                      zip((place.u, place.v), place.limits, far, lengths, strict=True))
            for place in places
        ]
        datum = " from " + " ".join(side for side, other in zip(sides, far, strict=True) if other) if any(far) else ""
        return f"at {'; '.join(told)}{datum}" + ("" if face == "top" else f" on {face}")

    def cut(self, cut: Cut, sketch: Sketch) -> str:
        """The line of one cut."""
        if isinstance(cut, Hole):
            return self.hole(cut, sketch)
        if isinstance(cut, Pocket):
            corner = f" corner {self.size(cut.corner)}" if cut.corner.value > 0 else ""
            sizes = " x ".join(self.size(size) for size in cut.sizes)
            corner += f" floor {self.size(cut.floor)}" if cut.floor.value > 0 else ""
            return f"pocket {sizes} {self.deep(cut.depth)}{corner} {self.places(cut.places, cut.face, sketch)}"
        if isinstance(cut, Groove):
            sizes = f"{self.size(cut.diameter)} x {self.size(cut.width)} {self.deep(cut.depth)}"
            return f"groove {sizes} {self.places(cut.places, cut.face, sketch)}"
        if isinstance(cut, Boss):
            sizes = f"{self.size(cut.diameter)} high {self.size(cut.height)}"
            return f"boss {sizes} {self.places(cut.places, cut.face, sketch)}"
        if isinstance(cut, Slot):
            return self.slot(cut, sketch)
        if isinstance(cut, Step):
            wide, deep = self.size(cut.width), self.size(cut.depth)
            return f"step {wide} wide deep {deep} along {cut.side}" + ("" if cut.face == "top" else f" on {cut.face}")
        edges = "on " + ", ".join(f"{one} {other}" for one, other in cut.edges) + " edge"
        if isinstance(cut, Round):
            return f"fillet {self.size(cut.radius)} {edges}"
        if cut.verb == "ramp":
            return self.ramp(cut, sketch)
        return f"chamfer {self.size(cut.width)} x {cut.angle:.7g} {edges}"

    def hole(self, cut: Hole, sketch: Sketch) -> str:
        """A hole, tapped or plain."""
        words = ["hole", cut.thread or self.size(cut.diameter)]
        if cut.thread and cut.thread_depth is not None and cut.depth is not None:
            words += [self.deep(cut.thread_depth), f"drilled {self.size(cut.depth)}"]
        else:
            words.append(self.deep(cut.depth))
        if cut.depth is not None and cut.point != 118.0:
            words.append("flat" if cut.point >= 180.0 else f"point {cut.point:.7g}")
        if cut.countersink is not None:
            words.append(f"countersunk {self.length(cut.countersink[0])} x {cut.countersink[1]:.7g}")
        if cut.counterbore is not None:
            words.append(f"counterbored {self.length(cut.counterbore[0])} x {self.length(cut.counterbore[1])}")
        return " ".join((*words, self.places(cut.places, cut.face, sketch)))

    def slot(self, cut: Slot, sketch: Sketch) -> str:
        """A slot by its axis, ends and middle."""
        letter = "xyz"[cut.along]
        across = next(axis for axis in axes_of(cut.face) if axis != cut.along)
        side, length = cut.middle.sides[0], 0.0 if sketch.block is None else sketch.block.size[across]
        far = bool(side) and FACES[side][1] > 0
        middle = self.length(length - cut.middle.u if far else cut.middle.u) + self.limits(cut.middle.limits[0])
        corner = "" if cut.corner == Size(cut.width.value / 2) else f" corner {self.size(cut.corner)}"
        ends = " to ".join(self.length(end) for end in cut.ends)
        where = f"from {letter} {ends} at {'xyz'[across]} {middle}" + (f" from {side}" if far else "")
        on = "" if cut.face == "top" else f" on {cut.face}"
        return f"slot {self.size(cut.width)} wide {self.deep(cut.depth)}{corner} {where}{on}"

    def ramp(self, cut: Slope, sketch: Sketch) -> str:
        """A ramp by where it begins and the side that it falls to."""
        ((face, side),) = cut.edges
        axis, way = FACES[side]
        start = cut.width.value if way < 0 or sketch.block is None else sketch.block.size[axis] - cut.width.value
        on = "" if face == "top" else f" on {face}"
        return f"ramp {cut.angle:.7g} deg from {'xyz'[axis]} {self.length(start)} down to {side}{on}"


def canonical(sketch: Sketch) -> tuple[Key, ...]:
    """Block and cuts in one order and one wording: equal where two sketches mean the same solid.

    Places are told one by one; steps, slots and pockets by the box that they take out of the block; holes that go
    through without a countersink or counterbore by their axis; chamfers and ramps by what they take of an edge.
    """
    if sketch.block is None:
        return ()
    size = sketch.block.size
    keys = [key for cut in sketch.cuts for key in _keys(cut, size)]
    return (("block", *(_round(value) for value in size)), *(key for key, _ in groupby(sorted(keys, key=repr))))


def _round(value: float) -> float:
    return round(value, DIGITS) + 0.0


def _keys(cut: Cut, size: tuple[float, float, float]) -> Iterator[Key]:
    if isinstance(cut, Hole):
        yield from _hole_keys(cut)
    elif isinstance(cut, Groove):
        sizes = tuple(_round(size.value) for size in (cut.diameter, cut.width, cut.depth))
        for place in cut.places:
            yield "groove", cut.face, _round(place.u), _round(place.v), *sizes
    elif isinstance(cut, Boss):
        for place in cut.places:
            yield ("boss", cut.face, _round(place.u), _round(place.v), _round(cut.diameter.value),
                   _round(cut.height.value))
    elif isinstance(cut, Slope):
        drop = cut.width.value * math.tan(math.radians(cut.angle))
        for edge in cut.edges:
            legs = sorted(zip(edge, (_round(cut.width.value), _round(drop)), strict=True))
            yield "slope", *(part for leg in legs for part in leg)
    elif isinstance(cut, Round):
        for edge in cut.edges:
            yield "round", *sorted(edge), _round(cut.radius.value)
    else:
        for low, high in boxes(cut, size):
            clipped = [(_round(max(a, 0.0)), _round(min(b, s))) for a, b, s in zip(low, high, size, strict=True)]
            corner = 0.0 if isinstance(cut, Step) else _round(_corner(cut, clipped, size))
            floor = _round(cut.floor.value) if isinstance(cut, Pocket) else 0.0
            yield "recess", *clipped, corner, floor, FACES[cut.face][0] if corner else ""


def _corner(cut: Pocket | Slot, box: list[tuple[float, float]], size: tuple[float, float, float]) -> float:
    """The corner radius; none where the recess is open at both ends, and has no corners."""
    across = axes_of(cut.face)
    open_ends = [box[axis][0] <= 0.0 and box[axis][1] >= _round(size[axis]) for axis in across]
    return 0.0 if any(open_ends) else cut.corner.value


def _hole_keys(cut: Hole) -> Iterator[Key]:
    axis = FACES[cut.face][0]
    plain = cut.depth is None and cut.countersink is None and cut.counterbore is None
    deep = None if cut.depth is None else (_round(cut.depth.value), _round(cut.point))
    mouth = tuple(None if one is None else tuple(_round(value) for value in one)
                  for one in (cut.countersink, cut.counterbore))
    depth = None if cut.thread_depth is None else _round(cut.thread_depth.value)
    for place in cut.places:
        yield ("hole", axis if plain else cut.face, _round(place.u), _round(place.v), _round(cut.diameter.value),
               deep, mouth, cut.thread, depth, cut.diameter.fit)


def boxes(cut: Pocket | Slot | Step, size: tuple[float, float, float]) -> list[tuple[list[float], list[float]]]:
    """The boxes (low, high corner) that a recess takes out of a block of this size, one a place [mm]."""
    axis, way = FACES[cut.face]
    depth = size[axis] if cut.depth is None else cut.depth.value
    low, high = [0.0, 0.0, 0.0], list(size)
    low[axis], high[axis] = (size[axis] - depth, size[axis]) if way > 0 else (0.0, depth)
    if isinstance(cut, Step):
        side, out = FACES[cut.side]
        low[side], high[side] = (size[side] - cut.width.value, size[side]) if out > 0 else (0.0, cut.width.value)
        return [(low, high)]
    if isinstance(cut, Slot):
        across = next(other for other in axes_of(cut.face) if other != cut.along)
        low[cut.along], high[cut.along] = cut.ends
        low[across], high[across] = (cut.middle.u + sign * cut.width.value / 2 for sign in (-1, 1))
        return [(low, high)]
    found = []
    for place in cut.places:
        here, there = list(low), list(high)
        for other, value, wide in zip(axes_of(cut.face), (place.u, place.v), cut.sizes, strict=True):
            here[other], there[other] = value - wide.value / 2, value + wide.value / 2
        found.append((here, there))
    return found
