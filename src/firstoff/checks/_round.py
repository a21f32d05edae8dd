"""Where a V-block, a collet block or a three-jaw chuck touches a round part: lines along it. In mm."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..errors import NameUnknown
from ..job.faces import resolve
from ..part.shapes import Face
from ._patches import Array, Patch
from .base import Case

#: holds round parts; the lines about the axis that stand still and those that press, as angles from the one that
#: presses [rad]
ROUND: Final[dict[str, tuple[tuple[float, ...], tuple[float, ...]]]] = {
    "v_block": ((math.radians(135.0), math.radians(-135.0)), (0.0,)),          # a V of 90 degrees and a yoke
    "three_jaw": ((math.radians(120.0), math.radians(-120.0)), (0.0,)),
    "collet_block": ((math.radians(120.0), math.radians(-120.0)), (0.0,)),     # a collet presses all round: as three
}
WIDE: Final = 1.0              #: width of a line of contact, for the springs alone [mm]
ENDS: Final = (0.1, 0.9)       #: where along its length a line is gathered in points


def round_face(case: Case) -> Face | None:
    """The round outside that is gripped; None where the setting grips something else."""
    for name in case.setting.holding.grip[:1]:
        try:
            face = case.part.faces[resolve(name, case.part, case.wanted.names)[0]]
        except NameUnknown:
            return None
        if face.kind == "cylinder" and not face.hollow and face.axis is not None and face.radius is not None:
            return face
    return None


def rounds(case: Case, kind: str, face: Face) -> list[Patch]:
    """The lines of contact on a round part: some stand still, one presses.

    A part that lies has its V below and its yoke above; one that stands has its V at the fixed jaw. The grip is as
    long as the setting says, from the foot of a standing part, else about the middle.
    """
    assert face.axis is not None and face.axis_point is not None and face.radius is not None
    up, axis = np.array(case.setting.up), np.array(face.axis) / np.linalg.norm(face.axis)
    standing = abs(float(axis @ up)) > math.sqrt(0.5)
    presses_from = np.cross(up, np.array(case.setting.across)) if standing else up
    one = presses_from - axis * float(axis @ presses_from)
    one = one / np.linalg.norm(one)
    two = np.cross(axis, one)
    low, high = _within(case, face, axis, up if standing else None)
    point = np.array(face.axis_point) - axis * float(axis @ np.array(face.axis_point))
    still, press = ROUND[kind]
    return [_line(face, name, angle, (one, two, axis, point), (low, high), clamp)
            for name, angles, clamp in (("fixed jaw", still, -1), ("moving jaw", press, 0)) for angle in angles
            if high > low]


def _within(case: Case, face: Face, axis: Array, up: Array | None) -> tuple[float, float]:
    """From where to where along the axis it is gripped."""
    ends = np.sort(axis * np.array([face.low, face.high]), axis=0)
    low, high = float(ends[0].sum()), float(ends[1].sum())
    grip = case.setting.holding.grip_height
    if grip <= 0.0 or grip >= high - low:
        return low, high
    if up is None:
        middle = (low + high) / 2.0
        return middle - grip / 2.0, middle + grip / 2.0
    return (low, low + grip) if float(axis @ up) > 0.0 else (high - grip, high)


def _line(
    face: Face, name: str, angle: float, frame: tuple[Array, Array, Array, Array], within: tuple[float, float],
    clamp: int,
) -> Patch:
    one, two, axis, point = frame
    out = one * math.cos(angle) + two * math.sin(angle)
    low, high = within
    along = np.array([low + share * (high - low) for share in ENDS])
    places = point + face.radius * out + along[:, None] * axis     # type: ignore[operator]
    areas = np.full(len(ENDS), WIDE * (high - low) / len(ENDS))
    return Patch(name, f"face {face.number}", -out, places, areas, clamp, places)
