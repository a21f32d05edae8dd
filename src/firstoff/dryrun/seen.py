"""Sizes of a feature as seen from a tool: how deep, how wide, how tight its corners, how much there is in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from ..job.faces import PARALLEL, dot
from ..kept import kept
from ..part.shapes import Face, Feature, Part, Vector

ROUND: Final = 6.0     #: [rad] a cylinder that covers more than this is a bore, not a corner


def span(low: Vector, high: Vector, way: Vector) -> tuple[float, float]:
    """From where to where a box reaches along a direction [mm]."""
    ends = [dot((x, y, z), way) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    return min(ends), max(ends)


@dataclass(frozen=True)
class Seen:
    """A feature from one direction.

    Fields:
        depth: from its top to its bottom along the tool [mm].
        reach: from the top of the part to its bottom [mm].
        length: longer extent across the tool [mm].
        width: shorter extent across the tool [mm].
        corner: radius of its tightest upright inner corner, 0 if none [mm].
        around: length of its walls, once round [mm].
        middle: middle of its faces [mm].
        along: direction of its longer extent in the part's axes [1].
    """

    depth: float
    reach: float
    length: float
    width: float
    corner: float
    around: float
    middle: Vector
    along: Vector


@kept(2048)
def seen(part: Part, feature: Feature, up: Vector) -> Seen:
    """Look at a feature along the tool."""
    faces = [f for f in part.faces if f.number in feature.faces]
    spans = [face_span(f, up) for f in faces]
    bottom, top = min(s[0] for s in spans), max(s[1] for s in spans)
    one, other = _plane(up)
    extents = [max(face_span(f, w)[1] for f in faces) - min(face_span(f, w)[0] for f in faces) for w in (one, other)]
    walls = [f for f in faces if _upright(f, up)]
    depth = top - bottom
    return Seen(
        depth=depth, reach=span(part.low, part.high, up)[1] - bottom, length=max(extents), width=min(extents),
        corner=min(_corners(faces, up), default=0.0), around=sum(f.area for f in walls) / max(depth, 1e-9),
        middle=_middle(faces), along=one if extents[0] >= extents[1] else other,
    )


def _plane(up: Vector) -> tuple[Vector, Vector]:
    """Two directions square to the tool, along the part's axes where they can be."""
    axis = (0.0, 1.0, 0.0) if abs(up[1]) < 0.9 else (1.0, 0.0, 0.0)
    one = (axis[1] * up[2] - axis[2] * up[1], axis[2] * up[0] - axis[0] * up[2], axis[0] * up[1] - axis[1] * up[0])
    size = math.sqrt(dot(one, one))
    one = (one[0] / size, one[1] / size, one[2] / size)
    return one, (one[1] * up[2] - one[2] * up[1], one[2] * up[0] - one[0] * up[2], one[0] * up[1] - one[1] * up[0])


def _upright(face: Face, up: Vector) -> bool:
    """Whether a face is a wall along the tool."""
    if face.kind == "plane":
        return abs(dot(face.normal, up)) < 1e-3
    return face.kind == "cylinder" and face.axis is not None and abs(dot(face.axis, up)) > 1.0 - PARALLEL


def face_span(face: Face, way: Vector) -> tuple[float, float]:
    """From where to where a face reaches along a direction [mm]; by its outline where the direction is slanting."""
    if max(abs(c) for c in way) > 1.0 - PARALLEL or not face.outlines:
        return span(face.low, face.high, way)
    along = [dot(point, way) for outline in face.outlines for point in outline]
    return min(along), max(along)


def _corners(faces: list[Face], up: Vector) -> list[float]:
    return [f.radius for f in faces if f.kind == "cylinder" and f.hollow and f.radius and f.axis
            and abs(dot(f.axis, up)) > 1.0 - PARALLEL and (f.sweep or 0.0) < ROUND]


def _middle(faces: list[Face]) -> Vector:
    whole = sum(f.area for f in faces) or 1.0
    x, y, z = (sum(f.area * f.centroid[i] for f in faces) / whole for i in range(3))
    return x, y, z


def point_length(diameter: float, angle: float | None) -> float:
    """Length of a drill's point [mm]: the radius over the tangent of half its angle."""
    return diameter / 2.0 / math.tan((angle or math.radians(118.0)) / 2.0)
