"""How near a program comes to finished faces of the part, by envelope and not by cells. Geometry; mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..checks._run import Spot
from ..errors import OutOfRange
from ..job.faces import DIRECTIONS
from ..part.shapes import Face, Vector
from ..removal.cutters import Cutter
from ..removal.faces import Cylinder, Distance, Plane, distance_to_cylinder, lowest_in, stretches_over
from ..removal.moves import Kind, Moves
from .placing import Placed, cross

Floats = NDArray[np.float64]
Longs = NDArray[np.int64]

INSIDE: Final = 0.05         #: a touch so far inside a face's outline counts as on it [mm]
UPRIGHT: Final = 1e-6        #: [1]
WHOLE: Final = 6.2           #: [rad] of a round wall that goes all the way round


@dataclass
class Faces:
    """The faces of a part that a cutter from above can reach, and the least distance to each so far.

    Fields:
        placed: the part in its setting.
        zero: in machine axes [mm].
        cutter: with which.
        finished: numbers of the faces that the operation finishes.
    """

    placed: Placed
    zero: Vector
    cutter: Cutter
    finished: frozenset[int]
    gouged: dict[int, Spot] = field(default_factory=dict)
    nearest: dict[int, Spot] = field(default_factory=dict)

    def look(self, moves: Moves) -> None:
        """Take some more moves into account."""
        cuts = moves.take(moves.kind != Kind.STAND)
        if not len(cuts):
            return
        for face in self.placed.part.faces:
            found = self._distance(face, cuts)
            if found is not None and len(found.least):
                self._note(face, found)

    def _distance(self, face: Face, moves: Moves) -> Distance | None:
        if face.kind == "plane":
            return self._from_plane(face, moves)
        if face.kind == "cylinder" and face.axis is not None and face.radius and (face.sweep or 0.0) > WHOLE:
            return self._from_cylinder(face, moves)
        return None

    def _from_plane(self, face: Face, moves: Moves) -> Distance | None:
        normal = self.placed.machine(face.normal)
        if (normal[2] < -UPRIGHT and self.cutter.neck == 0.0) or not face.outlines:
            return None
        along = (1.0, 0.0, 0.0) if abs(normal[2]) > 1.0 - UPRIGHT else _unit(cross((0.0, 0.0, 1.0), normal))
        points = self._from_zero(face.outlines[0])
        frame = np.array([along, cross(normal, along)])
        flat = points @ frame.T
        low, high = flat.min(axis=0), flat.max(axis=0)
        middle = frame.T @ ((low + high) / 2.0) + np.array(normal) * float((points @ np.array(normal)).mean())
        size = high - low
        plane = Plane(_vector(middle), normal, along, (float(size[0]), float(size[1])))
        try:
            line, begin, end, gaps = stretches_over(moves, self.cutter, plane)
        except OutOfRange:
            return None
        told = np.minimum(*gaps) < (np.inf if face.number in self.finished else 0.0)
        if not told.any():
            return None
        away, height, _ = lowest_in(self.cutter, normal)
        level = float(np.hypot(normal[0], normal[1]))
        towards = np.array([-normal[0], -normal[1], 0.0]) / level if level > UPRIGHT else np.zeros(3)
        touch = away * towards + np.array([0.0, 0.0, height])
        loops = [self._from_zero(loop) @ frame.T for loop in face.outlines]
        upright = abs(normal[2]) < UPRIGHT
        ends = [(points[told] + touch) @ frame.T for points in (begin, end)]
        which, share = _shares(ends[0], ends[1], loops[:0] if upright else loops)
        on = _within(ends[0][which] + (ends[1] - ends[0])[which] * share[:, None], loops, upright)
        which, share = which[on], share[on]
        one, two = (gap[told][which] for gap in gaps)
        place = begin[told][which] + (end - begin)[told][which] * share[:, None]
        return Distance(line[told][which], one + (two - one) * share, place)

    def _from_cylinder(self, face: Face, moves: Moves) -> Distance | None:
        assert face.axis is not None and face.axis_point is not None and face.radius is not None
        axis = self.placed.machine(face.axis)
        if abs(abs(axis[2]) - 1.0) > UPRIGHT:
            return None
        ends = [self.placed.machine(corner) for corner in (face.low, face.high)]
        low, high = sorted(end[2] - self.zero[2] for end in ends)
        centre = self._from_zero([face.axis_point])[0]
        wall = Cylinder((float(centre[0]), float(centre[1]), low), face.radius, high - low, face.hollow)
        return distance_to_cylinder(moves, self.cutter, wall)

    def _from_zero(self, points: Sequence[Vector]) -> Floats:
        return np.asarray(np.array([self.placed.machine(point) for point in points]) - np.array(self.zero))

    def _note(self, face: Face, found: Distance) -> None:
        """A cutter that is deeper in than its own radius works at another face behind this one."""
        real = found.least > -self.cutter.radius
        if not real.any():
            return
        gaps = self._out_over_the_edge(face, found)
        at = int(np.flatnonzero(real)[gaps[real].argmin()])
        least, line = float(gaps[at]), int(found.line[at])
        if least < 0.0 and -least > self.gouged.get(face.number, Spot(0, "", 0.0)).size:
            self.gouged[face.number] = Spot(line, self._name(face), -least)
        if face.number in self.finished and least < self.nearest.get(face.number, Spot(0, "", np.inf)).size:
            self.nearest[face.number] = Spot(line, self._name(face), least)

    def _out_over_the_edge(self, face: Face, found: Distance) -> Floats:
        """Distances from a face; into it no deeper than the tip is below its upper edge: above that is none."""
        top = max(self.placed.machine(end)[2] for end in (face.low, face.high)) - self.zero[2]
        below = np.maximum(top - found.place[:, 2], 0.0)
        return np.where(found.least < 0.0, np.maximum(found.least, -below), found.least)

    def _name(self, face: Face) -> str:
        """A face by its number, where it looks, and the feature that it is of: "face 7 (+Z, passage 1)"."""
        way = next((name for name, axis in DIRECTIONS.items() if face.kind == "plane"
                    and sum(a * b for a, b in zip(axis, face.normal, strict=True)) > 1.0 - UPRIGHT), "")
        feature = next((f.id for f in self.placed.part.features if face.number in f.faces and f.kind != "stock"), "")
        round_one = f"Ø{2.0 * face.radius:.4g}" if face.kind == "cylinder" and face.radius else ""
        said = ", ".join(filter(None, (way, round_one, feature.replace("-", " "))))
        return f"face {face.number}" + (f" ({said})" if said else "")

    @property
    def left(self) -> tuple[Spot, ...]:
        """What stays on faces that were passed along."""
        return tuple(spot._replace(size=max(0.0, spot.size)) for spot in self.nearest.values())


def _shares(begin: Floats, end: Floats, loops: Sequence[Floats]) -> tuple[Longs, Floats]:
    """Places along straight pieces at which a distance may be least: each end, just inside it, just inside each
    crossing of an outline, and halfway between two of them.

    Args:
        begin: of n pieces, in the face [mm], shape (n, 2).
        end: of them [mm], shape (n, 2).
        loops: outlines that they may cross.

    Returns:
        Pieces and shares of them [1], as many of each.
    """
    way = end - begin
    stops = [np.zeros((len(begin), 1)), np.ones((len(begin), 1))]
    for loop in loops:
        side, from_start = np.roll(loop, -1, axis=0) - loop, loop - begin[:, None]
        across = way[:, None, 0] * side[:, 1] - way[:, None, 1] * side[:, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (from_start[..., 0] * side[:, 1] - from_start[..., 1] * side[:, 0]) / across
            along = (from_start[..., 0] * way[:, None, 1] - from_start[..., 1] * way[:, None, 0]) / across
        crossed = (share > 0.0) & (share < 1.0) & (along >= 0.0) & (along <= 1.0)
        stops.append(np.where(crossed, share, 1.0))
    sorted_stops = np.sort(np.concatenate(stops, axis=1), axis=1)
    one, two = sorted_stops[:, :-1], sorted_stops[:, 1:]
    length = np.maximum(np.hypot(*way.T), 1e-12)[:, None]
    in_by = np.minimum(0.5 * (two - one), 2.0 * INSIDE / length)
    shares = np.concatenate([one, one + in_by, 0.5 * (one + two), two - in_by, two], axis=1)
    real = np.tile(two - one > 0.0, (1, 5))
    real[~real.any(axis=1), 0] = True       # goes nowhere, as seen from the face
    which = np.broadcast_to(np.arange(len(begin))[:, None], shares.shape)
    return which[real], shares[real]


def _within(points: Floats, loops: Sequence[Floats], upright: bool) -> NDArray[np.bool_]:
    """Which points lie inside an outline and outside its holes, a little away from both.

    A wall is touched by the rim of the cutter or by all of its side: what lies under its upper edge counts.
    """
    if upright:
        low, high = loops[0].min(axis=0), loops[0].max(axis=0)
        return np.asarray((points[:, 0] > low[0] + INSIDE) & (points[:, 0] < high[0] - INSIDE))
    inside = np.zeros(len(points), dtype=np.bool_)
    clear = np.ones(len(points), dtype=np.bool_)
    for loop in loops:
        start, stop = loop, np.roll(loop, -1, axis=0)
        rises = (start[:, 1] > points[:, None, 1]) != (stop[:, 1] > points[:, None, 1])
        run = np.where(stop[:, 1] == start[:, 1], 1.0, stop[:, 1] - start[:, 1])
        cut = start[:, 0] + (points[:, None, 1] - start[:, 1]) / run * (stop[:, 0] - start[:, 0])
        inside ^= (rises & (points[:, None, 0] < cut)).sum(axis=1) % 2 == 1
        way = stop - start
        square = np.maximum((way**2).sum(axis=1), 1e-18)
        share = np.clip((((points[:, None] - start) * way).sum(axis=2)) / square, 0.0, 1.0)
        gap = np.linalg.norm(points[:, None] - (start + share[..., None] * way), axis=2).min(axis=1)
        clear &= gap > INSIDE
    return np.asarray(inside & clear)


def _unit(a: Vector) -> Vector:
    size = float(np.linalg.norm(a))
    return a[0] / size, a[1] / size, a[2] / size


def _vector(a: Floats) -> Vector:
    x, y, z = a.tolist()
    return x, y, z
