"""From where a tool reaches a feature: lines of sight from points on its faces, against the part's triangles.

Coarse on purpose: a line has no thickness. Whether a tool of some diameter and length fits is for the
removal of material and the checks; what is hidden here is hidden for every tool.

Source: own (lines of sight by the intersection of rays and triangles, from their plane equations).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from firstoff.part import frames
from firstoff.part.shapes import Face, Feature, Vector
from firstoff.part.vectors import AXES, clean, distinct, dot, minus

LIFT = 2.0                               # how many chords above a curved face a line of sight begins [1]
FLAT_LIFT = 1e-3                         # how far above a flat one, so that acute corners do not hide it [mm]
FACING = -1e-2                           # cosine from which a face shows: its flank, and chords of a bore [1]
SLIVERS = 0.1                            # share of round faces that chords of their own and others may hide [1]
ACROSS = 0.1                             # cosine below which a way is across an axis [1]
POINTS = 24                              # lines of sight for a face, in a part of few faces
FEW_POINTS = 6                           # and in a part of many
MANY_FACES = 300
MOST_PAIRS = 100_000                     # of points and triangles, above which the grid is the quicker way
MOST_CELLS = 128                         # along one side of the grid of triangles seen along a way
_BLOCK = 4_000_000                       # pairs of ray and triangle at once, for memory


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
    frame = frames.own(by_number.values())
    axes = AXES if frame is None else frames.ways(frame)
    return tuple(replace(feature, access=_open_ways(feature, by_number, sight, axes)) for feature in features)


def _open_ways(
    feature: Feature, faces: dict[int, Face], sight: _Sight, axes: tuple[Vector, ...]
) -> tuple[Vector, ...]:
    ways = [] if feature.axis is None else [feature.axis, minus(feature.axis)]
    ways += [clean(faces[n].normal) for n in feature.faces if faces[n].kind == "plane"]
    starts = sight.starts(feature.faces)
    found = tuple(way for way in distinct([*ways, *axes]) if sight.reaches(starts, way))
    return found or _in_parts(feature, faces, sight, axes)


def _in_parts(
    feature: Feature, faces: dict[int, Face], sight: _Sight, axes: tuple[Vector, ...]
) -> tuple[Vector, ...]:
    """The ways that together reach a hole worked from both its ends, or what runs round the outside of the part."""
    if feature.axis is None or feature.kind not in ("hole", "groove", "boss"):
        return ()
    along = (feature.axis, minus(feature.axis))
    ways = along if feature.kind == "hole" else tuple(way for way in axes if abs(dot(way, feature.axis)) < ACROSS)
    seen = [sight.sees(feature.faces, way) for way in ways]
    if not seen or not np.logical_or.reduce(seen).all():
        return _down_the_bore(feature, faces, sight)
    return tuple(way for way, some in zip(ways, seen, strict=True) if some.any())


def _down_the_bore(feature: Feature, faces: dict[int, Face], sight: _Sight) -> tuple[Vector, ...]:
    """The axis of a blind hole whose bottom was widened afterwards, as a relief: a drill makes all but that."""
    bore = [n for n in feature.faces if faces[n].kind in ("cylinder", "cone")]
    blind = feature.kind == "hole" and not feature.through and feature.axis is not None and bore
    return (feature.axis,) if blind and feature.axis and sight.sees(bore, feature.axis).all() else ()


class _Starts(NamedTuple):
    """Points to look from, the normals there, and the share of the faces that each stands for; 1 on flats."""

    points: np.ndarray
    normals: np.ndarray
    shares: np.ndarray


class _Sight:
    """The part's triangles, and points just above each face to look from."""

    def __init__(self, corners: np.ndarray, owner: np.ndarray, points: int, lift: np.ndarray) -> None:
        self.corners = corners
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        areas = np.linalg.norm(normals, axis=1)
        self.normals = normals / np.maximum(areas, 1e-12)[:, None]
        self.areas, self.points, self.lift = areas, points, lift
        order = np.argsort(owner, kind="stable")
        numbers, begin = np.unique(owner[order], return_index=True)
        self.own = dict(zip(numbers.tolist(), np.split(order, begin[1:]), strict=True)) if len(order) else {}
        self.flattened: dict[Vector, _Flat] = {}

    def reaches(self, starts: _Starts, way: Vector) -> bool:
        """Whether these points see out of the part along `way`, all but the slivers of round faces."""
        away = starts.normals @ np.array(way) < FACING
        if not len(starts.points) or starts.shares[away].sum() > SLIVERS:
            return False
        away[~away] = self._flat(way).hidden(starts.points[~away])
        return bool(starts.shares[away].sum() <= SLIVERS)

    def sees(self, faces: Iterable[int], way: Vector) -> np.ndarray:
        """Which of the points on these faces look along `way` and see out of the part [1], shape (P,)."""
        starts = self.starts(faces)
        facing: np.ndarray = starts.normals @ np.array(way) >= FACING
        facing[facing] = ~self._flat(way).hidden(starts.points[facing])
        return facing

    def _flat(self, way: Vector) -> _Flat:
        if way not in self.flattened:
            self.flattened[way] = _Flat(self.corners, self.normals, np.array(way))
        return self.flattened[way]

    def starts(self, faces: Iterable[int]) -> _Starts:
        """Points just above these faces."""
        own = [self._rows(n) for n in faces]
        rows = np.concatenate(own)
        triangles = self.corners[rows]
        inside = [np.einsum("k,tkc->tc", np.array(w), triangles) for w in _WITHIN]
        normal, lift = self.normals[rows], self.lift[rows, None]
        of_face = np.concatenate([self.areas[r] / max(float(self.areas[r].sum()), 1e-12) for r in own])
        shares = np.where(lift[:, 0] > FLAT_LIFT, of_face / (len(_WITHIN) * len(own)), 1.0)
        count = len(_WITHIN)
        return _Starts(np.concatenate([p + lift * normal for p in inside]), np.concatenate([normal] * count),
                       np.tile(shares, count))

    def _rows(self, face: int) -> np.ndarray:
        """The largest triangles of a face, but spread: every k-th in order of size."""
        own = self.own.get(face, np.zeros(0, dtype=int))
        own = own[self.areas[own] > 1e-9]
        order = own[np.argsort(-self.areas[own], kind="stable")]
        spread: np.ndarray = order[:: max(len(order) // self.points, 1)][: self.points]
        return spread


class _Flat:
    """The triangles seen along a way, those edge-on left out.

    Points close together are held against the triangles about them; points spread out are looked up in a grid of
    cells across the way, so that the work grows with what lies over a point and not with the part.
    """

    def __init__(self, corners: np.ndarray, normals: np.ndarray, towards: np.ndarray) -> None:
        across = np.cross(towards, np.eye(3)[np.argmin(np.abs(towards))])
        across /= np.linalg.norm(across)
        self.frame = np.stack([across, np.cross(towards, across), towards], axis=1)
        self.triangles = corners[np.abs(normals @ towards) > 1e-6] @ self.frame
        a, b, c = (self.triangles[:, k] for k in range(3))       # corner by corner: quicker than along the axis
        self.low, self.high = np.minimum(np.minimum(a, b), c)[:, :2], np.maximum(np.maximum(a, b), c)[:, :2]
        self.top = np.maximum(np.maximum(a[:, 2], b[:, 2]), c[:, 2])
        self.cells = int(min(max(math.sqrt(len(self.low)) / 2, 1), MOST_CELLS))
        self.origin = self.low.min(axis=0, initial=0.0)
        self.cell = np.maximum((self.high.max(axis=0, initial=1.0) - self.origin) / self.cells, 1e-9)

    @cached_property
    def grid(self) -> tuple[np.ndarray, np.ndarray]:
        """The triangles over each cell, cell by cell; and where each cell's begin."""
        return self._sorted(self._cell(self.low), self._cell(self.high))

    def _cell(self, points: np.ndarray) -> np.ndarray:
        index: np.ndarray = ((points - self.origin) / self.cell).astype(int)
        inside: np.ndarray = np.minimum(np.maximum(index, 0), self.cells - 1)
        return inside

    def _sorted(self, first: np.ndarray, last: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        wide = last - first + 1
        triangle, place = _spread(wide[:, 0] * wide[:, 1])
        column = first[triangle, 0] + place % wide[triangle, 0]
        cell = column * self.cells + first[triangle, 1] + place // wide[triangle, 0]
        order = np.argsort(cell, kind="stable")
        return triangle[order], np.searchsorted(cell[order], np.arange(self.cells**2 + 1))

    def hidden(self, start: np.ndarray) -> np.ndarray:
        """Over which of the points a triangle stands [1], shape (P,)."""
        if not len(start):
            return np.zeros(0, dtype=bool)
        eyes = start @ self.frame
        low, high = eyes.min(axis=0), eyes.max(axis=0)
        near = np.flatnonzero((self.high[:, 0] > low[0]) & (self.low[:, 0] < high[0]) & (self.high[:, 1] > low[1])
                              & (self.low[:, 1] < high[1]) & (self.top > low[2]))
        if len(near) * len(eyes) > MOST_PAIRS:
            return self._hidden_by_cells(eyes)
        eye, triangle = np.repeat(np.arange(len(eyes)), len(near)), np.tile(near, len(eyes))
        crossed = _crosses(eyes[eye], self.triangles[triangle]).reshape(len(eyes), len(near))
        return np.logical_or.reduce(crossed, axis=1, initial=False, out=np.empty(len(eyes), dtype=bool))

    def _hidden_by_cells(self, eyes: np.ndarray) -> np.ndarray:
        listed, first = self.grid
        index = self._cell(eyes[:, :2])
        cell = index[:, 0] * self.cells + index[:, 1]
        begin, count = first[cell], first[cell + 1] - first[cell]
        out = np.zeros(len(eyes), dtype=bool)
        step = max(_BLOCK // max(int(count.max(initial=1)), 1), 1)
        for k in range(0, len(eyes), step):
            eye, place = _spread(count[k: k + step])
            triangle = listed[begin[k: k + step][eye] + place]
            over = self.top[triangle] > eyes[k: k + step][eye, 2]
            crossed = _crosses(eyes[k: k + step][eye[over]], self.triangles[triangle[over]])
            out[k + eye[over][crossed]] = True
        return out


def _spread(counts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Each row as often as its count says, and which of its own it is."""
    row = np.repeat(np.arange(len(counts)), counts)
    return row, np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)


_WITHIN = ((1 / 3, 1 / 3, 1 / 3), (0.8, 0.1, 0.1), (0.1, 0.8, 0.1), (0.1, 0.1, 0.8))


def _crosses(eyes: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Whether the line upwards from each eye meets its triangle above the eye."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    ab, ac, ae = b - a, c - a, eyes - a
    turn = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    divisor = np.where(np.abs(turn) < 1e-12, 1.0, turn)
    u = (ae[:, 0] * ac[:, 1] - ae[:, 1] * ac[:, 0]) / divisor
    v = (ab[:, 0] * ae[:, 1] - ab[:, 1] * ae[:, 0]) / divisor
    height = a[:, 2] + u * ab[:, 2] + v * ac[:, 2]
    inside: np.ndarray = (np.abs(turn) >= 1e-12) & (u > 0) & (v > 0) & (u + v < 1) & (height > eyes[:, 2] + 1e-6)
    return inside
