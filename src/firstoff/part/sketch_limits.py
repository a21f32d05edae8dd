"""The limits of a sketch tied to the faces of its part; and the threads and fits that limits tell. Pure, mm."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from firstoff.part.shapes import Face, ModelLimit, Part
from firstoff.part.sketch import (
    FACES,
    Boss,
    Cut,
    Groove,
    Hole,
    Place,
    Pocket,
    Round,
    Size,
    Sketch,
    Slope,
    Slot,
    Step,
    axes_of,
)
from firstoff.part.sketch_text import boxes

NEAR = 1e-3                              # nearer than this is the same place [mm]
_FIT = re.compile(r"\bH\d{1,2}\b")
Numbers = tuple[int, ...]


class Wishes(NamedTuple):
    """What a part says of its holes, worded as a job words it.

    Fields:
        threads: "M4 x 9 deep" or "M5" by id of the hole [1].
        ream: "H7" by id of the hole [1].
    """

    threads: dict[str, str]
    ream: dict[str, str]


def wishes(part: Part) -> Wishes:
    """The threads and fits that the part's own limits tell, so that a job need not say them again."""
    owner = {n: feature.id for feature in part.features if feature.kind == "hole" for n in feature.faces}
    threads: dict[str, str] = {}
    ream: dict[str, str] = {}
    for limit in part.limits:
        fit = _FIT.search(limit.text) if limit.kind == "diameter" else None
        for hole in {owner[n] for n in limit.faces if n in owner}:
            if limit.kind == "thread":
                threads[hole] = limit.text
            elif fit is not None:
                ream[hole] = fit[0]
    return Wishes(dict(sorted(threads.items())), dict(sorted(ream.items())))


def limits(sketch: Sketch, part: Part) -> tuple[ModelLimit, ...]:
    """The limits, fits and threads of a sketch with the faces of the part that was made of it."""
    known = _Faces(sketch, part)
    found: list[ModelLimit] = []
    for axis, size in enumerate(sketch.block.sizes if sketch.block is not None else ()):
        ends = [known.side(name) for name, (other, _) in FACES.items() if other == axis]
        found += _limit("distance", size, between=(ends[0], ends[1]))
    for cut in sketch.cuts:
        found += _of(cut, known)
    found += [ModelLimit("flatness", known.side(flat.face), flat.zone) for flat in sketch.flats]
    return tuple(found)


def _limit(kind: str, size: Size, faces: Iterable[int] = (), between: tuple[Numbers, ...] = (),
           text: str = "") -> list[ModelLimit]:
    """A limit where the size has one."""
    if size.lower is None and not size.fit:
        return []
    every = tuple(sorted({*faces, *(n for end in between for n in end)}))
    upper = None if size.upper is None else size.value + size.upper
    lower = None if size.lower is None else size.value + size.lower
    return [ModelLimit(kind, every, size.value or None, upper, lower, text=", ".join(filter(None, (size.fit, text))),
                       between=between)]


class _Faces:
    """Faces of the part by where they lie."""

    def __init__(self, sketch: Sketch, part: Part) -> None:
        self.part = part
        self.size = sketch.block.size if sketch.block is not None else (0.0, 0.0, 0.0)

    def side(self, name: str) -> Numbers:
        """The flats of one side of the block."""
        axis, way = FACES[name]
        return self.flats(axis, way, self.size[axis] if way > 0 else 0.0)

    def flats(self, axis: int, way: int, level: float, low: list[float] | None = None,
              high: list[float] | None = None) -> Numbers:
        """Flats that look one way at a level, within a box where one is given."""
        return tuple(
            face.number for face in self.part.faces
            if face.kind == "plane" and face.normal[axis] * way > 1.0 - 1e-6
            and abs(face.centroid[axis] - level) < NEAR and (low is None or high is None or _within(face, low, high))
        )

    def bore(self, cut: Hole | Groove | Boss, place: Place) -> Numbers:
        """The round walls of a hole of its diameter; those outside, of a boss."""
        first, second = axes_of(cut.face)
        return tuple(
            face.number for face in self.part.faces
            if face.kind == "cylinder" and face.hollow != isinstance(cut, Boss)
            and face.axis_point is not None and face.axis is not None
            and abs(face.axis[FACES[cut.face][0]]) > 1.0 - 1e-6
            and abs((face.radius or 0) - cut.diameter.value / 2) < NEAR
            and abs(face.axis_point[first] - place.u) < NEAR and abs(face.axis_point[second] - place.v) < NEAR
        )

    def corners(self, radius: float, low: list[float], high: list[float], hollow: bool = True) -> Numbers:
        """Round faces of a radius within a box."""
        return tuple(face.number for face in self.part.faces
                     if face.kind == "cylinder" and face.hollow == hollow and abs((face.radius or 0) - radius) < NEAR
                     and _within(face, low, high))

    def slanting(self, edge: tuple[str, str]) -> Numbers:
        """Flats that look out over an edge of the block."""
        return tuple(face.number for face in self.part.faces if face.kind == "plane" and all(
            face.normal[FACES[name][0]] * FACES[name][1] > 1e-3 for name in edge))


def _within(face: Face, low: list[float], high: list[float]) -> bool:
    return all(a - NEAR <= face.low[k] and face.high[k] <= b + NEAR
               for k, (a, b) in enumerate(zip(low, high, strict=True)))


def _of(cut: Cut, known: _Faces) -> list[ModelLimit]:
    if isinstance(cut, Hole):
        return [limit for place in cut.places for limit in _hole(cut, place, known)]
    if isinstance(cut, Groove | Boss):
        return [limit for place in cut.places for limit in _ring(cut, known.bore(cut, place), place, known)]
    if isinstance(cut, Slope):
        faces = [n for edge in cut.edges for n in known.slanting(edge)]
        return _limit("width", cut.width, faces, text=cut.verb)
    if isinstance(cut, Round):
        whole = [0.0, 0.0, 0.0], list(known.size)
        return _limit("radius", cut.radius, known.corners(cut.radius.value, *whole, hollow=False))
    every = enumerate(boxes(cut, known.size))
    return [limit for k, (low, high) in every for limit in _recess(cut, k, low, high, known)]


def _hole(cut: Hole, place: Place, known: _Faces) -> list[ModelLimit]:
    faces = known.bore(cut, place)
    found = _limit("diameter", cut.diameter, faces)
    found += _limit("depth", cut.depth, faces) if cut.depth is not None else []
    found += _placed(place, faces, known)
    if cut.thread:
        deep = "" if cut.thread_depth is None else f" x {cut.thread_depth.value:.6g} deep"
        depth = cut.thread_depth or Size(0.0)
        lower, upper = (None if end is None else depth.value + end for end in (depth.lower, depth.upper))
        nominal = float(cut.thread[1:].partition("x")[0])
        found.append(ModelLimit("thread", faces, nominal, text=cut.thread + deep))
        if lower is not None:
            found.append(ModelLimit("thread_depth", faces, depth.value, upper, lower))
    return found


def _ring(cut: Groove | Boss, faces: Numbers, place: Place, known: _Faces) -> list[ModelLimit]:
    found = _limit("diameter", cut.diameter, faces) + _placed(place, faces, known)
    if isinstance(cut, Boss):
        return found + _limit("height", cut.height, faces)
    return found + _limit("width", cut.width, faces) + _limit("depth", cut.depth, faces)


def _placed(place: Place, faces: Numbers, known: _Faces) -> list[ModelLimit]:
    """Where something is, from the side that it is measured from."""
    found = []
    for value, allowed, side in zip((place.u, place.v), place.limits, place.sides, strict=True):
        if allowed is None:
            continue
        if not side:
            found.append(ModelLimit("position", faces, allowed[1] - allowed[0], text="from the datum of the sketch"))
            continue
        axis, way = FACES[side]
        size = Size(known.size[axis] - value if way > 0 else value, *allowed)
        found += _limit("distance", size, between=(known.side(side), faces))
    return found


def _recess(cut: Pocket | Slot | Step, which: int, low: list[float], high: list[float],
            known: _Faces) -> list[ModelLimit]:
    axis, way = FACES[cut.face]
    floor = known.flats(axis, way, low[axis] if way > 0 else high[axis], low, high)
    found = [] if cut.depth is None else _limit("depth", cut.depth, between=(known.side(cut.face), floor))

    def walls(other: int) -> tuple[Numbers, Numbers]:
        return known.flats(other, 1, low[other], low, high), known.flats(other, -1, high[other], low, high)

    if isinstance(cut, Step):
        side, out = FACES[cut.side]
        return found + _limit("distance", cut.width, between=(known.side(cut.side), walls(side)[0 if out > 0 else 1]))
    first, second = axes_of(cut.face)
    if isinstance(cut, Slot):
        across = second if cut.along == first else first
        found += _limit("distance", cut.width, between=walls(across))
        both = tuple(sorted({*walls(across)[0], *walls(across)[1]}))
        found += _placed(cut.middle, both, known)
    else:
        for other, size in zip((first, second), cut.sizes, strict=True):
            found += _limit("distance", size, between=walls(other))
        every = tuple(sorted({n for other in (first, second) for end in walls(other) for n in end}))
        found += _placed(cut.places[which], every, known)
    return found + _limit("radius", cut.corner, known.corners(cut.corner.value, low, high))
