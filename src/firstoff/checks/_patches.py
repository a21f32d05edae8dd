"""Polygons of contact on the flat sides of a part, after the cuts made so far. In mm."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from ..errors import NameUnknown
from ..job.faces import DIRECTIONS, resolve
from ..part.shapes import Face
from .base import Case

Array = npt.NDArray[np.float64]

CELLS: Final = 24             #: of a patch, each way
_NODES: Final = {"fixed jaw": (3, 2), "moving jaw": (3, 2), "rest": (3, 2), "clamp": (2, 2), "stop": (1, 2),
                 "rod": (3, 1)}
_COVERED: Final = 0.02         #: share of a node's cells below which nothing touches there
_ALONG: Final = 0.985          #: cosine from which a side looks along a direction (10°)
_NEAR: Final = 0.05            #: [mm] within which a face still belongs to a plane


class Patch(NamedTuple):
    """A polygon of contact, as a few points with their shares of its area.

    Fields:
        name: what touches: fixed jaw, moving jaw, rest, clamp, stop.
        face: which face of the part, as the setting names it.
        normal: into the part [1], shape (3,).
        points: middles of its pieces [mm], shape (K, 3).
        areas: of them [mm2], shape (K,).
        clamp: which clamp presses it; -1 for none.
        cells: middles of the small squares of it that touch [mm], shape (M, 3).
    """

    name: str
    face: str
    normal: Array
    points: Array
    areas: Array
    clamp: int
    cells: Array

    @property
    def area(self) -> float:
        """Area that touches [mm2]."""
        return float(self.areas.sum())


class Reach(NamedTuple):
    """A rectangle in a face where something could touch [mm]: two directions, from and to along each."""

    one: Array
    two: Array
    first: tuple[float, float]
    second: tuple[float, float]


def patch_of(case: Case, name: str, face_name: str, side: Side, reach: Reach, clamp: int) -> Patch:
    """The part of a reach where the part has metal now, gathered in a few points."""
    steps = (np.arange(CELLS) + 0.5) / CELLS
    one = reach.first[0] + steps * (reach.first[1] - reach.first[0])
    two = reach.second[0] + steps * (reach.second[1] - reach.second[0])
    grid = np.stack(np.meshgrid(one, two, indexing="ij"), axis=-1).reshape(-1, 2)
    places = grid[:, :1] * reach.one + grid[:, 1:] * reach.two + side.height * side.normal
    there = _metal(case, side.faces, places, reach)
    cell = (reach.first[1] - reach.first[0]) * (reach.second[1] - reach.second[0]) / len(grid)
    points, areas = _gathered(places, there, _NODES[name], cell)
    return Patch(name, face_name, -side.normal, points, areas, clamp, places[there])


def _gathered(
    places: Array, there: npt.NDArray[np.bool_], nodes: tuple[int, int], cell: float
) -> tuple[Array, Array]:
    """Cells gathered in blocks: the middle and area of the metal in each, over what there is of it."""
    covered = there.reshape(CELLS, CELLS)
    one, two = (_blocks(np.asarray(covered.any(axis=axis)), count) for axis, count in zip((1, 0), nodes, strict=True))
    block = np.where((one[:, None] < 0) | (two[None, :] < 0), -1, one[:, None] * nodes[1] + two[None, :]).ravel()
    points, areas = [], []
    for i in range(nodes[0] * nodes[1]):
        mine = (block == i) & there
        if mine.sum() > _COVERED * (block == i).sum():
            points.append(places[mine].mean(axis=0))
            areas.append(mine.sum() * cell)
    return np.reshape(points, (-1, 3)), np.array(areas, dtype=float)


def _blocks(some: npt.NDArray[np.bool_], count: int) -> npt.NDArray[np.intp]:
    """To which of so many blocks each row of cells belongs, from the first with metal to the last; -1 outside."""
    if not some.any():
        return np.full(len(some), -1, dtype=np.intp)
    first, last = np.flatnonzero(some)[[0, -1]]
    place = (np.arange(len(some)) - first) * count // (last - first + 1)
    return np.asarray(np.where((place >= 0) & (place < count), place, -1), dtype=np.intp)


def _metal(case: Case, faces: tuple[Face, ...], places: Array, reach: Reach) -> npt.NDArray[np.bool_]:
    """Where the face is: in the finished part's outline, or where what will be cut away still stands."""
    finished = np.zeros(len(places), dtype=bool)
    for face in faces:
        finished |= inside(face, places, reach.one, reach.two)
    low, high = (np.array([span(case, way)[end] for way in np.eye(3)]) for end in (0, 1))
    low, high = low - _NEAR, high + _NEAR
    within = ((places >= low) & (places <= high)).all(axis=1)
    return finished | (within & ~_cut_away(case, places))


def inside(face: Face, places: Array, one: Array, two: Array) -> npt.NDArray[np.bool_]:
    """Whether places lie in a face's outline seen across two directions, holes left out; in its box without one."""
    if not face.outlines:
        ends = [np.sort(way * np.array([face.low, face.high]), axis=0).sum(axis=1) for way in (one, two)]
        within = [(places @ way >= low - _NEAR) & (places @ way <= high + _NEAR)
                  for way, (low, high) in zip((one, two), ends, strict=True)]
        return np.asarray(within[0] & within[1])
    x, y = places @ one, places @ two
    odd = np.zeros(len(places), dtype=bool)
    for loop in face.outlines:
        corners = np.array(loop)
        u0, v0 = corners @ one, corners @ two
        u1, v1 = np.roll(u0, -1), np.roll(v0, -1)
        edge, place = np.nonzero((v0[:, None] > y) != (v1[:, None] > y))
        across = u0[edge] + (y[place] - v0[edge]) / (v1 - v0)[edge] * (u1 - u0)[edge]
        odd ^= np.bincount(place[x[place] < across], minlength=len(places)) % 2 == 1
    return odd


def _cut_away(case: Case, places: Array) -> npt.NDArray[np.bool_]:
    """Where a feature that is already cut has taken the metal, by the box of its faces."""
    gone = np.zeros(len(places), dtype=bool)
    cut = case.state.cut if case.state is not None else frozenset()
    for feature in case.part.features:
        if feature.id not in cut or feature.kind == "stock":
            continue
        own = [case.part.faces[i] for i in feature.faces]
        if not own:
            continue
        low = np.min([face.low for face in own], axis=0) - _NEAR
        high = np.max([face.high for face in own], axis=0) + _NEAR
        gone |= ((places >= low) & (places <= high)).all(axis=1)
    return gone


class Side(NamedTuple):
    """A flat side of the work: faces of the finished part, or of the stock while it still stands there."""

    normal: Array                # out of the part [1], shape (3,)
    height: float                # along it [mm]
    faces: tuple[Face, ...]


def side_named(case: Case, name: str | None) -> Side | None:
    """The flat side that a name means; None where the work has not got one."""
    if not name:
        return None
    try:
        faces = tuple(case.part.faces[i] for i in resolve(name, case.part, case.wanted.names))
    except NameUnknown:
        if name not in DIRECTIONS:
            return None
        way = np.array(DIRECTIONS[name])
        return Side(way, span(case, way)[1], ())
    first = faces[0]
    if first.kind != "plane":
        return None
    normal = np.array(first.normal)
    left = _left_on(case, normal)
    return Side(normal, float(normal @ np.array(first.centroid)) + left, () if left else faces)


def span(case: Case, way: Array | tuple[float, float, float]) -> tuple[float, float]:
    """From where to where the piece reaches along a direction, with the stock that is left on it [mm]."""
    ends = np.sort(np.array(way) * np.array([case.part.low, case.part.high]), axis=0)
    return float(ends[0].sum()) - _left_on(case, -np.array(way)), float(ends[1].sum()) + _left_on(case, np.array(way))


def _left_on(case: Case, way: Array) -> float:
    """Stock on the outermost side that looks along a direction, when the setting begins [mm]."""
    if case.setting_name is None:
        return 0.0
    found = 0.0
    for name, left in case.setting.stock_left.items():
        try:
            normal = np.array(case.part.faces[resolve(name, case.part, case.wanted.names)[0]].normal)
        except NameUnknown:
            normal = np.array(DIRECTIONS.get(name, (0.0, 0.0, 0.0)))
        if float(normal @ way) > _ALONG:
            found = max(found, left)
    return found


def square_to(way: Array) -> Array:
    """Some direction square to another."""
    other = np.eye(3)[int(np.argmin(np.abs(way)))]
    return np.asarray(other - way * (way @ other))
