"""How the face lies where a hole opens: square to the hole, or a slope that a drill slides down."""

from __future__ import annotations

import math
from typing import Final

from .shapes import Face, Feature, Part, Vector
from .vectors import along, dot, minus, norm, sub, unit

SAME: Final = 1e-6
SIDEWAYS: Final = 0.1        #: cosine below which a face is no mouth of a hole, but its wall [1]


def mouth_slope(feature: Feature, part: Part, way: Vector) -> float | None:
    """The angle between a hole and the square of the face that it opens in, from one side.

    Args:
        feature: a hole with an axis.
        part: that it is in.
        way: the side that it is drilled from, towards the tool.

    Returns:
        Angle [rad]; None where the axis or the face is not known, or the hole does not open to that side.
    """
    axis, top = feature.axis, feature.axis_point
    if axis is None or top is None:
        return None
    facing = dot(axis, way)
    if facing > 0.5:
        return angle_at(feature, part, axis, top)
    if facing < -0.5 and feature.through:
        return angle_at(feature, part, minus(axis), along(top, axis, -feature.size.get("depth", 0.0)))
    return None


def angle_at(feature: Feature, part: Part, way: Vector, end: Vector) -> float | None:
    """How far the face round one end of a hole is off its square [rad]; None where there is none that is known."""
    faces = {face.number: face for face in part.faces}
    own = set(feature.faces)
    around = {n for number in own if number in faces for n in faces[number].neighbours} - own
    best: tuple[float, float] | None = None
    for face in (faces[n] for n in sorted(around) if n in faces):
        normal = _normal_at(face, end)
        facing = dot(normal, way) if normal else 0.0
        if normal is None or facing < SIDEWAYS:
            continue
        off = abs(dot(sub(face.centroid, end), normal) / facing) if face.kind == "plane" else 0.0
        if best is None or off < best[0]:
            best = off, math.acos(min(1.0, facing))
    return None if best is None else best[1]


def _normal_at(face: Face, point: Vector) -> Vector | None:
    """Out of the material at a point of a flat or of the outside of a round; None for other faces."""
    if face.kind == "plane":
        return face.normal
    if face.kind != "cylinder" or face.hollow or face.axis is None or face.axis_point is None:
        return None
    arm = sub(point, face.axis_point)
    radial = along(arm, face.axis, -dot(arm, face.axis))
    return unit(radial) if norm(radial) > SAME else None
