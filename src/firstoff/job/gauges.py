"""Which kinds of instrument reach a limit: over two faces from outside, between them, from one down to the other."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from ..errors import NameUnknown
from ..part.shapes import Face, Part
from ..shop.models import Shop
from .faces import dot, locate
from .models import Job, Limit

OUTSIDE: Final = ("micrometer", "caliper", "height_gauge")
INSIDE: Final = ("pin_gauge", "caliper")
DOWN: Final = ("depth_micrometer", "caliper", "height_gauge")
BESIDE_A_HOLE: Final = ("caliper", "height_gauge")
#: by kind of limit; a distance by how its faces look at each other
_BY_KIND: Final[dict[str, tuple[str, ...]]] = {
    "size": INSIDE, "clearance": INSIDE, "depth": ("depth_micrometer", "caliper"),
    "flatness": ("indicator", "feeler"), "parallelism": ("indicator", "micrometer"),
    "squareness": ("square", "indicator"), "angle": ("protractor", "indicator"), "position": BESIDE_A_HOLE,
    "chain": ("feeler", "caliper", "pin_gauge"),
}


def gauges(limit: Limit, job: Job, parts: Mapping[str, Part]) -> tuple[str, ...]:
    """Kinds of instrument that can be put to a limit.

    Args:
        limit: what is measured.
        job: for names of faces.
        parts: digest of each part.
    """
    if limit.kind != "distance":
        return _BY_KIND.get(limit.kind, OUTSIDE)
    try:
        places = [locate(name, job, parts, limit.part) for name in limit.between]
        one, two = (parts[place.part].faces[place.faces[0]] for place in places)
    except (NameUnknown, ValueError):
        return OUTSIDE        # what cannot be found is told where the route is followed
    if one.kind != "plane" or two.kind != "plane":
        return BESIDE_A_HOLE
    return _between(one, two)


def suited(limit: Limit, nominal: float, job: Job, parts: Mapping[str, Part], shop: Shop) -> str | None:
    """The instrument of a shop for a limit that names none: the coarsest that proves it, else the finest that can.

    Args:
        limit: what is measured.
        nominal: its size [mm].
        job: for names of faces.
        parts: digest of each part.
        shop: whose instruments there are.
    """
    width, kinds = limit.tolerance[1] - limit.tolerance[0], gauges(limit, job, parts)
    able = [(one.uncertainty.value, key) for key, one in shop.instruments.items()
            if one.kind in kinds and one.range[0] <= nominal <= one.range[1]]
    proving = [pair for pair in able if 4.0 * pair[0] < width]
    best = max(proving, default=None) or min(able, default=None)
    return None if best is None else best[1]


def _between(one: Face, two: Face) -> tuple[str, ...]:
    """Two flat faces: they look away from each other, at each other, or the same way."""
    x, y, z = (b - a for a, b in zip(one.centroid, two.centroid, strict=True))
    if dot(one.normal, two.normal) > 0.0:
        return DOWN
    return INSIDE if dot(one.normal, (x, y, z)) > 0.0 else OUTSIDE
