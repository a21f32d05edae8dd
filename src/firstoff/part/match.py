"""A revised model against the one that the job was planned on: each old face is the same, moved, or lost.

A face is known again by its surface (the plane, the axis and radius), not by its number or its outline: a hole
put into a flat leaves the flat the same. What has another surface is looked for by kind, size, direction and
neighbours; faces that hang together and moved alike are preferred. A shift of the whole model's origin is found
first and told apart from what moved in the part.

Source: own (votes for the shift; then surfaces; then sizes with the support of neighbours).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from firstoff.part.shapes import Face, Feature, Part, Vector
from firstoff.part.vectors import along, cross, dot, norm, sub

NEAR = 1e-3                              # places nearer than this are one place [mm]
ALIKE = 1e-4                             # share by which equal areas and radii may differ [1]
TURNED = 1e-6                            # 1 - cosine below which directions are the same [1]
BIN = 2                                  # decimals of a mm to which shifts are counted together
ENOUGH = 0.3                             # share of the faces that must tell of a shift of the origin [1]
KNOWN = 0.5                              # share of neighbours by which a face of another size is known again [1]

NONE: Vector = (0.0, 0.0, 0.0)

State = Literal["same", "moved", "lost"]


@dataclass(frozen=True)
class FaceMatch:
    """What became of one face of the old model."""

    old: int
    state: State
    new: int | None = None
    by: Vector = (0.0, 0.0, 0.0)         # how far its middle moved in the part, the origin's shift apart [mm]
    changed: bool = False                # its outline or size is another

    @property
    def distance(self) -> float:
        """How far it moved [mm]."""
        return norm(self.by)


@dataclass(frozen=True)
class Match:
    """An old model against a new one."""

    faces: tuple[FaceMatch, ...]         # by the old number
    added: tuple[int, ...]               # numbers of new faces that were not there
    shift: Vector = (0.0, 0.0, 0.0)      # of the origin: what an unchanged face's place grew by [mm]

    @property
    def unchanged(self) -> bool:
        """Whether nothing but numbers and the origin differ."""
        return not self.added and all(face.state == "same" and not face.changed for face in self.faces)

    def of(self, number: int) -> FaceMatch:
        """What became of this old face; KeyError where there was none."""
        if not 0 <= number < len(self.faces):
            raise KeyError(number)
        return self.faces[number]


def match(old: Part, new: Part) -> Match:
    """What became of each face of a model in its revision.

    Args:
        old: the part that the job was planned on.
        new: the part as it is now.

    Returns:
        For each old face same, moved or lost, and the numbers of the faces that are new.
    """
    shift = _shift(old.faces, new.faces)
    search = _Search(old.faces, new.faces, shift)
    search.take(sorted(search.by_surface()))
    for _ in range(len(old.faces)):
        if not search.take(sorted(search.by_size())[:1]):
            break
    for _ in range(len(old.faces)):
        if not search.take(sorted(search.by_neighbours())[:1]):
            break
    taken = set(search.pairs.values())
    return Match(tuple(search.told(face) for face in old.faces),
                 tuple(face.number for face in new.faces if face.number not in taken), shift)


def _sizes(face: Face) -> tuple[float, ...]:
    return tuple(value for value in (face.radius, face.minor_radius, face.half_angle) if value is not None)


def _equal(one: float, other: float) -> bool:
    return abs(one - other) <= ALIKE * max(abs(one), abs(other)) + 1e-9


def _same_sizes(one: Face, other: Face) -> bool:
    mine, theirs = _sizes(one), _sizes(other)
    return len(mine) == len(theirs) and all(_equal(a, b) for a, b in zip(mine, theirs, strict=True))


def _same_way(one: Face, other: Face) -> bool:
    """Whether two faces of a kind look the same way: a plane by its normal, a round one by its axis and side."""
    if one.hollow != other.hollow:
        return False
    if one.axis is not None and other.axis is not None:
        return abs(dot(one.axis, other.axis)) > 1 - TURNED
    return one.kind == "sphere" or dot(one.normal, other.normal) > 1 - TURNED


def _shift(old: Iterable[Face], new: Iterable[Face]) -> Vector:
    """The shift of the origin that most faces tell of; none where few agree."""
    buckets: dict[tuple[object, ...], tuple[list[Face], list[Face]]] = {}
    for side, faces in enumerate((old, new)):
        for face in faces:
            key = (face.kind, face.hollow, float(f"{face.area:.3g}"), tuple(round(c, 2) + 0.0 for c in face.normal))
            buckets.setdefault(key, ([], []))[side].append(face)
    votes: dict[Vector, float] = {}
    raw: dict[Vector, list[Vector]] = {}
    for mine, theirs in buckets.values():
        for one in mine:
            for other in theirs:
                away = sub(other.centroid, one.centroid)
                cell = _cell(away)
                votes[cell] = votes.get(cell, 0.0) + 1 / max(len(mine), len(theirs))
                raw.setdefault(cell, []).append(away)
    total = sum(max(len(mine), len(theirs)) and 1.0 for mine, theirs in buckets.values())
    best = max(votes, key=lambda cell: (votes[cell], -norm(cell)), default=(0.0, 0.0, 0.0))
    still = votes.get((0.0, 0.0, 0.0), 0.0)
    if not votes or votes[best] < ENOUGH * total or still >= votes[best] / 2:
        return NONE
    x, y, z = (sorted(away[k] for away in raw[best])[len(raw[best]) // 2] for k in range(3))
    return x, y, z


def _cell(away: Vector) -> Vector:
    x, y, z = (round(part, BIN) + 0.0 for part in away)
    return x, y, z


_Pair = tuple[float, float, int, int]    # worst last: how bad, how far, old, new


class _Search:
    """Pairs of faces found so far, and the ways to find more."""

    def __init__(self, old: tuple[Face, ...], new: tuple[Face, ...], shift: Vector) -> None:
        self.old = {face.number: face for face in old}
        self.new = {face.number: face for face in new}
        self.shift = shift
        self.pairs: dict[int, int] = {}
        self.left, self.free = set(self.old), set(self.new)
        self.surface: set[int] = set()

    def take(self, pairs: Iterable[_Pair]) -> int:
        """Keep the pairs whose faces are both still free; how many."""
        before = len(self.pairs)
        for _, _, one, other in pairs:
            if one in self.left and other in self.free:
                self.pairs[one] = other
                self.left.discard(one)
                self.free.discard(other)
        return len(self.pairs) - before

    def away(self, one: int, other: int) -> Vector:
        """How far the middle moved, the shift of the origin apart."""
        return sub(sub(self.new[other].centroid, self.old[one].centroid), self.shift)

    def by_surface(self) -> Iterable[_Pair]:
        """Faces on one surface that lie over each other; those with the same outline first."""
        kinds: dict[str, list[Face]] = {}
        for face in self.new.values():
            kinds.setdefault(face.kind, []).append(face)
        for one in self.old.values():
            for other in kinds.get(one.kind, ()):
                if self._one_surface(one, other):
                    apart = self._apart(one, other)
                    alike = apart < NEAR and _equal(one.area, other.area)
                    if apart < NEAR or (self._overlap(one, other) and not self._slid(one, other)):
                        far = norm(self.away(one.number, other.number))
                        yield (0.0 if alike else 1.0 + apart), far, one.number, other.number

    def _one_surface(self, one: Face, other: Face) -> bool:
        if not _same_way(one, other) or not _same_sizes(one, other):
            return False
        if one.kind == "plane":
            return abs(dot(self.away(one.number, other.number), one.normal)) < NEAR
        if one.kind == "free_form" or one.axis_point is None or other.axis_point is None:
            return self._apart(one, other) < NEAR and _equal(one.area, other.area)
        away = sub(sub(other.axis_point, one.axis_point), self.shift)
        if one.axis is None or one.kind == "torus":
            return norm(away) < NEAR
        if one.kind == "cone":
            return self._apart(one, other) < NEAR or norm(away) < NEAR
        return norm(cross(away, one.axis)) < NEAR

    def _apart(self, one: Face, other: Face) -> float:
        """How far the corners of the boxes are from each other [mm]."""
        low = sub(sub(other.low, one.low), self.shift)
        high = sub(sub(other.high, one.high), self.shift)
        return max(norm(low), norm(high))

    def _overlap(self, one: Face, other: Face) -> bool:
        low, high = along(one.low, self.shift, 1.0), along(one.high, self.shift, 1.0)
        return all(other.low[k] < high[k] + NEAR and low[k] < other.high[k] + NEAR for k in range(3))

    def _slid(self, one: Face, other: Face) -> bool:
        """Whether it is the same shape in another place of its surface."""
        sizes = zip(sub(one.high, one.low), sub(other.high, other.low), strict=True)
        return _equal(one.area, other.area) and all(abs(a - b) < NEAR for a, b in sizes)

    def by_size(self) -> list[_Pair]:
        """Faces of one size and direction in other places; those whose neighbours moved alike first."""
        found = [(one, other) for one in self.left for other in self.free
                 if self.old[one].kind == self.new[other].kind and _equal(self.old[one].area, self.new[other].area)
                 and _same_way(self.old[one], self.new[other]) and _same_sizes(self.old[one], self.new[other])]
        ways = {pair: self.away(*pair) for pair in found}
        out = []
        for (one, other), way in ways.items():
            near = {m for m in self.old[one].neighbours for n in self.new[other].neighbours
                    if self._alike((m, n), way, ways)}
            out.append((-float(len(near)), norm(way), one, other))
        return out

    def _alike(self, pair: tuple[int, int], way: Vector, ways: dict[tuple[int, int], Vector]) -> bool:
        """Whether a pair of neighbours is a pair already, or would move the same way."""
        one, other = pair
        return self.pairs.get(one) == other or (pair in ways and norm(sub(ways[pair], way)) < NEAR)

    def by_neighbours(self) -> list[_Pair]:
        """Faces of one kind and direction, of another size, that lie among the same neighbours."""
        out = []
        for one in self.left:
            around = [self.pairs[n] for n in self.old[one].neighbours if n in self.pairs]
            for other in self.free:
                mine, theirs = self.old[one], self.new[other]
                if mine.kind != theirs.kind or not _same_way(mine, theirs):
                    continue
                shared = len(set(around) & set(theirs.neighbours))
                share = shared / max(len(set(mine.neighbours)), len(set(theirs.neighbours)), 1)
                if shared and share >= KNOWN:
                    out.append((-share, norm(self.away(one, other)), one, other))
        return out

    def told(self, face: Face) -> FaceMatch:
        """What became of a face."""
        other = self.pairs.get(face.number)
        if other is None:
            return FaceMatch(face.number, "lost")
        there = self.new[other]
        changed = not _equal(face.area, there.area) or not _same_sizes(face, there)
        if self._one_surface(face, there) and not (self._slid(face, there) and self._apart(face, there) >= NEAR):
            return FaceMatch(face.number, "same", other, changed=changed)
        return FaceMatch(face.number, "moved", other, _tidy(self._moved(face, there)), changed)

    def _moved(self, one: Face, other: Face) -> Vector:
        """How far a face moved: a flat along its normal where its outline changed, a round one by its axis."""
        away = self.away(one.number, other.number)
        if _equal(one.area, other.area):
            return away
        if one.kind == "plane":
            return along(NONE, one.normal, dot(away, one.normal))
        if one.axis is not None and one.axis_point is not None and other.axis_point is not None:
            away = sub(sub(other.axis_point, one.axis_point), self.shift)
            return along(away, one.axis, -dot(away, one.axis))
        return away


def _tidy(away: Vector) -> Vector:
    x, y, z = (0.0 if abs(part) < NEAR / 10 else part for part in away)
    return x, y, z


def feature_state(found: Match, feature: Feature) -> tuple[State, float]:
    """What became of an old feature, and how far its face that moved most has moved [mm].

    Lost if any face of it is lost; moved if any has moved; else same.
    """
    states = [found.of(number) for number in feature.faces]
    far = max((state.distance for state in states), default=0.0)
    if any(state.state == "lost" for state in states):
        return "lost", far
    return ("moved" if any(state.state == "moved" for state in states) else "same"), far


def told(old: Part, found: Match, faces: Iterable[int] | None = None) -> list[str]:
    """In words, what became of the old faces that are asked for (all where none are named), those that stayed apart.

    Args:
        old: the part that the job was planned on.
        found: its match with the revised model.
        faces: numbers of the old faces that the job uses [1].
    """
    lines = []
    if not math.isclose(norm(found.shift), 0.0, abs_tol=NEAR):
        x, y, z = (f"{part:.4g}" for part in found.shift)
        lines.append(f"{old.name}: the origin of the model is another: everything stands {x}, {y}, {z} mm further")
    wanted = None if faces is None else set(faces)
    for state in found.faces:
        if wanted is not None and state.old not in wanted:
            continue
        if state.state == "lost":
            lines.append(f"face {state.old} of {old.name} is lost")
        elif state.state == "moved":
            size = ", and is of another size" if state.changed else ""
            way = f"moved {state.distance:.4g} mm" if state.distance >= NEAR else "changed"
            lines.append(f"face {state.old} of {old.name} has {way}{size}; it is face {state.new} now")
    return lines


def renumbered(found: Match) -> dict[int, int]:
    """The new numbers of the old faces that are the same or moved."""
    return {state.old: state.new for state in found.faces if state.new is not None}
