"""Parts of kinds that are made one at a time, built with the kernel, and the features that each must be seen to have.

Brackets, flanges, clamp blocks, housings, turned pieces, T-slots, dovetails, and the same solids as other programs
write them: round faces in halves, analytic faces as splines, shells to be sewn, faces inside out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from OCP.BRep import BRep_Tool
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_NurbsConvert,
    BRepBuilderAPI_Transform,
)
from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer, BRepFilletAPI_MakeFillet
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
    BRepPrimAPI_MakeRevol,
)
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS

Point = tuple[float, float, float]
Z, X, Y = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
#: kind, how many of it, and what each of them must have: sizes within 0.01; through and open; reached or not
Wanted = tuple[str, int, dict[str, float | bool]]
NEAR = 0.011                             # within which a size is right [mm, degrees]


def box(length: float, width: float, height: float, at: Point = (0.0, 0.0, 0.0)) -> Any:
    """A block with its low corner at a place."""
    return BRepPrimAPI_MakeBox(gp_Pnt(*at), length, width, height).Solid()


def bar(at: Point, way: Point, diameter: float, length: float) -> Any:
    """A round bar that begins at a place."""
    return BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*at), gp_Dir(*way)), diameter / 2, length).Solid()


def turned(outline: Sequence[tuple[float, float]], at: Point = (0.0, 0.0, 0.0), way: Point = (0.0, 0.0, 1.0),
           across: Point = (1.0, 0.0, 0.0)) -> Any:
    """An outline of (radius, height) turned about an axis."""
    ring = BRepBuilderAPI_MakePolygon()
    for r, h in outline:
        ring.Add(gp_Pnt(*(a + r * c + h * w for a, c, w in zip(at, across, way, strict=True))))
    ring.Close()
    face = BRepBuilderAPI_MakeFace(ring.Wire()).Face()
    return BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(*at), gp_Dir(*way))).Shape()


def prism(outline: Sequence[Point], along: Point) -> Any:
    """An outline drawn along."""
    ring = BRepBuilderAPI_MakePolygon()
    for point in outline:
        ring.Add(gp_Pnt(*point))
    ring.Close()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(ring.Wire()).Face(), gp_Vec(*along)).Shape()


def without(solid: Any, *tools: Any) -> Any:
    """The solid with tools cut out of it."""
    for tool in tools:
        solid = BRepAlgoAPI_Cut(solid, tool).Shape()
    return solid


def fused(solid: Any, *more: Any) -> Any:
    """Solids joined."""
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    for one in more:
        solid = BRepAlgoAPI_Fuse(solid, one).Shape()
    plain = ShapeUpgrade_UnifySameDomain(solid, True, True, False)
    plain.Build()
    return plain.Shape()


def edges(solid: Any, where: Callable[[Point], bool]) -> list[Any]:
    """The edges whose middle is somewhere."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve

    out, seen, walk = [], [], TopExp_Explorer(solid, TopAbs_EDGE)
    while walk.More():
        edge = TopoDS.Edge(walk.Current())
        walk.Next()
        if BRep_Tool.Degenerated_s(edge) or any(edge.IsSame(known) for known in seen):
            continue
        seen.append(edge)
        curve = BRepAdaptor_Curve(edge)
        middle = curve.Value((curve.FirstParameter() + curve.LastParameter()) / 2)
        if where((middle.X(), middle.Y(), middle.Z())):
            out.append(edge)
    return out


def rounded(solid: Any, radius: float, where: Callable[[Point], bool]) -> Any:
    """Edges rounded."""
    work = BRepFilletAPI_MakeFillet(solid)
    for edge in edges(solid, where):
        work.Add(radius, edge)
    return work.Shape()


def chamfered(solid: Any, width: float, where: Callable[[Point], bool]) -> Any:
    """Edges chamfered at 45 degrees."""
    work = BRepFilletAPI_MakeChamfer(solid)
    for edge in edges(solid, where):
        work.Add(width, edge)
    return work.Shape()


def moved(solid: Any, turn: float, about: Point, shift: Point = (0.0, 0.0, 0.0)) -> Any:
    """Turned about an axis through the origin [degrees], then shifted."""
    one, other = gp_Trsf(), gp_Trsf()
    one.SetRotation(gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(*about)), math.radians(turn))
    other.SetTranslation(gp_Vec(*shift))
    return BRepBuilderAPI_Transform(solid, other.Multiplied(one), True).Shape()


def splined(solid: Any) -> Any:
    """The same solid with every face a spline, as some programs write them."""
    return BRepBuilderAPI_NurbsConvert(solid, True).Shape()


def on_circle(count: int, radius: float, at: Point = (0.0, 0.0, 0.0)) -> list[Point]:
    """Places on a circle."""
    return [(at[0] + radius * math.cos(2 * math.pi * k / count), at[1] + radius * math.sin(2 * math.pi * k / count),
             at[2]) for k in range(count)]


def _near(x: float, wanted: float) -> bool:
    return abs(x - wanted) < NEAR


def bracket() -> Any:
    """Two legs with a rounded corner between, rounded ends, holes in both."""
    solid = fused(box(60, 40, 6), box(6, 40, 50))
    solid = rounded(solid, 5, lambda p: _near(p[0], 6) and _near(p[2], 6))
    solid = rounded(solid, 8, lambda p: _near(p[2], 3) and _near(p[0], 60))
    holes = [bar((30 + 20 * k, 10 + 20 * j, -1), Z, 6.6, 10) for k in (0, 1) for j in (0, 1)]
    return without(solid, *holes, bar((-1, 20, 35), X, 10, 10))


def flange() -> Any:
    """A turned flange with a filleted hub and six holes on a circle."""
    solid = turned([(10, 0), (50, 0), (50, 10), (25, 10), (25, 30), (10, 30)])
    solid = without(solid, *[bar((x, y, -1), Z, 9, 20) for x, y, _ in on_circle(6, 38)])
    solid = rounded(solid, 3, lambda p: _near(p[2], 10) and _near(math.hypot(p[0], p[1]), 25))
    return chamfered(solid, 1, lambda p: _near(p[2], 30))


def clamp() -> Any:
    """A block with a slit into its bore, and a counterbored screw across the slit."""
    solid = without(box(60, 30, 40), bar((30, -1, 20), Y, 20, 40), box(40, 40, 2, (28, -1, 19)))
    return without(solid, turned([(0, 1), (5, 1), (5, -6), (2.75, -6), (2.75, -50), (0, -50)], (50, 15, 40)))


def shaft() -> Any:
    """A stepped shaft with a ring groove."""
    return turned([(0, 0), (10, 0), (10, 20), (9, 20), (9, 22), (10, 22), (10, 40), (15, 40), (15, 60), (8, 60),
                   (8, 80), (0, 80)])


def ribbed() -> Any:
    """Two legs with a three-sided rib between."""
    return fused(box(60, 40, 6), box(6, 40, 50), prism([(6, 18, 6), (40, 18, 6), (6, 18, 40)], (0, 4, 0)))


def on_slope() -> Any:
    """A counterbored hole square to a slanting face."""
    solid = prism([(0, 0, 0), (60, 0, 0), (60, 0, 20), (0, 0, 40)], (0, 40, 0))
    up = (20 / math.hypot(20, 60), 0.0, 60 / math.hypot(20, 60))
    tool = [(0, 3), (6, 3), (6, -5), (3.3, -5), (3.3, -60), (0, -60)]
    return without(solid, turned(tool, (30, 20, 30), up, (up[2], 0.0, -up[0])))


def round_slot(open_end: bool, deep: float) -> Any:
    """A slot with round ends, or with one of them open."""
    solid = fused(box(41 if open_end else 20, 8, 30, (20, 16, 10 - deep)), bar((20, 20, 10 - deep), Z, 8, 30),
                  *([] if open_end else [bar((40, 20, 10 - deep), Z, 8, 30)]))
    return without(box(60, 40, 10), solid)


def drilled(*outlines: Sequence[tuple[float, float]], size: Point = (40, 40, 40)) -> Any:
    """A block with tools turned into its top, side by side; heights count from the bottom."""
    places = [(10.0 + 20 * (k % 2), 10.0 + 20 * (k // 2), 0.0) for k in range(len(outlines))]
    if len(outlines) == 1:
        places = [(size[0] / 2, size[1] / 2, 0.0)]
    return without(box(*size), *[turned(line, at) for line, at in zip(outlines, places, strict=True)])


def halves() -> Any:
    """A plate whose hole is two half rounds, as two solids grown together leave it."""
    pieces = [without(box(20, 40, 10, (x, 0, 0)), bar((20, 20, -1), Z, 10, 20)) for x in (0, 20)]
    return BRepAlgoAPI_Fuse(*pieces).Shape()


CROSS = (bar((20, 20, -1), Z, 12, 50), bar((-1, 20, 20), X, 6, 50))
HEX = tuple((20 + 8 * math.cos(math.pi / 3 * k), 20 + 8 * math.sin(math.pi / 3 * k), 10.0) for k in range(6))
_BRACKET: tuple[Wanted, ...] = (
    ("hole", 4, {"diameter": 6.6, "depth": 6, "through": True}), ("hole", 1, {"diameter": 10, "through": True}),
    ("fillet", 2, {"radius": 8}), ("step", 1, {"floor_radius": 5, "floor": 6, "wall": 6}))
_FLANGE: tuple[Wanted, ...] = (
    ("hole", 6, {"diameter": 9, "depth": 10, "through": True}),
    ("hole", 1, {"diameter": 20, "countersink_diameter": 22, "through": True}),
    ("boss", 1, {"diameter": 100}), ("boss", 1, {"diameter": 50}), ("chamfer", 1, {"width": 1, "angle": 45}),
    ("step", 1, {"floor_radius": 3}))
#: name -> (what makes it, the features that it has: all of them, the stock's own sides aside)
SHAPES: dict[str, tuple[Callable[[], Any], tuple[Wanted, ...]]] = {
    "bracket": (bracket, _BRACKET),
    "bracket, askew in its file": (lambda: moved(bracket(), 33, (0.3, 0.5, 0.8), (3, 4, 5)), _BRACKET),
    "bracket, every face a spline": (lambda: splined(bracket()), _BRACKET),
    "flange": (flange, _FLANGE),
    "flange, every face a spline": (lambda: splined(flange()), _FLANGE),
    "bracket with a rib": (ribbed, (("step", 1, {"floor": 6, "wall": 4}), ("ramp", 1, {"angle": 45}))),
    "clamp block": (clamp, (
        ("hole", 1, {"diameter": 20, "open": True}),
        ("hole", 1, {"diameter": 5.5, "depth": 40, "counterbore_diameter": 10, "counterbore_depth": 6}),
        ("slot", 1, {"width": 2, "length": 30, "through": True, "open": True}))),
    "shaft with a groove": (shaft, (
        ("groove", 1, {"diameter": 18, "width": 2, "reached": True}), ("boss", 2, {"diameter": 20}),
        ("boss", 1, {"diameter": 30}), ("boss", 1, {"diameter": 16}), ("step", 2, {}))),
    "groove in a face": (lambda: without(box(60, 60, 20), bar((30, 30, -1), Z, 20, 30), turned(
        [(20, 21), (23, 21), (23, 17.5), (20, 17.5)], (30, 30, 0))), (
        ("hole", 1, {"diameter": 20, "through": True}),
        ("groove", 1, {"diameter": 46, "inner_diameter": 40, "width": 3, "depth": 2.5, "reached": True}))),
    "groove in a bore": (lambda: without(box(60, 60, 40), bar((30, 30, -1), Z, 30, 50), turned(
        [(10, 20), (17.5, 20), (17.5, 24), (10, 24)], (30, 30, 0))), (
        ("hole", 1, {"diameter": 30, "depth": 40, "through": True, "reached": True}),
        ("groove", 1, {"diameter": 35, "width": 4, "depth": 2.5, "reached": False}))),
    "relief at the bottom": (lambda: drilled([(0, 41), (6, 41), (6, 14), (7, 14), (7, 10), (0, 10)]), (
        ("hole", 1, {"diameter": 12, "depth": 30, "through": False, "reached": True}),
        ("groove", 1, {"diameter": 14, "width": 4}))),
    "dovetail": (lambda: without(box(60, 40, 20), prism(
        [(20, -1, 20), (40, -1, 20), (46, -1, 10), (14, -1, 10)], (0, 42, 0))), (
        ("slot", 1, {"width": 20, "inner_width": 32, "depth": 10, "through": True, "open": True}),)),
    "T-slot": (lambda: without(box(60, 40, 30), box(10, 42, 20, (25, -1, 15)), box(20, 42, 8, (20, -1, 10))), (
        ("slot", 1, {"width": 10, "inner_width": 20, "depth": 20, "length": 40, "through": True}),)),
    "vee": (lambda: without(box(60, 40, 30), prism([(10, -1, 31), (50, -1, 31), (30, -1, 11)], (0, 42, 0))), (
        ("slot", 1, {"width": 38, "depth": 19, "angle": 90, "through": True}),)),
    "crossing holes": (lambda: without(box(40, 40, 40), *CROSS), (
        ("hole", 1, {"diameter": 6, "depth": 40, "through": True}), ("hole", 1, {"diameter": 12, "depth": 40}))),
    "crossing holes of one size": (lambda: without(box(40, 40, 40), bar((20, 20, -1), Z, 8, 50),
                                                   bar((-1, 20, 20), X, 8, 50)), (
        ("hole", 2, {"diameter": 8, "depth": 40, "through": True}),)),
    "counterbore square to a slope": (on_slope, (
        ("hole", 1, {"diameter": 6.6, "counterbore_diameter": 12, "counterbore_depth": 5, "through": True}),
        ("ramp", 1, {"angle": math.degrees(math.atan2(20, 60))}))),
    "stepped bore": (lambda: drilled(
        [(0, 51), (15, 51), (15, 40), (10, 40), (10, 20), (6, 20), (6, -1), (0, -1)], size=(60, 60, 50)), (
        ("hole", 1, {"diameter": 12, "counterbore_diameter": 30, "counterbore_depth": 10, "through": True}),)),
    "countersunk on both sides": (lambda: drilled(
        [(0, 11), (6, 11), (5, 10), (3, 8), (3, 2), (5, 0), (6, -1), (0, -1)], size=(40, 40, 10)), (
        ("hole", 1, {"diameter": 6, "countersink_diameter": 10, "far_countersink_diameter": 10, "reached": True}),)),
    "counterbored on both sides": (lambda: drilled(
        [(0, 21), (6, 21), (6, 15), (3, 15), (3, 4), (5, 4), (5, -1), (0, -1)], size=(40, 40, 20)), (
        ("hole", 1, {"diameter": 6, "reached": True, "through": True} | {
            f"{side}counterbore_{what}": size for side, what, size in (
                ("", "diameter", 12), ("", "depth", 5), ("far_", "diameter", 10), ("far_", "depth", 4))}),)),
    "bottoms of holes": (lambda: drilled(
        [(0, 41), (4, 41), (4, 20), (0, 20)], [(0, 41), (3, 41), (3, 10), (0, 10 - 3 / math.tan(math.radians(59)))],
        [(0, 41), (5, 41), (5, 39.5), (2.5, 37), (2.5, 12), (0, 12 - 2.5 / math.tan(math.radians(59)))],
        [(0, 41), (5, 41), (5, 30), (3, 28), (3, -1), (0, -1)]), (
        ("hole", 1, {"diameter": 8, "depth": 20, "through": False}),
        ("hole", 1, {"diameter": 6, "depth": 30, "cone_angle": 118, "through": False}),
        ("hole", 1, {"diameter": 5, "depth": 28, "countersink_diameter": 10, "countersink_angle": 90}),
        ("hole", 1, {"diameter": 6, "counterbore_diameter": 10, "counterbore_depth": 10, "seat_angle": 90}))),
    "taper bore": (lambda: drilled([(0, 41), (10, 41), (8, -1), (0, -1)]), (
        ("hole", 1, {"taper_angle": 2 * math.degrees(math.atan2(2, 42)), "through": True}),)),
    "hole in halves": (halves, (("hole", 1, {"diameter": 10, "through": True}),)),
    "slot through, round ends": (lambda: round_slot(False, 11), (
        ("slot", 1, {"length": 28, "width": 8, "through": True, "open": False}),)),
    "slot with round ends": (lambda: round_slot(False, 5), (
        ("slot", 1, {"length": 28, "width": 8, "depth": 5, "through": False, "open": False}),)),
    "slot open at one end": (lambda: round_slot(True, 5), (
        ("slot", 1, {"length": 44, "width": 8, "depth": 5, "through": False, "open": True}),)),
    "pocket with a floor radius": (lambda: without(box(80, 60, 40), rounded(rounded(
        box(70, 50, 40, (5, 5, 5)), 6, lambda p: 6 < p[2] < 44), 2, lambda p: _near(p[2], 5))), (
        ("pocket", 1, {"corner_radius": 6, "floor_radius": 2, "wall": 5, "floor": 5}),)),
    "pocket with an island": (lambda: without(box(80, 60, 20), without(
        box(60, 40, 20, (10, 10, 8)), box(20, 15, 30, (30, 20, 0)))), (
        ("pocket", 1, {"length": 60, "width": 40, "depth": 12, "floor": 8}),)),
    "pocket in a pocket": (lambda: without(
        box(60, 60, 30), box(40, 40, 20, (10, 10, 20)), box(20, 20, 30, (20, 20, 10))), (
        ("pocket", 1, {"length": 40, "depth": 10}), ("pocket", 1, {"length": 20, "depth": 10}))),
    "six-sided pocket": (lambda: without(box(40, 40, 20), prism(HEX, (0, 0, 20))), (("pocket", 1, {"depth": 10}),)),
    "thin box": (lambda: without(box(60, 40, 20), box(56.6, 36, 19, (1.7, 2, 1.5))), (
        ("pocket", 1, {"wall": 1.7, "floor": 1.5}),)),
    "edges all round": (lambda: chamfered(without(box(60, 40, 20), bar((30, 20, -1), Z, 10, 40)), 1,
                                          lambda p: _near(p[2], 20)), (
        ("chamfer", 1, {"width": 1, "angle": 45}), ("hole", 1, {"diameter": 10, "countersink_diameter": 12}))),
    "rounded all over": (lambda: rounded(box(60, 40, 20), 3, lambda p: p[2] > 0.1), (("fillet", 1, {"radius": 3}),)),
}


def write(shape: Any, path: Path) -> None:
    """The shape as a STEP file."""
    writer = STEPControl_Writer()
    writer.Transfer(shape, STEPControl_AsIs)
    writer.Write(str(path))


def missing(features: Sequence[Any], wanted: Sequence[Wanted]) -> list[str]:
    """What the features lack of what is wanted, and what they have beyond it, in words; the stock's sides aside.

    Args:
        features: as recognised.
        wanted: all that there should be.
    """
    left, out = [f for f in features if f.kind != "stock"], []
    for kind, count, sizes in wanted:
        fitting = [f for f in left if f.kind == kind and all(_has(f, key, value) for key, value in sizes.items())]
        if len(fitting) < count:
            out.append(f"{count} {kind} {sizes}: {len(fitting)} found")
        left = [f for f in left if f not in fitting[:count]]
    return out + [f"{f.kind} {f.size} too many" for f in left]


def _has(feature: Any, key: str, value: float | bool) -> bool:
    if key == "reached":
        return bool(feature.access) == value
    if key in ("through", "open"):
        return bool(getattr(feature, key) == value)
    return key in feature.size and _near(feature.size[key], value)
