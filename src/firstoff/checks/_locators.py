"""Where a setting touches its part: three points below, two at a side, one at an end. In the part's axes, metres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from ..errors import NameUnknown
from ..job.faces import resolve
from ..job.route import Setting
from ..part.shapes import Face, Part
from .si import metres

Array = NDArray[np.float64]
Kind = Literal["rest", "side", "end"]

#: the share of a face's reach at which it is taken to rest: parallels and packing lie inside its edges
INSIDE: Final = 0.8
#: cosine above which two faces place a part in the same direction
_SAME: Final = 0.9


@dataclass(frozen=True)
class Locator:
    """One point at which a part is placed.

    Fields:
        kind: what it belongs to.
        face: the face that it touches; None where nothing but the eye places the part there.
        point: where [m], shape (3,).
        normal: out of the part, against what places it [1], shape (3,).
        far: how far towards the moving jaw it lies: 0 at the fixed one, 1 at the moving one [1].
    """

    kind: Kind
    face: Face | None
    point: Array
    normal: Array
    far: float


def locators(setting: Setting, part: Part, names: dict[str, str]) -> tuple[Locator, ...]:
    """The six points that place a part in a setting, in order of its datums: below, at the side, at the end.

    Where a datum is not named, or does not place anything new, the part is laid there by eye.
    """
    faces = [face for name in setting.datums if (face := _flat(name, part, names)) is not None]
    up, across = np.array(setting.up), np.array(setting.across)
    rest = faces[0] if faces else None
    down = -up if rest is None else np.array(rest.normal)
    side = _next(faces[1:], [down])
    sideways = -np.cross(up, across) if side is None else np.array(side.normal)
    end = _next(faces[1:], [down, sideways])
    endways = _square(np.cross(down, sideways)) if end is None else np.array(end.normal)
    long = _square(np.cross(sideways, down))
    spots = [("rest", rest, down, (long, _square(np.cross(down, long))), ((-1.0, -1.0), (1.0, -1.0), (0.0, 1.0))),
             ("side", side, sideways, (_square(np.cross(down, sideways)), -down), ((-1.0, 0.0), (1.0, 0.0))),
             ("end", end, endways, (_square(np.cross(endways, down)), -down), ((0.0, 0.0),))]
    found = []
    for kind, face, normal, (one, other), places in spots:
        low, high = _box(face, part)
        middle, reach = (low + high) / 2.0, (high - low) / 2.0
        for along, aside in places:
            point = (middle + INSIDE * along * one * float(np.abs(one) @ reach)
                     + INSIDE * aside * other * float(np.abs(other) @ reach))
            found.append((kind, face, point, normal))
    return tuple(Locator(kind, face, point, normal, _far(point, part, sideways))     # type: ignore[arg-type]
                 for kind, face, point, normal in found)


def _flat(name: str, part: Part, names: dict[str, str]) -> Face | None:
    try:
        face = part.faces[resolve(name, part, names)[0]]
    except NameUnknown:
        return None
    return face if face.kind == "plane" else None


def _next(faces: list[Face], taken: list[Array]) -> Face | None:
    """The next face that places the part in a direction that is not taken yet."""
    return next((f for f in faces if all(abs(float(np.array(f.normal) @ way)) < _SAME for way in taken)), None)


def _square(way: Array) -> Array:
    return np.asarray(way / np.linalg.norm(way))


def _box(face: Face | None, part: Part) -> tuple[Array, Array]:
    low, high = (part.low, part.high) if face is None else (face.low, face.high)
    return metres(np.array(low)), metres(np.array(high))


def _far(point: Array, part: Part, sideways: Array) -> float:
    """0 at the side that the part is pressed against, 1 opposite."""
    corners = metres(np.array([part.low, part.high]))
    ends = sorted(float(sideways @ np.where(sideways > 0, corners[k], corners[1 - k])) for k in (0, 1))
    reach = ends[1] - ends[0]
    return 0.0 if reach <= 0.0 else float((ends[1] - sideways @ point) / reach)
