"""The one converter: windows, tools and cuts in mm go in, coherent SI comes out. Nobody else multiplies by 1e-3."""

from __future__ import annotations

from typing import Final, TypeVar

import numpy as np

from ..belief import Belief, Rows
from ..shop.models import Tool
from .base import Case

Size = TypeVar("Size", float, Rows)

MM: Final = 1e-3          #: [m/mm]
INCH: Final = 25.4 * MM   #: [m]
MINUTE: Final = 60.0      #: [s]
#: kinds of cutters that an included angle makes tapered
TAPERED: Final = frozenset({"end_mill", "ball", "corner_radius", "face_mill"})
_ROUND, _HALVINGS = 1e-6, 40
HOUR: Final = 3600.0      #: [s]


def metres(mm: Size) -> Size:
    """Millimetres to metres."""
    return mm * MM


def millimetres(m: Size) -> Size:
    """Metres to millimetres."""
    return m / MM


def minutes(seconds: float) -> float:
    """Seconds to minutes, for people and for their wages."""
    return seconds / MINUTE


def hours(minutes_: float) -> float:
    """Minutes to hours."""
    return minutes_ * MINUTE / HOUR


def seconds(minutes_: float) -> float:
    """Minutes to seconds."""
    return minutes_ * MINUTE


def micrometres(m: Rows) -> Rows:
    """Metres to micrometres, for people."""
    return np.asarray(m / (MM * MM))


def value(belief: Belief, entity: str, parameter: str) -> Rows:
    """A believed parameter by row in SI, whatever unit its column is kept in [N]."""
    key = parameter if (entity, parameter) in belief.columns else None
    rows = belief.value(entity, parameter)
    if key is not None and belief.column(entity, parameter).unit == "mm":
        return metres(rows)
    return rows


def tool_radius(case: Case) -> float:
    """Radius of the operation's tool [m]."""
    return metres(case.tool.diameter) / 2.0


def working_diameter(case: Case, depth: float) -> float:
    """Diameter of the tool that works at a depth of cut [m].

    Args:
        case: an operation with a tool.
        depth: depth of cut [mm].

    Returns:
        Working diameter [m].
    """
    return width_at(case.tool, depth)


def width_at(tool: Tool, depth: float) -> float:
    """How wide a cutter is where it comes out of the metal [m].

    Args:
        tool: the cutter; an included angle makes a taper of it.
        depth: depth of cut [mm].
    """
    from ..cutting.engagement import ball_diameter, chamfer_diameter, corner_diameter

    deep, size = metres(depth), metres(tool.diameter)
    if tool.point_angle and tool.kind in TAPERED:
        from ..cutting.edge import Profile, profile_radius

        outline = Profile(size, metres(tool.corner_radius), tool.point_angle / 2.0, metres(tool.tip_diameter))
        return 2.0 * float(profile_radius(outline, deep))
    if tool.kind == "ball":
        return float(ball_diameter(deep, size))
    if tool.kind == "chamfer" and tool.point_angle:
        return float(chamfer_diameter(deep, metres(tool.tip_diameter), tool.point_angle / 2.0, size))
    return float(corner_diameter(deep, size, metres(tool.corner_radius)))


def takes(tool: Tool, depth: float, width: float) -> bool:
    """Whether the outline of a cutter takes a pass so deep and wide [mm] at once: a ball or a taper that is narrower
    there leaves ridges as high as the pass.
    """
    leans = tool.kind == "ball" or bool(tool.point_angle)
    return not leans or depth <= 0.0 or width <= millimetres(width_at(tool, depth)) * (1.0 + _ROUND)


def shallowest(tool: Tool, width: float) -> float:
    """The least depth at which its outline takes a pass so wide, no wider than the cutter [mm]."""
    low, high = 0.0, tool.flute_length
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if takes(tool, middle, width) else (middle, high)
    return high


def per_mm(value: Rows) -> Rows:
    """N/m to N/mm, for people."""
    return np.asarray(value * MM)


def mpa(pascal: Rows) -> Rows:
    """Pa to N/mm2, for people."""
    return np.asarray(pascal * MM * MM)


def newtons_per_micrometre(stiffness: Rows) -> Rows:
    """N/m to N/um, for people."""
    return np.asarray(stiffness * MM * MM)


def pascal(n_mm2: float) -> float:
    """N/mm2 to Pa."""
    return n_mm2 / (MM * MM)


def cubic_metres(mm3: float) -> float:
    """mm3 to m3."""
    return mm3 * MM * MM * MM


def square_metres(mm2: float) -> float:
    """mm2 to m2."""
    return mm2 * MM * MM
