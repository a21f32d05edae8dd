"""Sketches for the tests of this room: lines by chance within the grammar, and their parts made in this process."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from hypothesis import strategies as st

from firstoff.part import build, sketch, sketch_limits, sketch_solid
from firstoff.part.shapes import Part
from firstoff.part.sketch import Sketch

SOLE = """
block 110 x 34 x 5 ±0.03
hole 4.5 through countersunk 9.6 x 90 at 10,7; 10,27; 101,7; 101,27 on bottom
hole 4 H7 through at 10, 17; 101, 17
pocket 13.4 x 26.4 ±0.1 through corner 2 at 84.2, 17
"""
#: One line of every kind, on all six faces, from several datums.
MANY = """
block 120 ±0.1 x 60 x 40 0/-0.1
hole M4 deep 9 at 20, 8 ±0.1; 20, 52 on bottom
hole M5x0.5 through at 20, 6 from right back
hole 4 +0.1/-0 deep 6 flat at -20, 0 from centre on bottom
hole 8 through counterbored 12 x 4 at 90, 12 on front
pocket 26.4 ±0.1 x 13.4 deep 5 ±0.05 corner 2 at 40, 30
pocket 10 x 12 deep 4 corner 3 at 0, 20 from right back on top
slot 6 wide deep 4 from x 60 to 80 at y 40
pocket 16 x 14 deep 5 corner 4 floor 1.5 at 100, 40 on bottom
groove 16 x 2 deep 3 at 60, 14; 100, 18 on bottom
slot 6 ±0.02 wide deep 4 from z 12 to 30 at x 60 on back
slot 5 wide 3 deep along y at x 84.5 ±0.2 from left on bottom
step 10 wide deep 5 along left on bottom
chamfer 1 x 30 on top front edge
chamfer 0.5 on bottom right edge
fillet 2 on left front, left back
flat 0.02 on bottom
"""
MARGIN, CELL = 16.0, 30.0                # round the block, where edges and steps are; a place for one cut [mm]


def told(lines: str, unit: str = "mm", file: str = "part.toml") -> Sketch:
    """The sketch of some lines."""
    return sketch.parse(f"unit = \"{unit}\"\nlines = '''{lines}'''\n", file)


def made(drawn: Sketch) -> Part:
    """The part of a sketch, made in this process, with the sketch's limits."""
    with tempfile.TemporaryDirectory() as folder:
        part = build.digest(sketch_solid.write(drawn, Path(folder)))
    return replace(part, name=drawn.name, limits=sketch_limits.limits(drawn, part))


def size(low: float, high: float, step: float = 0.1) -> st.SearchStrategy[float]:
    """Sizes as people write them."""
    return st.integers(round(low / step), round(high / step)).map(lambda k: round(k * step, 6))


@st.composite
def _hole(draw: st.DrawFn, u: float, v: float, deep: float | None) -> str:
    told = draw(st.sampled_from(["M4", "M6", "M3x0.35", "5 H7", "", "", ""])) or f"{draw(size(2, 8)):g}"
    if deep is None:
        depth = "through"
    elif told.startswith("M"):
        depth = f"deep {draw(size(2, deep - 7)):g}"
    else:
        depth = f"deep {draw(size(5, deep - 3)):g} " + draw(st.sampled_from(["", "flat", "point 90"]))
    mouth = draw(st.sampled_from(["", "countersunk 9.6 x 90", "countersunk 10 x 120", "counterbored 11 x 3"]))
    if told.startswith("M6") or told == "M4":
        mouth = ""
    return f"hole {told} {depth} {mouth} at {u:g}, {v:g}"


@st.composite
def _recess(draw: st.DrawFn, u: float, v: float, deep: float | None) -> str:
    depth = "through" if deep is None else f"deep {draw(size(1, deep)):g}"
    length, width = draw(size(11, 24)), draw(size(6, 10))
    if draw(st.booleans()):
        corner = draw(size(0.5, width / 2 - 0.3)) if draw(st.booleans()) else 0.0
        if corner > 0.5 and deep is not None and draw(st.booleans()):
            depth = f"deep {draw(size(3, deep)):g} floor {draw(size(0.3, min(corner - 0.1, 2))):g}"
        sides = f"{length:g} x {width:g}" if draw(st.booleans()) else f"{width:g} x {length:g}"
        return f"pocket {sides} {depth} corner {corner:g} at {u:g}, {v:g}"
    if draw(st.booleans()):
        return f"slot {width:g} wide {depth} from x {u - length / 2:g} to {u + length / 2:g} at y {v:g}"
    return f"slot {width:g} wide {depth} from {u:g}, {v - length / 2:g} to {u:g}, {v + length / 2:g}"


@st.composite
def _ring(draw: st.DrawFn, u: float, v: float, deep: float | None) -> str:
    wide = draw(size(8, 26))
    return f"groove {wide:g} x {draw(size(1, wide / 3)):g} deep {draw(size(1, deep or 9)):g} at {u:g}, {v:g}"


@st.composite
def _around(draw: st.DrawFn, height: float) -> list[str]:
    """Cuts of the block's edges and sides that stay clear of each other."""
    wide, deep = draw(size(2, 12)), draw(size(1, height / 3))
    edge = draw(st.sampled_from([
        f"step {wide:g} wide deep {deep:g} along right", f"chamfer {draw(size(0.5, 4)):g} on top right edge",
        f"chamfer {draw(size(0.5, 2)):g} x {draw(st.sampled_from([20, 30, 60]))} on top right",
        f"fillet {draw(size(0.5, 4)):g} on top right edge", "ramp 30 deg from x 14 down to left",
        f"slot 4 wide deep 3 along x at z {height / 2:g} on front", "",
    ]))
    upright = draw(st.sampled_from(["", "fillet 3 on left back, left front", "chamfer 2 on all bottom edges"]))
    return [line for line in (edge, upright) if line]


@st.composite
def lines(draw: st.DrawFn) -> str:
    """A block with cuts of every kind that do not touch."""
    across, along, height = draw(st.integers(1, 2)), draw(st.integers(1, 2)), draw(size(26, 44))
    out = [f"block {2 * MARGIN + CELL * across:g} x {2 * MARGIN + CELL * along:g} x {height:g}"]
    kinds: list[Callable[[float, float, float | None], st.SearchStrategy[str]]] = [_hole, _recess, _ring]
    for i in range(across):
        for j in range(along):
            u, v = MARGIN + CELL * (i + 0.5), MARGIN + CELL * (j + 0.5)
            if draw(st.booleans()):
                out.append(draw(draw(st.sampled_from(kinds))(u, v, None)))
                continue
            for face in ("", " on bottom"):
                if draw(st.booleans()):
                    out.append(draw(draw(st.sampled_from(kinds))(u, v, height / 2 - 1)) + face)
    return "\n".join(["", *out, *draw(_around(height)), ""])
