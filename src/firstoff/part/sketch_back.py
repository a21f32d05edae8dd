"""A sketch in lines of a part whose features can be told so; what cannot is named in a remark. Pure, mm.

Chamfers, ramps and roundings are told by their faces, because a sketch knows them as edges of the block.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import replace

from firstoff.part.shapes import Face, Feature, Part, Vector
from firstoff.part.sketch import (
    FACES,
    Block,
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
from firstoff.part.vectors import dot

NEAR = 1e-3                              # nearer than this is the same place [mm]
_ODD = frozenset({"floors at several heights", "a slanting face closes one side"})
SQUARE = 1.0 - 1e-8                      # cosine from which a direction is along an axis [1]


def sketch_of(part: Part, unit: str = "mm") -> Sketch:
    """The part as a sketch in lines, its low corner at the origin.

    Args:
        part: the digest of a model.
        unit: of the sketch, mm or in.

    Returns:
        The sketch; a feature that cannot be told in lines stands in `texts` as a remark that begins with '#'.

    Range: parts whose cuts do not cross; where they do, a cut may be told shorter than it was made.
    """
    x, y, z = (high - low for low, high in zip(part.low, part.high, strict=True))
    block = Block(1, (Size(x), Size(y), Size(z)))
    teller = _Teller(part, block)
    cuts: list[Cut] = []
    remarks: list[str] = []
    for feature in part.features:
        if feature.kind == "stock" or teller.round_bosses(feature):
            continue
        found = teller.cuts(feature)
        cuts += found
        if not found:
            remarks.append(f"# {feature.id}: cannot be told in lines")
    ordered = tuple(replace(cut, line=k + 2) for k, cut in enumerate(_together(cuts)))
    return Sketch(part.name, part.file, unit, block, ordered, texts=tuple((0, remark) for remark in remarks))


def _together(cuts: Iterable[Cut]) -> list[Cut]:
    """Equal holes, pockets, slopes and roundings on one line."""
    out: list[Cut] = []
    for cut in cuts:
        for k, known in enumerate(out):
            joined = _joined(known, cut)
            if joined is not None:
                out[k] = joined
                break
        else:
            out.append(cut)
    return out


def _joined(one: Cut, other: Cut) -> Cut | None:
    """The two on one line, where they differ in nothing but their place."""
    if isinstance(one, Hole) and isinstance(other, Hole) and replace(other, places=one.places) == one:
        return replace(one, places=one.places + other.places)
    if isinstance(one, Groove) and isinstance(other, Groove) and replace(other, places=one.places) == one:
        return replace(one, places=one.places + other.places)
    if isinstance(one, Boss) and isinstance(other, Boss) and replace(other, places=one.places) == one:
        return replace(one, places=one.places + other.places)
    if isinstance(one, Pocket) and isinstance(other, Pocket) and replace(other, places=one.places) == one:
        return replace(one, places=one.places + other.places)
    if isinstance(one, Round) and isinstance(other, Round) and replace(other, edges=one.edges) == one:
        return replace(one, edges=_each_once(one.edges + other.edges))
    if isinstance(one, Slope) and isinstance(other, Slope) and replace(other, edges=one.edges) == one:
        edges = _each_once(one.edges + other.edges)
        return replace(one, edges=edges) if one.verb == "chamfer" or len(edges) == 1 else None
    return None


def _each_once(edges: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    """Pieces of one edge, which other cuts have parted, are one."""
    return tuple({tuple(sorted(edge)): edge for edge in reversed(edges)}.values())[::-1]


class _Teller:
    """Features of one part as cuts of its block."""

    def __init__(self, part: Part, block: Block) -> None:
        self.part, self.size, self.low = part, block.size, part.low
        self.faces = {face.number: face for face in part.faces}
        self.limits = {n: limit for limit in part.limits if limit.kind in ("thread", "diameter") for n in limit.faces}

    def cuts(self, feature: Feature) -> list[Cut]:
        """The cuts that make a feature; none where lines cannot tell it."""
        way: Callable[[Feature], list[Cut]] | None = {
            "hole": self._hole, "pocket": self._recess, "passage": self._recess, "slot": self._recess,
            "step": self._recess, "groove": self._groove, "boss": self._boss, "chamfer": self._slopes,
            "ramp": self._slopes, "fillet": self._rounds,
        }.get(feature.kind)
        return way(feature) if way is not None else []

    def _level(self, face: str) -> float:
        axis, way = FACES[face]
        return self.size[axis] if way > 0 else 0.0

    def _hole(self, feature: Feature) -> list[Cut]:
        size, face = feature.size, _face_of(feature.axis)
        if face is None or feature.axis_point is None or feature.open or "far_countersink_diameter" in size:
            return []
        axis, way = FACES[face]
        sunk = (self._level(face) - (feature.axis_point[axis] - self.low[axis])) * way
        wider = "countersink_diameter" in size or "counterbore_diameter" in size
        radii = {round(self.faces[n].radius or 0.0, 3) for n in feature.faces if self.faces[n].kind == "cylinder"}
        if not radii or len(radii) > 1 + ("counterbore_diameter" in size) or (wider and sunk > NEAR):
            return []
        point = size.get("cone_angle", 180.0)
        depth = None if feature.through else Size(_tidy(size["depth"] + sunk))
        first, second = axes_of(face)
        u, v = (_tidy(feature.axis_point[k] - self.low[k]) for k in (first, second))
        hole = Hole(0, face, (Place(u, v),), Size(_tidy(size["diameter"])), depth, _tidy(point) if depth else 118.0,
                    _pair(size, "countersink_diameter", "countersink_angle"),
                    _pair(size, "counterbore_diameter", "counterbore_depth"))
        return [self._worded(hole, feature)]

    def _groove(self, feature: Feature) -> list[Cut]:
        size, face = feature.size, _face_of(feature.axis)
        if face is None or feature.axis_point is None or not {"inner_diameter", "depth"} <= size.keys():
            return []
        if abs(feature.axis_point[FACES[face][0]] - self.low[FACES[face][0]] - self._level(face)) > NEAR:
            return []
        sizes = [Size(_tidy(size[key])) for key in ("diameter", "width", "depth")]
        return [Groove(0, face, (self._place(feature, face),), *sizes)]

    def _boss(self, feature: Feature) -> list[Cut]:
        """A boss whose top is the block's face, where all others on it are as wide and as high."""
        face = _face_of(feature.axis)
        if face is None or feature.axis_point is None or "diameter" not in feature.size or not (
                self._reaches(feature, face)):
            return []
        alike = {(_tidy(f.size["diameter"]), _tidy(f.size["height"])) for f in self.part.features
                 if f.kind == "boss" and _face_of(f.axis) == face and "diameter" in f.size}
        wide, high = _tidy(feature.size["diameter"]), _tidy(feature.size["height"])
        return [Boss(0, face, (self._place(feature, face),), Size(wide), Size(high))] if len(alike) == 1 else []

    def _reaches(self, feature: Feature, face: str) -> bool:
        """Whether a feature ends at a face of the block."""
        axis, way = FACES[face]
        ends = [(self.faces[n].high if way > 0 else self.faces[n].low)[axis] - self.low[axis] for n in feature.faces]
        return abs((max(ends) if way > 0 else min(ends)) - self._level(face)) < NEAR

    def round_bosses(self, feature: Feature) -> bool:
        """Whether a step is what was cut down about bosses, and told with them."""
        face = _face_of(feature.axis)
        if feature.kind != "step" or face is None or feature.sides:
            return False
        bosses = [f for f in self.part.features if f.kind == "boss" and _face_of(f.axis) == face and self._boss(f)]
        return any(abs(f.size["height"] - feature.size.get("depth", 0.0)) < NEAR for f in bosses)

    def _place(self, feature: Feature, face: str) -> Place:
        first, second = axes_of(face)
        point = feature.axis_point or (0.0, 0.0, 0.0)
        return Place(_tidy(point[first] - self.low[first]), _tidy(point[second] - self.low[second]))

    def _worded(self, hole: Hole, feature: Feature) -> Hole:
        """The hole with the thread, fit or deviations that the part's limits tell of it."""
        limit = next((self.limits[n] for n in feature.faces if n in self.limits), None)
        thread = re.match(r"(M[\d.]+(?:x[\d.]+)?)(?: x ([\d.]+) deep)?$", limit.text) if limit is not None else None
        if limit is not None and limit.kind == "thread" and thread is not None:
            return replace(hole, thread=thread[1], thread_depth=None if thread[2] is None else Size(float(thread[2])))
        if limit is None or limit.kind != "diameter":
            return hole
        fit = limit.text if re.fullmatch(r"[A-Za-z]{1,2}\d{1,2}", limit.text) else ""
        size = Size(hole.diameter.value, fit=fit)
        if limit.value is not None and limit.lower is not None and limit.upper is not None:
            size = replace(size, lower=_tidy(limit.lower - limit.value), upper=_tidy(limit.upper - limit.value))
        return replace(hole, diameter=size)

    def _recess(self, feature: Feature) -> list[Cut]:
        face, faces = _face_of(feature.axis), [self.faces[n] for n in feature.faces]
        corners = "floor_radius" in feature.size and feature.kind == "pocket" and not feature.open
        towards = feature.axis or (0.0, 0.0, 1.0)
        if face is None or not all(_plain(one, towards) or (corners and one.hollow) for one in faces):
            return []
        if not _ODD.isdisjoint(feature.notes):
            return []
        low = [_tidy(min(one.low[k] for one in faces) - self.low[k]) for k in range(3)]
        high = [_tidy(max(one.high[k] for one in faces) - self.low[k]) for k in range(3)]
        axis, way = FACES[face]
        if way > 0:
            high[axis] = self.size[axis]
        else:
            low[axis] = 0.0
        depth = None if high[axis] - low[axis] > self.size[axis] - NEAR else Size(_tidy(high[axis] - low[axis]))
        first, second = axes_of(face)
        if not (self._closed(faces, first, second, low, high) and self._closed(faces, second, first, low, high)):
            return []
        return [self._shaped(feature, face, low, high, depth)]

    def _closed(self, faces: list[Face], axis: int, across: int, low: list[float], high: list[float]) -> bool:
        """Whether both ends along an axis are walls, round ends, or open to the side of the block."""
        half = (high[across] - low[across]) / 2
        rounds = any(face.kind == "cylinder" and abs((face.radius or 0.0) - half) < NEAR for face in faces)
        return all(
            rounds or abs(level - side) < NEAR or any(
                face.kind == "plane" and face.normal[axis] * way > SQUARE
                and abs(face.centroid[axis] - self.low[axis] - level) < NEAR for face in faces)
            for level, side, way in ((low[axis], 0.0, 1.0), (high[axis], self.size[axis], -1.0)))

    def _shaped(self, feature: Feature, face: str, low: list[float], high: list[float], depth: Size | None) -> Cut:
        """A box cut from a face as the trade would call it: step, slot or pocket."""
        first, second = axes_of(face)
        corner = _tidy(feature.size.get("corner_radius", 0.0))
        wide = {axis: _tidy(high[axis] - low[axis]) for axis in (first, second)}
        full = [axis for axis in (first, second) if wide[axis] > self.size[axis] - NEAR]
        along = full[0] if full else first if wide[first] >= wide[second] else second
        across = second if along == first else first
        flush = [name for name, (axis, way) in FACES.items()
                 if axis == across and abs((high if way > 0 else low)[axis] - self._level(name)) < NEAR]
        if full and len(flush) == 1 and depth is not None:
            return Step(0, face, flush[0], Size(wide[across]), depth)
        if not flush and (full or abs(corner - wide[across] / 2) < NEAR):
            middle = Place(_tidy((low[across] + high[across]) / 2), 0.0)
            return Slot(0, face, along, (low[along], high[along]), middle, Size(wide[across]), depth,
                        Size(wide[across] / 2 if full else corner))
        u, v = (_tidy((low[axis] + high[axis]) / 2) for axis in (first, second))
        floor, sizes = _tidy(feature.size.get("floor_radius", 0.0)), (Size(wide[first]), Size(wide[second]))
        return Pocket(0, face, (Place(u, v),), sizes, depth, Size(corner), Size(floor))

    def _slopes(self, feature: Feature) -> list[Cut]:
        found = [self._slope(self.faces[n], feature.kind) for n in feature.faces]
        return [cut for cut in found if cut is not None] if all(found) else []

    def _slope(self, face: Face, verb: str) -> Slope | None:
        """A slanting flat over an edge of the block, from face to face."""
        sides = [name for name, (axis, way) in FACES.items() if face.normal[axis] * way > 1e-6]
        if face.kind != "plane" or len(sides) != 2:
            return None
        sides.sort(key=lambda name: (-round(face.normal[FACES[name][0]] * FACES[name][1], 6), name))
        beyond = sum((self._level(name) - (face.centroid[axis] - self.low[axis])) * face.normal[axis]
                     for name in sides for axis in (FACES[name][0],))
        legs = [beyond / abs(face.normal[FACES[other][0]]) for other in (sides[1], sides[0])]
        for side, leg in zip(sides, reversed(legs), strict=True):
            axis, way = FACES[side]
            reached = (self.low[axis] + self._level(side) - (face.low if way > 0 else face.high)[axis]) * way
            if abs(reached - leg) > NEAR:
                return None
        angle = math.degrees(math.atan2(legs[1], legs[0]))
        return Slope(0, verb, ((sides[0], sides[1]),), Size(_tidy(legs[0])), _tidy(angle))

    def _rounds(self, feature: Feature) -> list[Cut]:
        found = [self._round(self.faces[n]) for n in feature.faces]
        return [cut for cut in found if cut is not None] if all(found) else []

    def _round(self, face: Face) -> Round | None:
        """A rounded edge of the block: its axis lies one radius inside two of its sides."""
        radius, point = face.radius or 0.0, face.axis_point
        along = next((k for k in range(3) if face.axis is not None and abs(face.axis[k]) > SQUARE), None)
        if face.kind != "cylinder" or face.hollow or point is None or along is None:
            return None
        sides = [name for name, (axis, way) in FACES.items() if axis != along
                 and abs((self._level(name) - (point[axis] - self.low[axis])) * way - radius) < NEAR
                 and (face.centroid[axis] - point[axis]) * way > 0]
        return Round(0, ((sides[0], sides[1]),), Size(_tidy(radius))) if len(sides) == 2 else None


def _face_of(axis: Vector | None) -> str | None:
    """The side of the block from which a tool comes along an axis."""
    for name, (k, way) in FACES.items():
        if axis is not None and axis[k] * way > SQUARE:
            return name
    return None


def _plain(face: Face, axis: Vector) -> bool:
    """A flat square to an axis of the part, or a hollow corner along the tool."""
    if face.kind == "plane":
        return any(abs(part) > SQUARE for part in face.normal)
    return face.kind == "cylinder" and face.hollow and face.axis is not None and abs(dot(face.axis, axis)) > SQUARE


def _pair(size: dict[str, float], one: str, other: str) -> tuple[float, float] | None:
    return (_tidy(size[one]), _tidy(size[other])) if one in size else None


def _tidy(value: float) -> float:
    return round(value, 6) + 0.0
