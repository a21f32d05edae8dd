"""The digest of a model file, made with the kernel. Only the worker (and tests) call this."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np

from firstoff.errors import ModelError
from firstoff.part import (
    access,
    exchange,
    features,
    frames,
    graph,
    kernel,
    limits,
    patterns,
    products,
    thickness,
    topology,
)
from firstoff.part.shapes import Edge, Face, Feature, Part, Vector

CHORD = 0.02                             # finest triangles for lines of sight [mm]
SHARE = 1e-4                             # of the part's diagonal, where that is coarser [1]


def _quiet(_what: str, _share: float) -> None:
    """Nobody is listening."""


def digest(path: Path, only: str | None = None, tell: Callable[[str, float], None] = _quiet) -> Part:
    """Faces, edges, features, access and limits of the solids of a STEP file, each solid on its own.

    Args:
        path: the STEP file.
        only: name or number (from 1) of the one solid that is wanted; None for all.
        tell: told what is under way and the share done, by the times of middling models.

    Raises:
        FileError: if the kernel cannot read the file.
        ModelError: if it holds no closed solid.
        NameUnknown: if it holds no solid of that name.
    """
    loaded = kernel.load(path, only)
    faces: list[Face] = []
    edges: list[Edge] = []
    features_of: list[Feature] = []
    for number, solid in enumerate(loaded.solids):
        tell("looking for its features", 0.5 + 0.15 * number / len(loaded.solids))
        own, between = topology.faces_and_edges(solid, number, len(faces), path.name)
        features_of += _recognised(solid, own, between, path.name)
        faces, edges = faces + own, edges + between
    volume = sum(solid.volume for solid in loaded.solids)
    if not volume > 0.0:
        raise ModelError("the solid has no volume", where=path.name, right="export one closed solid body")
    low, high = _box(faces)
    chord = max(CHORD, SHARE * math.dist(low, high))
    tell("looking from where they are reached", 0.65)
    found = _seen(loaded.solids, features.named(features_of), faces, edges, chord)
    content = path.read_bytes()
    text, sources = exchange.read(content), tuple(solid.source for solid in loaded.solids)
    return limits.add(Part(
        name=path.stem, file=path.name, sha256=hashlib.sha256(content).hexdigest(), unit=loaded.unit,
        solids=len(loaded.solids), low=low, high=high, volume=volume, faces=tuple(faces), edges=tuple(edges),
        features=patterns.noted(found), patterns=patterns.find(found),
        remarks=(*loaded.remarks, *_remarks(loaded.unit, low, high, len(loaded.solids))),
        names=products.names(text, sources), schema=products.schema(text),
    ), limits.told(text, sources, tuple(len(solid.faces) for solid in loaded.solids)))


def _recognised(solid: kernel.Solid, faces: list[Face], edges: list[Edge], where: str) -> list[Feature]:
    """The features of one solid; one that lies askew in its file is looked at along its own directions."""
    frame = frames.own(faces)
    if frame is None:
        return list(features.recognise(faces, edges))
    upright = topology.faces_and_edges(kernel.turned(solid, frame), faces[0].solid, faces[0].number, where)
    return [frames.turned_back(feature, frame) for feature in features.recognise(*upright)]


def _seen(
    solids: tuple[kernel.Solid, ...], found: Iterable[Feature], faces: list[Face], edges: list[Edge], chord: float
) -> list[Feature]:
    """The features, in their order, with the directions from which they are seen past their own solid.

    And with the thinnest wall and floor that they leave of it.
    """
    first, seen = 0, {}
    found, whole = list(found), graph.make(faces, edges)
    for number, solid in enumerate(solids):
        own = [face for face in faces if face.solid == number]
        features_here = [feature for feature in found if faces[feature.faces[0]].solid == number]
        corners, owner = topology.triangles(solid, first, chord)
        here = access.add(features_here, own, corners, owner, chord)
        seen.update({feature.id: feature for feature in thickness.add(here, whole, corners, owner)})
        first += len(solid.faces)
    return [seen[feature.id] for feature in found]


def _box(faces: list[Face]) -> tuple[Vector, Vector]:
    low, high = zip(*((face.low, face.high) for face in faces), strict=True)
    return tuple(np.min(low, axis=0).tolist()), tuple(np.max(high, axis=0).tolist())


def _remarks(unit: str, low: Vector, high: Vector, solids: int) -> list[str]:
    out = []
    if unit != "mm":
        names = {"m": "metres", "in": "inches", "cm": "centimetres", "ft": "feet"}
        longest = max(b - a for a, b in zip(low, high, strict=True))
        out.append(f"the file is in {names.get(unit, unit)}: read as {longest:.6g} mm long")
    if solids > 1:
        out.append(f"the file holds {solids} solids; faces are numbered solid by solid")
    return out
