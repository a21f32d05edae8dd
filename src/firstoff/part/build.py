"""The digest of a model file, made with the kernel. Only the worker (and tests) call this."""

from __future__ import annotations

import hashlib
import math
from pathlib import Path

import numpy as np

from firstoff.errors import ModelError
from firstoff.part import access, features, kernel, topology
from firstoff.part.shapes import Edge, Face, Feature, Part, Vector

CHORD = 0.02                             # finest triangles for lines of sight [mm]
SHARE = 1e-4                             # of the part's diagonal, where that is coarser [1]


def digest(path: Path) -> Part:
    """Faces, edges, features and access of the solids of a STEP file.

    Raises:
        FileError: if the kernel cannot read the file.
        ModelError: if it holds no closed solid.
    """
    loaded = kernel.load(path)
    faces: list[Face] = []
    edges: list[Edge] = []
    for number, solid in enumerate(loaded.solids):
        first = len(faces)
        more, between = topology.faces_and_edges(solid, number, first, path.name)
        faces, edges = faces + more, edges + between
    volume = sum(solid.volume for solid in loaded.solids)
    if not volume > 0.0:
        raise ModelError("the solid has no volume", where=path.name, right="export one closed solid body")
    low, high = _box(faces)
    found = _seen(loaded.solids, features.recognise(faces, edges), faces, max(CHORD, SHARE * math.dist(low, high)))
    return Part(
        name=path.stem, file=path.name, sha256=hashlib.sha256(path.read_bytes()).hexdigest(), unit=loaded.unit,
        solids=len(loaded.solids), low=low, high=high, volume=volume, faces=tuple(faces), edges=tuple(edges),
        features=found, remarks=(*loaded.remarks, *_remarks(loaded.unit, low, high, len(loaded.solids))),
    )


def _seen(
    solids: tuple[kernel.Solid, ...], found: tuple[Feature, ...], faces: list[Face], chord: float
) -> tuple[Feature, ...]:
    """The features with the directions from which they are seen past all solids."""
    first, meshes = 0, []
    for solid in solids:
        meshes.append(topology.triangles(solid, first, chord))
        first += len(solid.faces)
    corners, owner = (np.concatenate(parts) for parts in zip(*meshes, strict=True))
    return access.add(found, faces, corners, owner, chord)


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
