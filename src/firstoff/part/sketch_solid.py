"""The solid of a sketch, made with the kernel: the block, and each line's cuts taken out of it. Worker side.

Every cut is one tool that reaches past the block where it is open, so that no face of tool and block coincides.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

from OCP.Bnd import Bnd_Box
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakePrism, BRepPrimAPI_MakeRevol
from OCP.collections import List_TopoDS_Shape
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Vec
from OCP.Interface import Interface_Static
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_SOLID
from OCP.TopoDS import TopoDS

from firstoff.errors import ModelError
from firstoff.part import kernel
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
from firstoff.part.sketch_text import boxes

RIM = 1e-4                               # within which an edge lies at the bottom of a tool [mm]
BEYOND = 1.0                             # how far tools reach past the block [mm]
Point = tuple[float, float, float]
Edges = list[tuple[Point, ...]]          # two points a line, three (the middle one on it) an arc


def solid(sketch: Sketch) -> Any:
    """The kernel's solid of a sketch.

    Raises:
        ModelError: naming the line, if a cut takes nothing, or leaves less than one whole block.
    """
    size = sketch.block.size if sketch.block is not None else (0.0, 0.0, 0.0)
    block = BRepPrimAPI_MakeBox(gp_Pnt(0, 0, 0), *size).Solid()
    shape = _at_once(block, [tool for cut in sketch.cuts for tool in _tools(cut, size)], size)
    if shape is None:
        shape = block
        for cut in sketch.cuts:
            shape = _without(shape, cut, f"{sketch.file}, line {cut.line}", size)
    plain = ShapeUpgrade_UnifySameDomain(shape, True, True, False)
    plain.Build()
    return next(kernel.explore(plain.Shape(), TopAbs_SOLID))


def write(sketch: Sketch, folder: Path) -> Path:
    """The solid of a sketch as a STEP file in the sketch's unit, named as the sketch."""
    shape = solid(sketch)
    path = folder / "sketch.step"
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", {"mm": "MM", "in": "INCH"}[sketch.unit])
    Interface_Static.SetCVal_s("write.step.product.name", sketch.name.encode("ascii", "replace").decode())
    writer.Transfer(shape, STEPControl_AsIs)
    writer.Write(str(path))
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    return path


def _at_once(block: Any, tools: list[Any], size: Point) -> Any | None:
    """The block without all tools in one go, three times as fast; None where a tool leaves no face, or no part.

    Then it must be seen line by line which one it is: a hole may be lost in a pocket that comes after it.
    """
    if not tools:
        return block
    work = _cut(block, tools)
    left = list(kernel.explore(work.Shape(), TopAbs_SOLID)) if work.IsDone() else []
    shows = all(any(not work.IsDeleted(face) for face in kernel.explore(tool, TopAbs_FACE)) for tool in tools)
    return left[0] if len(left) == 1 and shows and _reaches(left[0], size) else None


def _cut(shape: Any, tools: list[Any]) -> Any:
    arguments, tooling = List_TopoDS_Shape(), List_TopoDS_Shape()
    arguments.Append(shape)
    for tool in tools:
        tooling.Append(tool)
    work = BRepAlgoAPI_Cut()
    work.SetArguments(arguments)
    work.SetTools(tooling)
    work.Build()
    return work


def _without(shape: Any, cut: Cut, where: str, size: Point) -> Any:
    """The shape without a cut: every place must take something, and of several edges one, where others are gone."""
    tools, took = _tools(cut, size), 0
    for tool in tools:
        less = _taken(shape, tool, where, size)
        took += less is not None
        shape = shape if less is None else less
    if took < (1 if isinstance(cut, Slope | Round) else len(tools)):
        raise ModelError("the cut takes nothing: the lines before it have taken all that is there", where=where,
                         right="another place, or leave the line out")
    return shape


def _taken(shape: Any, tool: Any, where: str, size: Point) -> Any | None:
    """The shape without the tool; None where it takes nothing: there is no face that was not there before."""
    work = _cut(shape, [tool])
    left = list(kernel.explore(work.Shape(), TopAbs_SOLID)) if work.IsDone() else []
    if not left:
        raise ModelError("nothing is left of the block", where=where, right="a smaller cut")
    if len(left) > 1:
        raise ModelError(f"the cut leaves {len(left)} pieces", where=where, right="a cut that leaves one piece")
    before = list(kernel.explore(shape, TopAbs_FACE))
    if all(any(face.IsSame(old) for old in before) for face in kernel.explore(left[0], TopAbs_FACE)):
        return None
    if not _reaches(left[0], size):
        raise ModelError("the cut takes the last of a side of the block", where=where,
                         right="begin with a smaller block")
    return left[0]


def _reaches(shape: Any, size: Point) -> bool:
    """The block still reaches from side to side."""
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    corners = zip((low.X(), low.Y(), low.Z()), (high.X(), high.Y(), high.Z()), size, strict=True)
    return all(a < 1e-4 and b > length - 1e-4 for a, b, length in corners)


def _tools(cut: Cut, size: Point) -> list[Any]:
    if isinstance(cut, Hole):
        return [_turned(cut.face, place, _profile(cut, size[FACES[cut.face][0]]), size) for place in cut.places]
    if isinstance(cut, Groove):
        outer = cut.diameter.value / 2
        ring = [(outer - cut.width.value, BEYOND), (outer, BEYOND), (outer, -cut.depth.value),
                (outer - cut.width.value, -cut.depth.value)]
        return [_turned(cut.face, place, ring, size) for place in cut.places]
    if isinstance(cut, Boss):
        return [_round_bosses(cut, size)]
    if isinstance(cut, Slope):
        return [_wedge(cut, edge, size) for edge in cut.edges]
    if isinstance(cut, Round):
        return [_rounding(cut, edge, size) for edge in cut.edges]
    return [_recess(cut, low, high, size) for low, high in boxes(cut, size)]


def _turned(face: str, place: Place, profile: Sequence[tuple[float, float]], size: Point) -> Any:
    """What (radius, height over a face) make when they turn about a place of it."""
    axis, way = FACES[face]
    origin, outwards, radial = [0.0] * 3, [0.0] * 3, [0.0] * 3
    first, second = axes_of(face)
    origin[first], origin[second], origin[axis] = place.u, place.v, size[axis] if way > 0 else 0.0
    outwards[axis], radial[first] = float(way), 1.0
    outline = [tuple(o + r * x + t * z for o, x, z in zip(origin, radial, outwards, strict=True))
               for r, t in profile]
    edges = [(one, other) for one, other in zip(outline, (*outline[1:], outline[0]), strict=True)
             if math.dist(one, other) > 1e-9]
    turn = gp_Ax1(gp_Pnt(*origin), gp_Dir(*outwards))
    return BRepPrimAPI_MakeRevol(_face(edges), turn).Shape()  # type: ignore[arg-type]


def _round_bosses(cut: Boss, size: Point) -> Any:
    """The slab that is cut from a face, without what stays standing."""
    axis, way = FACES[cut.face]
    low, high = [-BEYOND] * 3, [length + BEYOND for length in size]
    if way > 0:
        low[axis] = size[axis] - cut.height.value
    else:
        high[axis] = cut.height.value
    slab = BRepPrimAPI_MakeBox(gp_Pnt(*low), gp_Pnt(*high)).Solid()
    post, deep = cut.diameter.value / 2, cut.height.value + BEYOND
    outline = [(0.0, 2 * BEYOND), (post, 2 * BEYOND), (post, -deep), (0.0, -deep)]
    posts = [_turned(cut.face, place, outline, size) for place in cut.places]
    return next(kernel.explore(_cut(slab, posts).Shape(), TopAbs_SOLID))


def _profile(cut: Hole, thickness: float) -> list[tuple[float, float]]:
    """(radius, height over the face) round half a hole's section."""
    radius = cut.diameter.value / 2
    mouth: list[tuple[float, float]] = [(radius, BEYOND)]
    if cut.countersink is not None:
        wide, half = cut.countersink[0] / 2, math.radians(cut.countersink[1] / 2)
        mouth = [(wide, BEYOND), (wide, 0.0), (radius, -(wide - radius) / math.tan(half))]
    if cut.counterbore is not None:
        wide, deep = cut.counterbore[0] / 2, cut.counterbore[1]
        mouth = [(wide, BEYOND), (wide, -deep), (radius, -deep)]
    if cut.depth is None:
        return [(0.0, BEYOND), *mouth, (radius, -thickness - BEYOND), (0.0, -thickness - BEYOND)]
    deep = cut.depth.value
    tip = radius / math.tan(math.radians(cut.point / 2)) if cut.point < 180.0 else 0.0
    return [(0.0, BEYOND), *mouth, (radius, -deep), (0.0, -deep - tip)]


def _recess(cut: Pocket | Slot | Step, low: list[float], high: list[float], size: Point) -> Any:
    """A box with round corners along the tool's axis; open sides reach past the block, corners and all."""
    corner = 0.0 if isinstance(cut, Step) else cut.corner.value
    low, high = list(low), list(high)
    square = FACES[cut.face][0]
    for axis in range(3):
        more = BEYOND + (corner if axis != square else 0.0)
        low[axis] = min(low[axis], 0.0) - more if low[axis] <= 1e-6 else low[axis]
        high[axis] = max(high[axis], size[axis]) + more if high[axis] >= size[axis] - 1e-6 else high[axis]
    first, second = axes_of(cut.face)
    base: dict[int, tuple[float, float]] = {first: (low[first], high[first]), second: (low[second], high[second])}
    edges = [tuple(_at(square, low[square], first, a, second, b) for a, b in edge)
             for edge in _rounded(*base[first], *base[second], corner)]
    along = [0.0] * 3
    along[square] = high[square] - low[square]
    tool = _prism(edges, along)
    return tool if not isinstance(cut, Pocket) or cut.floor.value <= 0.0 else _round_floored(cut, tool, low, high)


def _round_floored(cut: Pocket, tool: Any, low: Sequence[float], high: Sequence[float]) -> Any:
    """A pocket's tool with its lower rim rounded."""
    axis, way = FACES[cut.face]
    level, work = low[axis] if way > 0 else high[axis], BRepFilletAPI_MakeFillet(tool)
    for shape in kernel.explore(tool, TopAbs_EDGE):
        box = Bnd_Box()
        BRepBndLib.AddOptimal_s(shape, box, False, False)
        ends = [(p.X(), p.Y(), p.Z())[axis] for p in (box.CornerMin(), box.CornerMax())]
        if all(abs(end - level) < RIM for end in ends):
            work.Add(cut.floor.value, TopoDS.Edge(shape))
    return work.Shape()


def _at(square: int, level: float, first: int, a: float, second: int, b: float) -> Point:
    point = [0.0] * 3
    point[square], point[first], point[second] = level, a, b
    return point[0], point[1], point[2]


def _rounded(a0: float, a1: float, b0: float, b1: float, r: float) -> list[list[tuple[float, float]]]:
    """Lines and arcs round a rectangle with rounded corners, in order."""
    if r <= 1e-9:
        ring = [(a0, b0), (a1, b0), (a1, b1), (a0, b1)]
        return [[one, other] for one, other in zip(ring, (*ring[1:], ring[0]), strict=True)]
    s = r * (1 - math.sqrt(0.5))
    lines = [[(a0 + r, b0), (a1 - r, b0)], [(a1, b0 + r), (a1, b1 - r)], [(a1 - r, b1), (a0 + r, b1)],
             [(a0, b1 - r), (a0, b0 + r)]]
    middles = [(a1 - s, b0 + s), (a1 - s, b1 - s), (a0 + s, b1 - s), (a0 + s, b0 + s)]
    out = []
    for k, line in enumerate(lines):
        if math.dist(*line) > 1e-6:
            out.append(line)
        out.append([line[1], middles[k], lines[(k + 1) % 4][0]])
    return out


def _corner(edge: tuple[str, str], size: Point) -> tuple[list[float], int]:
    """The low end of an edge of the block, and the axis along it."""
    point = [0.0, 0.0, 0.0]
    for face in edge:
        axis, way = FACES[face]
        point[axis] = size[axis] if way > 0 else 0.0
    return point, next(axis for axis in range(3) if axis not in {FACES[face][0] for face in edge})


def _frame(edge: tuple[str, str], size: Point) -> tuple[list[float], list[float], Any]:
    """A function of two numbers to points: so far into the block from the second face, so far from the first."""
    point, along = _corner(edge, size)
    point[along] = -BEYOND
    way = [0.0] * 3
    way[along] = size[along] + 2 * BEYOND

    def place(on_first: float, on_second: float) -> Point:
        out = list(point)
        for face, amount in ((edge[1], on_first), (edge[0], on_second)):
            axis, sign = FACES[face]
            out[axis] -= sign * amount
        return out[0], out[1], out[2]

    return point, way, place


def _wedge(cut: Slope, edge: tuple[str, str], size: Point) -> Any:
    """A three-sided bar beyond the slanting flat, reaching past both faces."""
    _, way, place = _frame(edge, size)
    width, drop = cut.width.value, cut.width.value * math.tan(math.radians(cut.angle))
    corners = [place(width * 2, -drop), place(-width, drop * 2), place(-width, -drop)]
    return _prism([(one, other) for one, other in zip(corners, (*corners[1:], corners[0]), strict=True)], way)


def _rounding(cut: Round, edge: tuple[str, str], size: Point) -> Any:
    """What a rounding takes of an edge."""
    _, way, place = _frame(edge, size)
    r, s = cut.radius.value, cut.radius.value * (1 - math.sqrt(0.5))
    on_first, on_second = place(r, 0.0), place(0.0, r)
    outer = [on_second, place(-BEYOND, r), place(-BEYOND, -BEYOND), place(r, -BEYOND), on_first]
    lines: Edges = list(pairwise(outer))
    return _prism([(on_first, place(s, s), on_second), *lines], way)


def _prism(edges: Sequence[tuple[Point, ...]], along: Sequence[float]) -> Any:
    return BRepPrimAPI_MakePrism(_face(edges), gp_Vec(*along)).Shape()


def _face(edges: Sequence[tuple[Point, ...]]) -> Any:
    wire = BRepBuilderAPI_MakeWire()
    for edge in edges:
        points = [gp_Pnt(*point) for point in edge]
        curve = points if len(points) == 2 else [GC_MakeArcOfCircle(*points).Value()]
        wire.Add(BRepBuilderAPI_MakeEdge(*curve).Edge())
    return BRepBuilderAPI_MakeFace(wire.Wire(), True).Face()
