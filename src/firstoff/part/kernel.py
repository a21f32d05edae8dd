"""The geometry kernel's side of reading: a STEP file to solids whose faces stand in the file's order.

Only the worker imports this. Kernel objects have no types of their own here (Any).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.BRepGProp import BRepGProp
from OCP.collections import IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher as AncestorMap
from OCP.collections import Sequence_TCollection_AsciiString
from OCP.gp import gp_Trsf
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPControl import STEPControl_Reader
from OCP.StepShape import StepShape_BrepWithVoids, StepShape_ManifoldSolidBrep
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_SOLID
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS

from firstoff.errors import FileError, ModelError
from firstoff.part import exchange, products, sewing, step_text
from firstoff.part.frames import Frame

LARGEST = 1e6                            # no part is longer than this: a number of the file is wrong [mm]
SEWN = "faces that only lay side by side were sewn into a solid"
ACCURACY = 1e-6                          # share by which an integrated volume may be off [1]
Place = tuple[int, int]                  # (which solid of the text, which face of its shell)
_LAST: Place = (10**9, 10**9)


@dataclass(frozen=True)
class Solid:
    """One solid of the kernel, its faces in the order of the text, their names, its volume [mm3].

    `source` is its place among the solids of the text, where an assembly may use one several times.
    """

    shape: Any
    faces: tuple[Any, ...]
    labels: tuple[str, ...]
    volume: float
    source: int = 0


@dataclass(frozen=True)
class Loaded:
    """What the file holds: its solids, the length unit it names, and remarks for the person."""

    solids: tuple[Solid, ...]
    unit: str
    remarks: tuple[str, ...]


def load(path: Path, only: str | None = None) -> Loaded:
    """The solids of a STEP file; the kernel turns every length into mm.

    Args:
        path: the STEP file.
        only: name or number (from 1) of the one solid that is wanted; None for all.

    Raises:
        FileError: if the kernel cannot read the file as STEP.
        ModelError: if no closed solid comes out of it.
        NameUnknown: if it holds no solid of that name.
    """
    reader = STEPControl_Reader()
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        raise FileError("cannot be read as STEP", where=path.name, right="export it again as STEP AP214 or AP242")
    unit = _unit(reader, path)
    reader.TransferRoots()
    whole = reader.OneShape()
    found = [] if whole.IsNull() else list(explore(whole, TopAbs_SOLID))
    loose = not found and not whole.IsNull()
    if loose and (closed := sewing.closed(whole, list(explore(whole, TopAbs_FACE)))) is not None:
        found = [closed[0]]
    if not found:
        why = step_text.why_no_solid(path)
        if why == step_text.NOT_BUILT and not whole.IsNull() and (free := _free_edges(whole)):
            why = f"the shell of its solid is open: {free} edges border one face only"
        raise ModelError(why, where=path.name, right="sew the faces into one closed solid and export it again")
    solids, unplaced = _in_text_order(found, _Places(reader))
    for solid in solids:
        _need_size(solid.shape, path)
    remarks = [SEWN] if loose else []
    if unplaced and not loose:
        remarks.append(f"{unplaced} faces could not be matched with the text; they are numbered last")
    sewn = tuple(_sewn(solid) for solid in solids)
    if any(new is not old for new, old in zip(sewn, solids, strict=True)):
        solids, remarks = sewn, [*remarks, SEWN]
    if only is not None:
        names = products.names(exchange.read(path.read_bytes()), [solid.source for solid in solids])
        solids = (solids[products.chosen(only, names, path.name)],)
    return Loaded(solids, unit, tuple(remarks))


def _sewn(solid: Solid) -> Solid:
    """The solid with its faces sewn together where they only lie side by side; the same where they need not be."""
    if not _free_edges(solid.shape) or (closed := sewing.closed(solid.shape, list(solid.faces))) is None:
        return solid
    return replace(solid, shape=closed[0], faces=closed[1], volume=abs(_volume(closed[0])))


def turned(solid: Solid, frame: Frame) -> Solid:
    """The solid laid along its own directions, its faces in the same order."""
    x, y, z = frame
    move = gp_Trsf()
    move.SetValues(*x, 0.0, *y, 0.0, *z, 0.0)
    work = BRepBuilderAPI_Transform(solid.shape, move, True)
    before, after = (list(explore(shape, TopAbs_FACE)) for shape in (solid.shape, work.Shape()))
    order = [next(k for k, known in enumerate(before) if known.IsSame(face)) for face in solid.faces]
    return replace(solid, shape=work.Shape(), faces=tuple(TopoDS.Face(after[k]) for k in order))


def _need_size(shape: Any, path: Path) -> None:
    """Refuse what is out of all proportion, before it is measured point by point."""
    box = Bnd_Box()
    BRepBndLib.Add_s(shape, box)
    corners = [] if box.IsVoid() else [box.CornerMin(), box.CornerMax()]
    sides = [b - a for a, b in zip(*((p.X(), p.Y(), p.Z()) for p in corners), strict=True)] if corners else [math.nan]
    if not all(math.isfinite(side) and side < LARGEST for side in sides):
        raise ModelError(
            "a solid in it has no size that a part can have: a number in the file is wrong", where=path.name,
            right=f"lengths under {LARGEST / 1000:g} m; export it again",
        )


def _free_edges(shape: Any) -> int:
    """How many edges of a shape border one face only (seams and the poles of balls aside)."""
    ancestors = AncestorMap()
    TopExp.MapShapesAndAncestors_s(shape, TopAbs_EDGE, TopAbs_FACE, ancestors)
    free = 0
    for k in range(1, ancestors.Size() + 1):
        edge, owners = TopoDS.Edge(ancestors.FindKey(k)), list(ancestors.FindFromIndex(k))
        seam = len(owners) > 0 and BRep_Tool.IsClosed_s(edge, TopoDS.Face(owners[0]))
        free += len(owners) == 1 and not seam and not BRep_Tool.Degenerated_s(edge)
    return free


def explore(shape: Any, kind: Any) -> Iterator[Any]:
    """The shape's parts of one kind, in the kernel's order."""
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def _unit(reader: Any, path: Path) -> str:
    names = tuple(Sequence_TCollection_AsciiString() for _ in range(3))
    reader.FileUnits(*names)
    units = {step_text.short_unit(names[0].Value(k).ToCString()) for k in range(1, names[0].Length() + 1)}
    if "" in units:
        units = units - {""} | {step_text.unit_by_text(path.read_text(encoding="latin-1"))}
    if len(units) > 1:
        raise ModelError(
            f"lengths in several units ({', '.join(sorted(units))})", where=path.name, right="export it in one unit"
        )
    if not units or "" in units:
        raise ModelError("names no unit of length", where=path.name, right="export it in mm")
    return units.pop()


class _Places:
    """Where each face's entity stands: solid by solid, as CLOSED_SHELL lists them.

    The binding's own numbers of entities are all 0, so entities are told apart as objects, which are held here.
    """

    def __init__(self, reader: Any) -> None:
        model, self.held, self.places = reader.StepModel(), [], {}
        self.transfer = reader.WS().TransferReader()
        solid = 0
        for number in range(1, model.NbEntities() + 1):
            entity = model.Value(number)
            if isinstance(entity, StepShape_ManifoldSolidBrep):
                for position, face in enumerate(_faces_of_text(entity)):
                    self.held.append(face)
                    self.places[id(face)] = (solid, position)
                solid += 1

    def of(self, face: Any) -> tuple[Place | None, str]:
        """The place of a kernel's face in the text, and the name that the text gives it."""
        for shape, mode in ((face, 1), (face, -1), (face.Located(TopLoc_Location()), -1)):
            entity = self.transfer.EntityFromShapeResult(shape, mode)
            place = self.places.get(id(entity)) if entity is not None else None
            if place is not None:
                name = entity.Name()
                return place, name.ToCString() if name is not None else ""
        return None, ""


def _faces_of_text(brep: Any) -> Iterator[Any]:
    shells = [brep.Outer()]
    if isinstance(brep, StepShape_BrepWithVoids):
        shells += [brep.VoidsValue(k) for k in range(1, brep.NbVoids() + 1)]
    for shell in shells:
        listed = shell if hasattr(shell, "NbCfsFaces") else None
        for k in range(1, listed.NbCfsFaces() + 1 if listed is not None else 1):
            yield shell.CfsFacesValue(k)


def _in_text_order(found: list[Any], places: _Places) -> tuple[tuple[Solid, ...], int]:
    """The solids and their faces in the order of the text; and how many faces found no place there."""
    unplaced = 0
    keyed: list[tuple[Place, int, Solid]] = []
    for order, shape in enumerate(found):
        volume = _volume(shape)
        if volume < 0:
            shape, volume = shape.Reversed(), -volume
        rows: list[tuple[Place, int, Any, str]] = []
        for index, face in enumerate(explore(shape, TopAbs_FACE)):
            place, label = places.of(face)
            unplaced += place is None
            rows.append((place or _LAST, index, TopoDS.Face(face), label))
        rows.sort(key=lambda row: row[:2])
        solid = Solid(shape, tuple(row[2] for row in rows), tuple(row[3] for row in rows), volume, rows[0][0][0])
        keyed.append((rows[0][0], order, solid))
    keyed.sort(key=lambda row: row[:2])
    return tuple(row[2] for row in keyed), unplaced


def _volume(shape: Any) -> float:
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties, ACCURACY)
    return float(properties.Mass())
