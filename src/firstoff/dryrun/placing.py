"""Where things are when a workpiece is set up: faces by name, stock, jaws, zero; machine axes, mm.

Machine axes as a person sees them in front of the machine: x to the right, y away, z up. A model
point p lies at (p·x, p·y, p·z) of these axes, with the model's own origin.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from ..errors import NameUnknown
from ..job.faces import DIRECTIONS, SAME_PLANE, dot, resolve
from ..job.models import PartWanted
from ..job.route import Setting
from ..part.shapes import Face, Part, Vector
from ..shop.models import Device

ALONG: Final = 0.985         #: cosine from which a face counts as looking along an axis (10°)
MEET: Final = 0.2            #: [1] six times the volume between three normals: flatter corners are none
JAW_DRAWN: Final = 14.0      #: thickness of jaw that is drawn; the rest is broken off [mm]
VISES: Final = ("vise", "bench_vise", "angle_block")      #: an angle block sits in the vise


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def scaled(a: Vector, factor: float) -> Vector:
    """A vector times a number."""
    return a[0] * factor, a[1] * factor, a[2] * factor


def added(*vectors: Vector) -> Vector:
    """The sum of vectors."""
    return sum(v[0] for v in vectors), sum(v[1] for v in vectors), sum(v[2] for v in vectors)


@dataclass(frozen=True)
class Side:
    """A flat side of the workpiece: which way it looks, how far out it lies now, and its middle."""

    normal: Vector
    out: float                      # along the normal from the model's origin, stock included [mm]
    middle: Vector


@dataclass(frozen=True)
class Block:
    """A box in machine axes."""

    low: Vector
    high: Vector
    outward: Vector                 # of a jaw: away from the work, in the model's axes


@dataclass(frozen=True)
class Placed:
    """A part in a setting."""

    part: Part
    wanted: PartWanted
    setting: Setting
    device: Device | None

    @property
    def axes(self) -> tuple[Vector, Vector, Vector]:
        """Machine x, y, z in the model's axes."""
        return self.setting.across, cross(self.setting.up, self.setting.across), self.setting.up

    def model(self, at: Vector) -> Vector:
        """The model point at machine coordinates."""
        return added(*(scaled(axis, value) for axis, value in zip(self.axes, at, strict=True)))

    def machine(self, point: Vector) -> Vector:
        """Machine coordinates of a model point."""
        x, y, z = self.axes
        return dot(point, x), dot(point, y), dot(point, z)

    def face(self, name: str) -> Face | None:
        """The face that a person means; None where there is none, or a feature of several faces."""
        return face_of(self.part, self.wanted, name)

    def side(self, name: str) -> Side | None:
        """A flat side by name, with what is left on it when the setting begins."""
        found = self.face(name)
        if found is not None and found.kind == "plane":
            out = dot(found.centroid, found.normal) + self._left(found.normal, found.number)
            return Side(found.normal, out, found.centroid)
        normal = DIRECTIONS.get(self.wanted.names.get(name, name))
        if normal is None:
            return None
        low, high = self.part.low, self.part.high
        out = sum(max(a * n, b * n) for a, b, n in zip(low, high, normal, strict=True))
        return Side(normal, out + self._left(normal, None), scaled(added(low, high), 0.5))

    def _left(self, normal: Vector, number: int | None) -> float:
        for name, left in self.setting.stock_left.items():
            face = self.face(name)
            if face is not None and face.number == number:
                return left
            if face is None and (way := DIRECTIONS.get(name)) is not None and dot(way, normal) > ALONG:
                return left
        return 0.0

    def stock(self) -> tuple[Vector, Vector]:
        """Corners of the workpiece as it comes into the setting, in the model's axes."""
        low, high = list(self.part.low), list(self.part.high)
        for side in filter(None, map(self.side, self.setting.stock_left)):
            for axis in range(3):
                if side.normal[axis] > ALONG:
                    high[axis] = max(high[axis], side.out)
                elif side.normal[axis] < -ALONG:
                    low[axis] = min(low[axis], -side.out)
        return _vector(low), _vector(high)

    def corners(self) -> Iterator[Vector]:
        """The eight corners of the stock, in the model's axes."""
        yield from corners_of(*self.stock())

    def extent(self) -> tuple[Vector, Vector]:
        """Corners of the workpiece in machine axes: of the part's own lines, and of its stock."""
        points = self.part.outline
        if self.setting.stock_left:
            points = np.concatenate([points, list(self.corners())])
        x, y, z = points.T
        placed = [x * axis[0] + y * axis[1] + z * axis[2] for axis in self.axes]
        return _vector(float(p.min()) for p in placed), _vector(float(p.max()) for p in placed)

    def jaw_top(self) -> float | None:
        """Height of the jaws' top; None where nothing says it."""
        low, high = self.extent()
        holding = self.setting.holding
        if self.device is None or self.device.kind not in VISES:
            return None
        if holding.grip_height > 0:
            return low[2] + holding.grip_height
        return high[2] - holding.stick_up if holding.stick_up > 0 else None

    def bed(self) -> float:
        """Height of what the parallels, or the workpiece itself, stand on."""
        return self.extent()[0][2] - self.setting.holding.parallels

    def jaws(self) -> tuple[Block, ...]:
        """The two jaws as blocks: fixed, then moving; none where the grip is not in a vise."""
        top, grip, low, high = self.jaw_top(), self.setting.holding.grip, *self.extent()
        if top is None or self.device is None or len(grip) != 2:
            return ()
        sides = [self.side(name) for name in grip]
        blocks = [self._jaw(side, top, low, high) for side in sides if side is not None]
        return tuple(block for block in blocks if block is not None)

    def _jaw(self, side: Side, top: float, low: Vector, high: Vector) -> Block | None:
        way = self.machine(side.normal)
        for axis in (0, 1):
            if abs(way[axis]) < ALONG:
                continue
            along = 1 - axis
            half = (self.device.width or (high[along] - low[along])) / 2 if self.device else 0.0
            middle = (low[along] + high[along]) / 2
            near = side.out if way[axis] > 0 else -side.out
            far = near + (JAW_DRAWN if way[axis] > 0 else -JAW_DRAWN)
            ends = {axis: sorted((near, far)), along: [middle - half, middle + half], 2: [self.bed(), top]}
            return Block(_vector(ends[i][0] for i in range(3)), _vector(ends[i][1] for i in range(3)),
                         side.normal)
        return None

    def zero(self) -> Vector | None:
        """Where zero is set, in machine axes: on three flats, each square to one of them, or else the corner in which
        the three would meet. None where one is not flat, or they meet in no corner."""
        sides = [self.side(name) for name in (self.setting.zero.x, self.setting.zero.y, self.setting.zero.z)]
        flats = [side for side in sides if side is not None]
        if len(flats) < len(sides):
            return None
        ways = [self.machine(side.normal) for side in flats]
        if all(abs(way[axis]) >= ALONG for axis, way in enumerate(ways)):
            return _vector(side.out if way[axis] > 0 else -side.out
                           for axis, (side, way) in enumerate(zip(flats, ways, strict=True)))
        return _corner(ways, [side.out for side in flats])


def face_of(part: Part, wanted: PartWanted, name: str) -> Face | None:
    """The one face that a person means by "+Z", an own name, "face 12", or the id of a feature.

    Args:
        part: the digest of the model.
        wanted: what the job says of the part, for its own names.
        name: as written; a part's name and a point in front are dropped.

    Returns:
        The face, the largest of several in one plane; None where the name means none, or several.
    """
    try:
        numbers = resolve(name.removeprefix(f"{part.name}."), part, wanted.names)
    except NameUnknown:
        return None
    faces = [face for face in part.faces if face.number in numbers]
    flat = sorted((f for f in faces if f.kind == "plane"), key=lambda f: -f.area)
    if not flat:
        return faces[0] if len(faces) == 1 else None
    normal, out = flat[0].normal, dot(flat[0].centroid, flat[0].normal)
    level = all(dot(f.normal, normal) > ALONG and abs(dot(f.centroid, normal) - out) < SAME_PLANE for f in flat)
    return flat[0] if level and len(flat) == len(faces) else None


def _corner(ways: list[Vector], outs: list[float]) -> Vector | None:
    """Where three planes meet, by their normals and how far out they lie; None where they nearly do not."""
    one, two, three = ways
    all_three = dot(one, cross(two, three))
    if abs(all_three) < MEET:
        return None
    parts = (scaled(cross(two, three), outs[0]), scaled(cross(three, one), outs[1]), scaled(cross(one, two), outs[2]))
    return scaled(added(*parts), 1.0 / all_three)


def _vector(values: Iterable[float]) -> Vector:
    x, y, z = values
    return float(x), float(y), float(z)


def corners_of(low: Vector, high: Vector) -> Iterator[Vector]:
    """The eight corners of a box."""
    yield from product(*zip(low, high, strict=True))
