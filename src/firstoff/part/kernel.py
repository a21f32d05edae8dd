"""The geometry kernel's side of reading: a STEP file to solids whose faces stand in the file's order.

Only the worker imports this. Kernel objects have no types of their own here (Any).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from OCP.BRepGProp import BRepGProp
from OCP.collections import Sequence_TCollection_AsciiString
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPControl import STEPControl_Reader
from OCP.StepShape import StepShape_BrepWithVoids, StepShape_ManifoldSolidBrep
from OCP.TopAbs import TopAbs_FACE, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS

from firstoff.errors import FileError, ModelError
from firstoff.part import step_text

Place = tuple[int, int]                  # (which solid of the text, which face of its shell)


@dataclass(frozen=True)
class Solid:
    """One solid of the kernel, its faces in the order of the text, their names, its volume [mm3]."""

    shape: Any
    faces: tuple[Any, ...]
    labels: tuple[str, ...]
    volume: float


@dataclass(frozen=True)
class Loaded:
    """What the file holds: its solids, the length unit it names, and remarks for the person."""

    solids: tuple[Solid, ...]
    unit: str
    remarks: tuple[str, ...]


def load(path: Path) -> Loaded:
    """The solids of a STEP file; the kernel turns every length into mm.

    Raises:
        FileError: if the kernel cannot read the file as STEP.
        ModelError: if no closed solid comes out of it.
    """
    reader = STEPControl_Reader()
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        raise FileError("cannot be read as STEP", where=path.name, right="export it again as STEP AP214 or AP242")
    unit = _unit(reader, path)
    reader.TransferRoots()
    whole = reader.OneShape()
    found = [] if whole.IsNull() else list(explore(whole, TopAbs_SOLID))
    if not found:
        raise ModelError(step_text.why_no_solid(path), where=path.name, right="export one closed solid body")
    places = _places(reader)
    solids, unplaced = _in_text_order(found, reader, places)
    remarks = [f"{unplaced} faces could not be matched with the text; they are numbered last"] if unplaced else []
    return Loaded(solids, unit, tuple(remarks))


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


def _places(reader: Any) -> dict[int, Place]:
    """Number of a face's entity -> its place: solid by solid, as CLOSED_SHELL lists them."""
    model, places, solid = reader.StepModel(), {}, 0
    for number in range(1, model.NbEntities() + 1):
        entity = model.Value(number)
        if not isinstance(entity, StepShape_ManifoldSolidBrep):
            continue
        for position, face in enumerate(_faces_of_text(entity)):
            places[model.Number(face)] = (solid, position)
        solid += 1
    return places


def _faces_of_text(brep: Any) -> Iterator[Any]:
    shells = [brep.Outer()]
    if isinstance(brep, StepShape_BrepWithVoids):
        shells += [brep.VoidsValue(k) for k in range(1, brep.NbVoids() + 1)]
    for shell in shells:
        listed = shell if hasattr(shell, "NbCfsFaces") else None
        for k in range(1, listed.NbCfsFaces() + 1 if listed is not None else 1):
            yield shell.CfsFacesValue(k)


def _in_text_order(found: list[Any], reader: Any, places: dict[int, Place]) -> tuple[tuple[Solid, ...], int]:
    transfer, model, unplaced = reader.WS().TransferReader(), reader.StepModel(), 0
    keyed: list[tuple[Place, int, Solid]] = []
    for order, shape in enumerate(found):
        volume = _volume(shape)
        if volume < 0:
            shape, volume = shape.Reversed(), -volume
        rows: list[tuple[Place, int, Any, str]] = []
        for index, face in enumerate(explore(shape, TopAbs_FACE)):
            entity = transfer.EntityFromShapeResult(face, 1)
            number = model.Number(entity) if entity is not None else 0
            unplaced += number not in places
            name = entity.Name() if number in places else None
            label = name.ToCString() if name is not None else ""
            rows.append((places.get(number, (len(places), len(places))), index, TopoDS.Face(face), label))
        rows.sort(key=lambda row: row[:2])
        keyed.append((rows[0][0], order, Solid(shape, tuple(r[2] for r in rows), tuple(r[3] for r in rows), volume)))
    keyed.sort(key=lambda row: row[:2])
    return tuple(row[2] for row in keyed), unplaced


def _volume(shape: Any) -> float:
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return float(properties.Mass())
