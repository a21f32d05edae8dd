"""Names of faces as people write them, resolved to numbers of the digest.

"+Z" is the outermost flat face that looks that way in the model; own names stand under
`[parts.X.names]`; a feature id means its faces; "face 12" is a number. "body.+Z" names the part too.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from ..errors import NameUnknown
from ..part.shapes import Face, Feature, Part, Vector
from .models import Job

#: the six directions of a part's own axes
DIRECTIONS: Final[dict[str, Vector]] = {
    "+X": (1.0, 0.0, 0.0), "-X": (-1.0, 0.0, 0.0), "+Y": (0.0, 1.0, 0.0),
    "-Y": (0.0, -1.0, 0.0), "+Z": (0.0, 0.0, 1.0), "-Z": (0.0, 0.0, -1.0),
}
PARALLEL: Final = 1e-6      #: 1 - cosine below which two directions are the same
SAME_PLANE: Final = 1e-3    #: [mm] faces closer than this along their normal lie in one plane


def dot(a: Vector, b: Vector) -> float:
    """The product of two directions, or a place measured along a direction."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def outermost(part: Part, direction: Vector) -> tuple[Face, ...]:
    """The outermost flat faces that look in a direction: one, or several in one plane; largest first."""
    if direction not in part.outer:
        part.outer[direction] = _outermost(part, direction)
    return part.outer[direction]


def _outermost(part: Part, direction: Vector) -> tuple[Face, ...]:
    flat = [f for f in part.faces if f.kind == "plane" and dot(f.normal, direction) > 1.0 - PARALLEL]
    if not flat:
        return ()
    edge = max(dot(f.centroid, direction) for f in flat)
    there = [f for f in flat if dot(f.centroid, direction) > edge - SAME_PLANE]
    return tuple(sorted(there, key=lambda f: (-f.area, f.number)))


def resolve(name: str, part: Part, names: Mapping[str, str] | None = None, where: str = "") -> tuple[int, ...]:
    """The faces that a name means, as numbers of the digest.

    Raises:
        NameUnknown: with the names that exist.
    """
    names = names or {}
    meant = _own(name, names)
    if meant in DIRECTIONS:
        faces = tuple(f.number for f in outermost(part, DIRECTIONS[meant]))
    elif numbered := re.fullmatch(r"face[ -]?(\d+)", meant):
        faces = tuple(f.number for f in part.faces if f.number == int(numbered[1]))
    else:
        faces = next((f.faces for f in part.features if f.id == meant), ())
    if not faces:
        said = name if meant == name else f"{name} ({meant})"
        raise NameUnknown(f"{part.name} has no face {said!r}", where=where, right=_known(part, names))
    return faces


def _own(name: str, names: Mapping[str, str]) -> str:
    """Follow own names to what they stand for; a name may stand for another once or twice."""
    for _ in range(len(names)):
        if name not in names or name in DIRECTIONS:
            break
        name = names[name]
    return name


def _known(part: Part, names: Mapping[str, str]) -> str:
    sides = [side for side, way in DIRECTIONS.items() if outermost(part, way)]
    ids = [feature.id for feature in part.features]
    last = part.faces[-1].number if part.faces else 0
    return f"it has {', '.join([*sides, *sorted(names), *ids])} and face 0 to face {last}"


def feature_named(name: str, part: Part, names: Mapping[str, str] | None = None, where: str = "") -> Feature:
    """The feature that a name means: its id, an own name for it, or the one that owns the named face.

    Raises:
        NameUnknown: with the names that exist.
    """
    meant = _own(name, names or {})
    for feature in part.features:
        if feature.id == meant:
            return feature
    number = resolve(name, part, names, where)[0]
    for feature in part.features:
        if number in feature.faces:
            return feature
    raise NameUnknown(f"face {number} of {part.name} belongs to no feature", where=where,
                      right=_known(part, names or {}))


@dataclass(frozen=True)
class Place:
    """Faces of one part."""

    part: str
    faces: tuple[int, ...]


def locate(name: str, job: Job, parts: Mapping[str, Part], default: str | None = None, where: str = "") -> Place:
    """Resolve "body.+Z", or a name in the part that is meant by default.

    Raises:
        NameUnknown: with the names that exist.
    """
    head, point, rest = name.partition(".")
    if point and head in parts:
        return Place(head, resolve(rest, parts[head], job.parts[head].names, where))
    if default is None or default not in parts:
        raise NameUnknown(f"{name!r} does not say of which part", where=where,
                          right=f"write it like {next(iter(parts), 'part')}.{rest or head}")
    return Place(default, resolve(name, parts[default], job.parts[default].names, where))


def signature(face: Face) -> tuple[str, float, Vector, int]:
    """What a face is known again by in a revised model: kind, area, middle, number of neighbours."""
    x, y, z = (round(c, 3) + 0.0 for c in face.centroid)
    return face.kind, round(face.area, 3), (x, y, z), len(face.neighbours)
