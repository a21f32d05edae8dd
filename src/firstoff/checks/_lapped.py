"""A face that is lapped by hand until it reads right, and planes that stand off at three of their points."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..job.faces import locate
from ..job.models import Limit
from ..kept import kept
from ..part.shapes import Face
from ..stack.torsor import through_points
from ._locators import Array
from ._makers import Made
from .base import Case
from .si import metres

#: how true a face comes out at each of three points when it is lapped by hand and measured between strokes [mm];
#: judged
LAPPED_SD: Final = 0.003
#: how true a bore comes out when it is lapped out and tried between strokes [mm]; judged
BORE_LAPPED_SD: Final = 0.004


@kept(1024)
def by_three_points(face: Face) -> Array:
    """What three points of a face do to it, one at each end of one side and one in the middle of the other.

    Returns:
        A row for each point: rotation [rad] and translation [m] for each metre that it stands off, shape (3, 6).
    """
    low, high = metres(np.array([face.low, face.high]))
    normal = np.array(face.normal)
    one = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    one = one / np.linalg.norm(one)
    two = np.cross(normal, one)
    middle, reach = (low + high) / 2.0, (high - low) / 2.0
    long, wide = (max(float(np.abs(way) @ reach), 1e-6) for way in (one, two))
    points = np.array([middle - long * one - wide * two, middle + long * one - wide * two, middle + wide * two])
    return np.vstack(through_points(points, normal, np.eye(3))).T


def measured_from(case: Case, made: Made, limit: Limit) -> Face | None:
    """The flat face that a distance is measured from to a face; None where the limit is none of it."""
    if limit.kind != "distance":
        return None
    places = [locate(name, case.job, case.parts, limit.part) for name in limit.between]
    faces = [case.parts[place.part].faces[place.faces[0]] for place in places if place.part == made.part]
    other = [face for face in faces if face.number != made.face.number and face.kind == "plane"]
    return other[0] if len(faces) == 2 and len(other) == 1 else None
