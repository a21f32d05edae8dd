"""From where a tool reaches a feature: lines of sight from points on its faces, against the part's triangles.

Coarse on purpose: a line has no thickness. Whether a tool of some diameter and length fits is for the
removal of material and the checks; what is hidden here is hidden for every tool.

Source: own (lines of sight by the intersection of rays and triangles, from their plane equations).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from firstoff.part.shapes import Face, Feature, Vector
from firstoff.part.vectors import AXES, clean, distinct, minus

LIFT = 2.0                               # how many chords above a curved face a line of sight begins [1]
FLAT_LIFT = 1e-3                         # how far above a flat one, so that acute corners do not hide it [mm]
FACING = -1e-2                           # cosine from which a face shows: its flank, and chords of a bore [1]
POINTS = 24                              # lines of sight for a face, in a part of few faces
FEW_POINTS = 6                           # and in a part of many
MANY_FACES = 300
_BLOCK = 4_000_000                       # rays times triangles at once, for memory


def add(
    features: Iterable[Feature], faces: Iterable[Face], corners: np.ndarray, owner: np.ndarray, chord: float
) -> tuple[Feature, ...]:
    """The features with the directions from which a tool reaches all their faces.

    Args:
        features: the features of the part.
        faces: its faces.
        corners: its triangles, turning left seen from outside [mm], shape (T, 3, 3).
        owner: the face of each triangle [1], shape (T,).
        chord: how far the triangles may leave the faces [mm].

    Returns:
        The features with `access` filled: unit vectors towards the tool, the feature's own axis first.
    """
    by_number = {face.number: face for face in faces}
    flat = np.isin(owner, [number for number, face in by_number.items() if face.kind == "plane"])
    lift = np.where(flat, FLAT_LIFT, LIFT * chord)
    sight = _Sight(corners, owner, FEW_POINTS if len(by_number) > MANY_FACES else POINTS, lift)
    return tuple(replace(feature, access=_open_ways(feature, by_number, sight)) for feature in features)


def _open_ways(feature: Feature, faces: dict[int, Face], sight: _Sight) -> tuple[Vector, ...]:
    ways = [] if feature.axis is None else [feature.axis, minus(feature.axis)]
    ways += [clean(faces[n].normal) for n in feature.faces if faces[n].kind == "plane"]
    return tuple(way for way in distinct([*ways, *AXES]) if sight.reaches(feature.faces, way))


class _Sight:
    """The part's triangles, and points just above each face to look from."""

    def __init__(self, corners: np.ndarray, owner: np.ndarray, points: int, lift: np.ndarray) -> None:
        self.corners = corners
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        areas = np.linalg.norm(normals, axis=1)
        self.normals = normals / np.maximum(areas, 1e-12)[:, None]
        self.areas, self.owner, self.points, self.lift = areas, owner, points, lift
        self.flattened: dict[Vector, tuple[np.ndarray, np.ndarray]] = {}

    def reaches(self, faces: Iterable[int], way: Vector) -> bool:
        """Whether every sampled point of these faces sees out of the part along `way`."""
        start, normal = self._starts(faces)
        towards = np.array(way)
        if not len(start) or (normal @ towards < FACING).any():
            return False
        return not self._hidden(start, towards)

    def _starts(self, faces: Iterable[int]) -> tuple[np.ndarray, np.ndarray]:
        rows = np.concatenate([self._rows(n) for n in faces])
        triangles = self.corners[rows]
        inside = [np.einsum("k,tkc->tc", np.array(w), triangles) for w in _WITHIN]
        normal, lift = self.normals[rows], self.lift[rows, None]
        return np.concatenate([p + lift * normal for p in inside]), np.concatenate([normal] * len(_WITHIN))

    def _rows(self, face: int) -> np.ndarray:
        """The largest triangles of a face, but spread: every k-th in order of size."""
        own = np.flatnonzero((self.owner == face) & (self.areas > 1e-9))
        order = own[np.argsort(-self.areas[own], kind="stable")]
        return order[:: max(len(order) // self.points, 1)][: self.points]

    def _flat(self, way: Vector) -> tuple[np.ndarray, np.ndarray]:
        """The triangles seen along `way`: two coordinates across it and one along it; those edge-on are out."""
        if way not in self.flattened:
            towards = np.array(way)
            across = np.cross(towards, np.eye(3)[np.argmin(np.abs(towards))])
            across /= np.linalg.norm(across)
            frame = np.stack([across, np.cross(towards, across), towards], axis=1)
            broad = np.abs(self.normals @ towards) > 1e-6
            self.flattened[way] = (frame, self.corners[broad] @ frame)
        return self.flattened[way]

    def _hidden(self, start: np.ndarray, towards: np.ndarray) -> bool:
        frame, triangles = self._flat(tuple(towards.tolist()))
        eyes = start @ frame
        low, high = triangles[:, :, :2].min(axis=1), triangles[:, :, :2].max(axis=1)
        top = triangles[:, :, 2].max(axis=1)
        step = max(_BLOCK // max(len(triangles), 1), 1)
        for begin in range(0, len(eyes), step):
            part = eyes[begin: begin + step]
            near = (
                (part[:, None, 0] > low[None, :, 0]) & (part[:, None, 0] < high[None, :, 0])
                & (part[:, None, 1] > low[None, :, 1]) & (part[:, None, 1] < high[None, :, 1])
                & (part[:, None, 2] < top[None, :])
            )
            eye, triangle = np.nonzero(near)
            if len(eye) and _crosses(part[eye], triangles[triangle]).any():
                return True
        return False


_WITHIN = ((1 / 3, 1 / 3, 1 / 3), (0.8, 0.1, 0.1), (0.1, 0.8, 0.1), (0.1, 0.1, 0.8))


def _crosses(eyes: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Whether the line upwards from each eye meets its triangle above the eye."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    ab, ac, ae = b - a, c - a, eyes - a
    turn = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    safe = np.where(np.abs(turn) < 1e-12, 1.0, turn)
    u = (ae[:, 0] * ac[:, 1] - ae[:, 1] * ac[:, 0]) / safe
    v = (ab[:, 0] * ae[:, 1] - ab[:, 1] * ae[:, 0]) / safe
    height = a[:, 2] + u * ab[:, 2] + v * ac[:, 2]
    inside: np.ndarray = (np.abs(turn) >= 1e-12) & (u > 0) & (v > 0) & (u + v < 1) & (height > eyes[:, 2] + 1e-6)
    return inside
