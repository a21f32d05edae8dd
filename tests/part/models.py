"""Solids for the tests of this room: the three example parts, small blocks, and their STEP text read by itself."""

from __future__ import annotations

import json
import math
import os
import re
import zipfile
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from OCP.BRep import BRep_Builder
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.Interface import Interface_Static
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Compound

from firstoff.errors import ModelError
from firstoff.part import build, worker
from firstoff.part.digest import part_of
from firstoff.part.shapes import Feature, Part, Vector

ROOT = Path(__file__).resolve().parents[2]
PARTS = ROOT / "src" / "firstoff" / "example" / "block_plane" / "parts"
SHARED = Path(os.environ.get("FIRSTOFF_SHARED", str(ROOT.parent / "shared")))
NAMES = ("body", "sole", "cap")


@cache
def example(name: str) -> Part:
    """The digest of body, sole or cap, made in this process."""
    return build.digest(PARTS / f"{name}.step")


def by_worker(path: Path) -> Part:
    """What the worker would answer about a file, made in this process; its refusals are raised as ModelError."""
    out = path.with_suffix(".json")
    worker.main([str(path), str(out)])
    answer = json.loads(out.read_text(encoding="utf-8"))
    if "error" in answer:
        raise ModelError(answer["error"]["what"], where=answer["error"]["where"], right=answer["error"]["right"])
    return part_of(answer)


def of_kind(part: Part, kind: str) -> list[Feature]:
    """The part's features of one kind."""
    return [feature for feature in part.features if feature.kind == kind]


def box(length: float, width: float, height: float, at: Vector = (0.0, 0.0, 0.0)) -> Any:
    """A block with its low corner at a place."""
    return BRepPrimAPI_MakeBox(gp_Pnt(*at), length, width, height).Solid()


def bar(at: Vector, way: Vector, diameter: float, length: float) -> Any:
    """A round bar that begins at a place."""
    return BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*at), gp_Dir(*way)), diameter / 2, length).Solid()


def cone(at: Vector, way: Vector, wide: float, narrow: float, length: float) -> Any:
    """A round taper with its diameters at the beginning and the end."""
    return BRepPrimAPI_MakeCone(gp_Ax2(gp_Pnt(*at), gp_Dir(*way)), wide / 2, narrow / 2, length).Solid()


def without(solid: Any, *tools: Any) -> Any:
    """The solid with the tools cut out of it."""
    for tool in tools:
        solid = BRepAlgoAPI_Cut(solid, tool).Shape()
    return solid


def write(shape: Any, path: Path, unit: str = "MM", mode: Any = STEPControl_AsIs) -> Path:
    """The shape as a STEP file in a unit."""
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", unit)
    writer.Transfer(shape, mode)
    writer.Write(str(path))
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    return path


def assembly(path: Path) -> Path:
    """A pin (20 x 10 x 5, bored 4) used twice, the second time turned a quarter and moved, on a plate."""
    pin = without(box(20, 10, 5), bar((5, 5, -1), (0, 0, 1), 4, 10))
    turn, shift = gp_Trsf(), gp_Trsf()
    turn.SetRotation(gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1)), math.pi / 2)
    shift.SetTranslation(gp_Vec(60, 30, 0))
    whole, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(whole)
    for shape in (pin, box(100, 60, 8, (0, 0, -8)), pin.Located(TopLoc_Location(shift.Multiplied(turn)))):
        builder.Add(whole, shape)
    writer = STEPControl_Writer()
    Interface_Static.SetIVal_s("write.step.assembly", 1)
    writer.Transfer(whole, STEPControl_AsIs)
    writer.Write(str(path))
    Interface_Static.SetIVal_s("write.step.assembly", 0)
    text = path.read_text()
    for name, written in (("pin", r"[^']* \d+\.1\.1"), ("plate", r"[^']* \d+\.2")):
        text = re.sub(rf"PRODUCT\('{written}',\s*'{written}'", f"PRODUCT('7','{name}'", text)
    path.write_text(text)
    return path


def digest(shape: Any, folder: Path) -> Part:
    """The digest of a shape by way of a STEP file."""
    return build.digest(write(shape, folder / "part.step"))


def labelled(folder: Path, count: int) -> list[Path]:
    """A few of the labelled models, if they are there."""
    archive = SHARED / "models" / "labelled.zip"
    if not archive.exists():
        pytest.skip("the labelled models are not here")
    with zipfile.ZipFile(archive) as packed:
        names = sorted(packed.namelist())
        return [Path(packed.extract(name, folder)) for name in names[:: len(names) // count][:count]]


def shells(path: Path) -> list[list[tuple[str, str, str]]]:
    """(kind of surface, its text, name of the face), shell by shell, read from the text alone."""
    entities = dict(re.findall(r"#(\d+)\s*=\s*([^;]*);", path.read_text(encoding="latin-1")))
    out = []
    for body in entities.values():
        brep = re.match(r"MANIFOLD_SOLID_BREP\s*\(\s*'[^']*'\s*,\s*#(\d+)", body)
        if brep:
            faces = re.findall(r"#(\d+)", entities[brep[1]].split("(", 2)[2])
            out.append([_surface(entities, face) for face in faces])
    return out


def _surface(entities: dict[str, str], face: str) -> tuple[str, str, str]:
    name, surface = re.findall(r"ADVANCED_FACE\s*\(\s*'([^']*)'.*#(\d+)\s*,\s*\.[TF]\.", entities[face], re.DOTALL)[0]
    text = entities[surface]
    placed = re.search(r"#(\d+)", text)
    where = ""
    if placed is not None and placed[1] in entities and "AXIS2_PLACEMENT_3D" in entities[placed[1]]:
        point = re.findall(r"#(\d+)", entities[placed[1]])[0]
        where = entities[point]
    return text.split("(")[0].strip(), f"{text} {where}", name


def numbers(text: str) -> list[float]:
    """The real numbers in a piece of STEP text."""
    return [float(part) for part in re.findall(r"(?<![#\w])-?\d+\.\d*(?:[Ee][-+]?\d+)?", text)]


def cone_height(diameter: float, included: float) -> float:
    """Height of a drill point."""
    return diameter / 2 / math.tan(math.radians(included) / 2)
