"""Make the example models: body, sole and cap of a small block plane, as STEP (AP214, mm).

    python scripts/make_block_plane.py [FOLDER]

X runs along the plane (its front is +X), Y across, Z up. The files come out the same every time: the header
carries a fixed date. Threads are drawn as their tap drills, as is usual in a model for the workshop.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Vec
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.TCollection import TCollection_HAsciiString
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS

PARTS = Path(__file__).resolve().parent.parent / "src" / "firstoff" / "example" / "block_plane" / "parts"
TIME_STAMP = "2025-01-01T00:00:00"
BEYOND = 1.0                             # how far a cutting solid stands out of the part [mm]
DRILL_POINT = math.radians(118.0)        # included angle of a common twist drill

Point = tuple[float, float, float]
SCREWS = ((10.0, 7.0), (10.0, 27.0), (101.0, 7.0), (101.0, 27.0))
DOWELS = ((10.0, 17.0), (101.0, 17.0))


@dataclass(frozen=True)
class Body:
    """Sizes of the body [mm, degrees]."""

    length: float = 110.0
    width: float = 34.0
    height: float = 24.0
    cheek: float = 4.2
    bed_angle: float = 22.0
    bed_foot: float = 78.0               # x where the bed meets the bottom
    front_wall: float = 92.0
    corner_radius: float = 3.0           # what a 6 mm end mill leaves
    tap_drill_m4: float = 3.3
    tap_depth_m4: float = 12.0           # drilled full diameter, for 9 of thread
    tap_drill_m5: float = 4.2
    tap_depth_m5: float = 12.0           # for 10 of thread; 1.0 of metal stays under the drill point
    cap_screw: float = 45.0              # x of the M5 hole on the bed
    dowel: float = 4.0
    throat_chamfer: float = 1.0
    edge_chamfer: float = 0.5


@dataclass(frozen=True)
class Sole:
    """Sizes of the sole [mm]."""

    length: float = 110.0
    width: float = 34.0
    thickness: float = 5.0
    mouth_back: float = 77.5
    mouth_front: float = 90.9
    mouth_width: float = 26.4
    corner_radius: float = 2.0
    clearance: float = 4.5
    countersink: float = 9.6             # at the working face, 90 degrees
    dowel: float = 4.0


@dataclass(frozen=True)
class Cap:
    """Sizes of the cap [mm]. 3.5 thick yields as a lever, on purpose; 5 is right."""

    length: float = 60.0
    width: float = 25.0
    thickness: float = 3.5
    rear_radius: float = 6.0
    dome_radius: float = 60.0
    thumbscrew: float = 20.0             # x of the M5 tapped hole
    tap_drill_m5: float = 4.2
    pivot: float = 34.0                  # x of the clearance hole over the cap screw
    clearance: float = 5.5


def body(sizes: Body = Body()) -> Any:
    """The body: throat, bed, tapped and reamed holes, chamfers."""
    solid = BRepPrimAPI_MakeBox(sizes.length, sizes.width, sizes.height).Solid()
    solid = cut(solid, _throat(sizes))
    solid = cut(solid, _throat_chamfer(sizes))
    solid = cut(solid, _long_edge(sizes, far=False), _long_edge(sizes, far=True))
    for x, y in SCREWS:
        solid = cut(solid, *drilled((x, y, 0.0), (0.0, 0.0, 1.0), sizes.tap_drill_m4, sizes.tap_depth_m4))
    for x, y in DOWELS:
        solid = cut(solid, through((x, y, 0.0), sizes.dowel, sizes.height))
    return tidy(cut(solid, *_cap_screw_hole(sizes)))


def _throat(sizes: Body) -> Any:
    """All that is above the bed, between the cheeks, behind the front wall."""
    rise = math.tan(math.radians(sizes.bed_angle))
    top, bottom = sizes.height + BEYOND, -BEYOND
    profile = [(sizes.bed_foot - z / rise, z) for z in (top, bottom)]
    profile += [(sizes.front_wall, bottom), (sizes.front_wall, top)]
    inside = _across(profile, sizes.cheek, sizes.width - sizes.cheek)
    return rounded_uprights(inside, sizes.corner_radius, lambda x, _y: math.isclose(x, sizes.front_wall))


def _throat_chamfer(sizes: Body) -> Any:
    """One plane at 45 degrees from cheek to cheek; it runs out over the round corners to the cheeks."""
    wall, top, c = sizes.front_wall, sizes.height, sizes.throat_chamfer
    back = wall - sizes.corner_radius
    profile = [(wall + c + BEYOND, top + BEYOND), (back, top + BEYOND), (back, top - c - sizes.corner_radius)]
    return _across(profile, sizes.cheek, sizes.width - sizes.cheek)


def _long_edge(sizes: Body, far: bool) -> Any:
    """The prism that breaks one of the two long outer top edges."""
    c, top = sizes.edge_chamfer, sizes.height
    side, inward = (sizes.width, -1.0) if far else (0.0, 1.0)
    corners = [
        (-BEYOND, side - inward * BEYOND, top - c - BEYOND),
        (-BEYOND, side + inward * (c + BEYOND), top + BEYOND),
        (-BEYOND, side - inward * BEYOND, top + BEYOND),
    ]
    return prism(corners, (sizes.length + 2 * BEYOND, 0.0, 0.0))


def _cap_screw_hole(sizes: Body) -> tuple[Any, Any]:
    angle = math.radians(sizes.bed_angle)
    z = (sizes.bed_foot - sizes.cap_screw) * math.tan(angle)
    into = (-math.sin(angle), 0.0, -math.cos(angle))
    place = (sizes.cap_screw, sizes.width / 2, z)
    return drilled(place, into, sizes.tap_drill_m5, sizes.tap_depth_m5)


def sole(sizes: Sole = Sole()) -> Any:
    """The sole: mouth, countersunk screw holes from the working face, dowel holes."""
    solid = BRepPrimAPI_MakeBox(sizes.length, sizes.width, sizes.thickness).Solid()
    low = (sizes.width - sizes.mouth_width) / 2
    corner = gp_Pnt(sizes.mouth_back, low, -BEYOND)
    mouth = BRepPrimAPI_MakeBox(
        corner, sizes.mouth_front - sizes.mouth_back, sizes.mouth_width, sizes.thickness + 2 * BEYOND
    ).Solid()
    solid = cut(solid, rounded_uprights(mouth, sizes.corner_radius, lambda _x, _y: True))
    for x, y in SCREWS:
        solid = cut(solid, through((x, y, 0.0), sizes.clearance, sizes.thickness))
        radius = sizes.countersink / 2
        place = gp_Ax2(gp_Pnt(x, y, -BEYOND), gp_Dir(0, 0, 1))
        solid = cut(solid, BRepPrimAPI_MakeCone(place, radius + BEYOND, 0.0, radius + BEYOND).Solid())
    for x, y in DOWELS:
        solid = cut(solid, through((x, y, 0.0), sizes.dowel, sizes.thickness))
    return tidy(solid)


def cap(sizes: Cap = Cap()) -> Any:
    """The cap: domed plate with round rear corners, a tapped and a clearance hole."""
    block = BRepPrimAPI_MakeBox(sizes.length, sizes.width, sizes.thickness).Solid()
    block = rounded_uprights(block, sizes.rear_radius, lambda x, _y: math.isclose(x, 0.0))
    centre = gp_Pnt(-BEYOND, sizes.width / 2, sizes.thickness - sizes.dome_radius)
    along = gp_Ax2(centre, gp_Dir(1, 0, 0))
    round_bar = BRepPrimAPI_MakeCylinder(along, sizes.dome_radius, sizes.length + 2 * BEYOND).Solid()
    above = BRepPrimAPI_MakeBox(
        gp_Pnt(-BEYOND / 2, -BEYOND, -BEYOND), sizes.length + BEYOND, sizes.width + 2 * BEYOND,
        sizes.thickness + 2 * BEYOND,
    ).Solid()
    solid = cut(block, cut(above, round_bar))
    for x, diameter in ((sizes.thumbscrew, sizes.tap_drill_m5), (sizes.pivot, sizes.clearance)):
        solid = cut(solid, through((x, sizes.width / 2, 0.0), diameter, sizes.thickness))
    return tidy(solid)


def cut(solid: Any, *tools: Any) -> Any:
    """The solid without the tools' space."""
    for tool in tools:
        solid = BRepAlgoAPI_Cut(solid, tool).Shape()
    return solid


def through(at: Point, diameter: float, depth: float) -> Any:
    """A round bar in z that stands out at both ends of a hole of this depth."""
    x, y, z = at
    axis = gp_Ax2(gp_Pnt(x, y, z - BEYOND), gp_Dir(0, 0, 1))
    return BRepPrimAPI_MakeCylinder(axis, diameter / 2, depth + 2 * BEYOND).Solid()


def drilled(at: Point, into: Point, diameter: float, depth: float) -> tuple[Any, Any]:
    """What a twist drill removes: full diameter to `depth`, and the cone of its point."""
    start = gp_Pnt(*(p - BEYOND * d for p, d in zip(at, into, strict=True)))
    end = gp_Pnt(*(p + depth * d for p, d in zip(at, into, strict=True)))
    way = gp_Dir(*into)
    shank = BRepPrimAPI_MakeCylinder(gp_Ax2(start, way), diameter / 2, depth + BEYOND).Solid()
    tip = diameter / 2 / math.tan(DRILL_POINT / 2)
    return shank, BRepPrimAPI_MakeCone(gp_Ax2(end, way), diameter / 2, 0.0, tip).Solid()


def prism(corners: list[Point], along: Point) -> Any:
    """A flat polygon pulled along a vector."""
    polygon = BRepBuilderAPI_MakePolygon()
    for corner in corners:
        polygon.Add(gp_Pnt(*corner))
    polygon.Close()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(polygon.Wire()).Face(), gp_Vec(*along)).Shape()


def _across(profile: list[tuple[float, float]], low: float, high: float) -> Any:
    return prism([(x, low, z) for x, z in profile], (0.0, high - low, 0.0))


def rounded_uprights(solid: Any, radius: float, wanted: Any) -> Any:
    """The solid with its vertical edges rounded where `wanted(x, y)` says so."""
    rounding, seen = BRepFilletAPI_MakeFillet(solid), set()
    explorer = TopExp_Explorer(solid, TopAbs_EDGE)
    while explorer.More():
        edge = TopoDS.Edge(explorer.Current())
        start, end = _ends(edge)
        upright = math.hypot(start[0] - end[0], start[1] - end[1]) < 1e-6
        place = (round(start[0], 6), round(start[1], 6))
        if upright and place not in seen and wanted(*place):
            seen.add(place)
            rounding.Add(radius, edge)
        explorer.Next()
    return rounding.Shape()


def _ends(edge: Any) -> tuple[Point, Point]:
    from OCP.BRepAdaptor import BRepAdaptor_Curve

    curve = BRepAdaptor_Curve(edge)
    first, last = curve.Value(curve.FirstParameter()), curve.Value(curve.LastParameter())
    return (first.X(), first.Y(), first.Z()), (last.X(), last.Y(), last.Z())


def tidy(shape: Any) -> Any:
    """One face where a cut left two in one plane; refuses a body that is not sound."""
    joined = ShapeUpgrade_UnifySameDomain(shape, True, True, False)
    joined.Build()
    if not BRepCheck_Analyzer(joined.Shape()).IsValid():
        raise RuntimeError("the solid is not valid: check the sizes")
    return joined.Shape()


def write(shape: Any, path: Path) -> None:
    """Write one solid as STEP AP214 in mm, with a fixed date."""
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetCVal_s("write.step.product.name", path.stem)
    writer.Transfer(_solid_of(shape), STEPControl_AsIs)
    header = APIHeaderSection_MakeHeader(writer.Model())
    header.SetName(TCollection_HAsciiString(path.name))
    header.SetTimeStamp(TCollection_HAsciiString(TIME_STAMP))
    header.SetOriginatingSystem(TCollection_HAsciiString("firstoff example"))
    header.SetPreprocessorVersion(TCollection_HAsciiString("firstoff example"))
    header.SetDescriptionValue(1, TCollection_HAsciiString("part of a small block plane"))
    header.SetAuthorValue(1, TCollection_HAsciiString(""))
    header.SetOrganizationValue(1, TCollection_HAsciiString(""))
    if writer.Write(str(path)) != IFSelect_RetDone:
        raise RuntimeError(f"could not write {path.name}")


def _solid_of(shape: Any) -> Any:
    from OCP.TopAbs import TopAbs_SOLID

    explorer = TopExp_Explorer(shape, TopAbs_SOLID)
    solid = explorer.Current()
    explorer.Next()
    if explorer.More():
        raise RuntimeError("the part falls into two: check the sizes")
    return solid


def main(folder: Path = PARTS) -> None:
    """Write the three models into the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, shape in (("body", body()), ("sole", sole()), ("cap", cap())):
        write(shape, folder / f"{name}.step")
        print(f"{name}.step written")


if __name__ == "__main__":
    main(*(Path(argument) for argument in sys.argv[1:2]))
