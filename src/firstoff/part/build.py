"""The digest of a model file, made with the kernel. Only the worker (and tests) call this."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np

from firstoff.errors import ModelError
from firstoff.part import access, features, kernel, topology
from firstoff.part.shapes import Edge, Face, Part, Vector


def digest(path: Path) -> Part:
    """Faces, edges, features and access of the solids of a STEP file.

    Raises:
        FileError: if the kernel cannot read the file.
        ModelError: if it holds no closed solid.
    """
    loaded = kernel.load(path)
    faces: list[Face] = []
    edges: list[Edge] = []
    meshes = []
    for number, solid in enumerate(loaded.solids):
        first = len(faces)
        more, between = topology.faces_and_edges(solid, number, first, path.name)
        faces, edges = faces + more, edges + between
        meshes.append(topology.triangles(solid, first))
    volume = sum(solid.volume for solid in loaded.solids)
    if not volume > 0.0:
        raise ModelError("the solid has no volume", where=path.name, right="export one closed solid body")
    found = features.recognise(faces, edges)
    found = access.add(found, faces, np.concatenate([m[0] for m in meshes]), np.concatenate([m[1] for m in meshes]))
    low, high = _box(faces)
    return Part(
        name=path.stem, file=path.name, sha256=hashlib.sha256(path.read_bytes()).hexdigest(), unit=loaded.unit,
        solids=len(loaded.solids), low=low, high=high, volume=volume, faces=tuple(faces), edges=tuple(edges),
        features=found, remarks=(*loaded.remarks, *_remarks(loaded.unit, low, high, len(loaded.solids))),
    )


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
