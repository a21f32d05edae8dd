"""Where jaws, rests, clamps and stop really touch a part in its setting, after the cuts made so far. In mm."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from ..errors import NameUnknown
from ..holding.contact import Contacts
from ..job.faces import DIRECTIONS, resolve
from ..part.shapes import Face
from ..shop.models import Device
from .base import Case
from .si import metres

Array = npt.NDArray[np.float64]

JAWS: Final = frozenset({"vise", "bench_vise", "angle_block", "v_block", "collet_block", "edge_clamps"})
PRESSED: Final = frozenset({"clamps", "screws"})
CLAMPS: Final = 2              #: toe clamps or screws that hold a part, when nobody says how many
PARALLEL: Final = 5.0          #: thickness of a parallel [mm]; judged, × and ÷ 2
TIP: Final = 10.0              #: of a clamp's tip and of a stop, across [mm]; judged, × and ÷ 2
INSET: Final = 0.5             #: of its own size, how far a clamp's tip reaches in from the edge
#: Stiffness of a part against each thing that it touches, square to the face [N/m]; judged, × and ÷ 2. Only their
#: ratios say what gives way; their size says how far the part moves.
STIFF: Final = {"fixed jaw": 2e8, "moving jaw": 2e8, "rest": 2e8, "clamp": 5e7, "stop": 5e7}
ALONG: Final = 0.82            #: stiffness along the face over that square to it, 2 (1 - nu)/(2 - nu) of mindlin1949
_CELLS: Final = 24             #: of a patch, each way
_NODES: Final = {"fixed jaw": (3, 2), "moving jaw": (3, 2), "rest": (3, 2), "clamp": (2, 2), "stop": (1, 2)}
_COVERED: Final = 0.02         #: share of a node's cells below which nothing touches there
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


def device_of(case: Case) -> Device:
    """What holds the part."""
    return case.shop.devices[case.setting.holding.device]


def touching(case: Case) -> tuple[Patch, ...]:
    """All patches of contact of the case's setting; a thing that does not touch has no patch.

    Raises:
        NameUnknown: if the setting names a face that the part has not.
    """
    kind = device_of(case).kind
    made = [*_rests(case)]
    if kind in JAWS:
        made += _jaws(case)
    elif kind in PRESSED:
        made += _clamps(case)
    made += _stop(case)
    return tuple(patch for patch in made if patch.area > 0.0)


def contacts_of(patches: tuple[Patch, ...]) -> Contacts:
    """The patches as springs [m], each thing's stiffness spread over its area."""
    total = {name: sum(p.area for p in patches if p.name == name and p.clamp == clamp)
             for name, clamp in {(p.name, p.clamp) for p in patches}}
    stiff = [STIFF[p.name] * p.areas / total[p.name] for p in patches]
    square = np.concatenate(stiff) if stiff else np.zeros(0)
    return Contacts(
        metres(np.concatenate([p.points for p in patches])) if patches else np.zeros((0, 3)),
        np.concatenate([np.tile(p.normal, (len(p.areas), 1)) for p in patches]) if patches else np.zeros((0, 3)),
        square, ALONG * square,
        np.concatenate([np.full(len(p.areas), p.clamp) for p in patches]) if patches else np.zeros(0, dtype=np.intp))


def missing(case: Case, patches: tuple[Patch, ...]) -> str:
    """What should touch and does not, in words; empty where all that is needed does."""
    holding, kind = case.setting.holding, device_of(case).kind
    there = {patch.name for patch in patches}
    if kind in JAWS:
        for name, face in zip(("fixed jaw", "moving jaw"), holding.grip, strict=False):
            if name not in there:
                return f"the {name} does not touch {face}: what it would press is cut away, or too low for the grip"
    if kind in PRESSED and "clamp" not in there:
        return "no clamp finds anything to press on: the upper face is cut away"
    if "rest" not in there:
        return f"nothing lies under it: {holding.rest} is cut away where the rests are"
    return ""


# --- what touches -----------------------------------------------------------------------------------------------


def _jaws(case: Case) -> list[Patch]:
    holding = case.setting.holding
    if len(holding.grip) < 2 or holding.grip_height <= 0.0:
        return []
    up = np.array(case.setting.up)
    wide = device_of(case).width or np.inf
    found = []
    for name, face_name, clamp in zip(("fixed jaw", "moving jaw"), holding.grip, (-1, 0), strict=False):
        side = _side(case, face_name)
        if side is None:
            continue
        along = np.cross(side.normal, up)
        low, high = _span(case, along)
        middle, half = (low + high) / 2.0, min(high - low, wide) / 2.0
        foot = _span(case, up)[0]
        reach = Reach(along, up, (middle - half, middle + half), (foot, foot + holding.grip_height))
        found.append(_patch(case, name, face_name, side, reach, clamp))
    return found


def _rests(case: Case) -> list[Patch]:
    holding = case.setting.holding
    side = _side(case, holding.rest)
    if side is None:
        return []
    down, jaw = side.normal, _side(case, holding.grip[0] if holding.grip else None)
    across = jaw.normal if jaw is not None else _square(down)
    across = across - down * (down @ across)
    across /= np.linalg.norm(across)
    along = np.cross(across, down)
    long, deep = _span(case, along), _span(case, across)
    strips = [deep]
    if holding.parallels > 0.0 and deep[1] - deep[0] > 2.0 * PARALLEL:
        strips = [(deep[0], deep[0] + PARALLEL), (deep[1] - PARALLEL, deep[1])]
    return [_patch(case, "rest", holding.rest, side, Reach(along, across, long, strip), -1) for strip in strips]


def _clamps(case: Case) -> list[Patch]:
    """Tips of clamps or heads of screws on the upper face, at both ends of its longer way."""
    up = np.array(case.setting.up)
    across = np.array(case.setting.across)
    ways = sorted((across, np.cross(up, across)), key=lambda way: -np.diff(_span(case, way))[0])
    long, wide = _span(case, ways[0]), _span(case, ways[1])
    middle, half = sum(wide) / 2.0, min(TIP, wide[1] - wide[0]) / 2.0
    ends = [(long[0] + INSET * TIP, long[0] + (1.0 + INSET) * TIP), (long[1] - (1.0 + INSET) * TIP,
                                                                   long[1] - INSET * TIP)]
    top = Side(up, _span(case, up)[1], ())
    return [_patch(case, "clamp", "", top, Reach(ways[0], ways[1], end, (middle - half, middle + half)), i)
            for i, end in enumerate(ends)]


def _stop(case: Case) -> list[Patch]:
    name = case.setting.holding.stop
    face = _side(case, name)
    if face is None or name is None:
        return []
    up = np.array(case.setting.up)
    along = np.cross(face.normal, up)
    side, foot = sum(_span(case, along)) / 2.0, _span(case, up)
    reach = Reach(along, up, (side - TIP / 2.0, side + TIP / 2.0), (foot[0], min(foot[0] + TIP, foot[1])))
    return [_patch(case, "stop", name, face, reach, -1)]


# --- how much of it touches -------------------------------------------------------------------------------------


def _patch(case: Case, name: str, face_name: str, side: Side, reach: Reach, clamp: int) -> Patch:
    """The part of a reach where the part has metal now, gathered in a few points."""
    steps = (np.arange(_CELLS) + 0.5) / _CELLS
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
    """Cells gathered in blocks: the middle and area of the metal in each."""
    index = np.arange(_CELLS)
    block = (index * nodes[0] // _CELLS)[:, None] * nodes[1] + (index * nodes[1] // _CELLS)[None, :]
    block = block.ravel()
    points, areas = [], []
    for i in range(nodes[0] * nodes[1]):
        mine = (block == i) & there
        if mine.sum() > _COVERED * (block == i).sum():
            points.append(places[mine].mean(axis=0))
            areas.append(mine.sum() * cell)
    return np.reshape(points, (-1, 3)), np.array(areas, dtype=float)


def _metal(case: Case, faces: tuple[Face, ...], places: Array, reach: Reach) -> npt.NDArray[np.bool_]:
    """Where the face is: in the finished part's outline, or where what will be cut away still stands."""
    finished = np.zeros(len(places), dtype=bool)
    for face in faces:
        finished |= inside(face, places, reach.one, reach.two)
    low, high = np.array(case.part.low) - _NEAR, np.array(case.part.high) + _NEAR
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
        u, v = corners @ one, corners @ two
        for u0, v0, u1, v1 in zip(u, v, np.roll(u, -1), np.roll(v, -1), strict=True):
            crosses = (v0 > y) != (v1 > y)
            if v0 != v1:
                odd ^= crosses & (x < u0 + (y - v0) / (v1 - v0) * (u1 - u0))
    return odd


def _cut_away(case: Case, places: Array) -> npt.NDArray[np.bool_]:
    """Where a feature that is already cut has taken the metal, by the box of its faces."""
    gone = np.zeros(len(places), dtype=bool)
    cut = case.state.cut if case.state is not None else frozenset()
    for feature in case.part.features:
        if feature.id not in cut or feature.kind == "stock":
            continue
        own = [case.part.faces[i] for i in feature.faces]
        low = np.min([face.low for face in own], axis=0) - _NEAR
        high = np.max([face.high for face in own], axis=0) + _NEAR
        gone |= ((places >= low) & (places <= high)).all(axis=1)
    return gone


class Side(NamedTuple):
    """A flat side of the work: faces of the finished part, or of the stock while it still stands there."""

    normal: Array                # out of the part [1], shape (3,)
    height: float                # along it [mm]
    faces: tuple[Face, ...]


def _side(case: Case, name: str | None) -> Side | None:
    """The flat side that a name means; None where the work has not got one."""
    if not name:
        return None
    try:
        faces = tuple(case.part.faces[i] for i in resolve(name, case.part, case.wanted.names))
    except NameUnknown:
        if name not in DIRECTIONS:
            return None
        way = np.array(DIRECTIONS[name])
        return Side(way, _span(case, way)[1], ())
    first = faces[0]
    if first.kind != "plane":
        return None
    normal = np.array(first.normal)
    return Side(normal, float(normal @ np.array(first.centroid)), faces)


def _span(case: Case, way: Array | tuple[float, float, float]) -> tuple[float, float]:
    """From where to where the part reaches along a direction [mm]."""
    ends = np.sort(np.array(way) * np.array([case.part.low, case.part.high]), axis=0)
    return float(ends[0].sum()), float(ends[1].sum())


def _square(way: Array) -> Array:
    """Some direction square to another."""
    other = np.eye(3)[int(np.argmin(np.abs(way)))]
    return np.asarray(other - way * (way @ other))
