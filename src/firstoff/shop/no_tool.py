"""Why a tool with such sizes cannot be, before anything is reckoned with it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from .models import Tool

#: kinds of cutters whose outline forces are reckoned along
_OUTLINED: Final = frozenset({"end_mill", "ball", "corner_radius", "face_mill", "chamfer"})
_STEEPEST: Final = math.radians(80.0)      #: helix that edges are followed along
_BLUNTEST: Final = math.radians(170.0)     #: included angle of a cone


def no_tool(tool: Tool) -> Iterator[str]:
    """Why a tool with such sizes cannot be, and what would be right."""
    if not 0.0 <= tool.helix <= _STEEPEST:
        yield (f"a helix of {math.degrees(tool.helix):.4g} deg: from 0 to 80 deg; a left-hand one is not reckoned")
    if tool.shank is not None and tool.shank <= 0.0:
        yield f"a shank of {tool.shank:g} mm: leave it out where it is as thick as the cutter"
    if tool.flute_length > tool.overall_length:
        yield f"flutes of {tool.flute_length:g} mm on a tool {tool.overall_length:g} mm long"
    if tool.stickout is not None and not 0.0 < tool.stickout < tool.overall_length:
        yield f"a stickout of {tool.stickout:g} mm on a tool {tool.overall_length:g} mm long: some stays gripped"
    if tool.rated_speed is not None and tool.rated_speed <= 0.0:
        yield "a rated speed that is not above 0: leave it out where the maker says none"
    if not 0.0 <= tool.corner_radius <= 0.5 * tool.diameter:
        yield f"a corner radius of {tool.corner_radius:g} mm: from 0 to half the diameter, {0.5 * tool.diameter:g} mm"
    yield from _no_cone(tool)


def _no_cone(tool: Tool) -> Iterator[str]:
    included = tool.point_angle
    most = _BLUNTEST if tool.kind in _OUTLINED else math.pi
    if included is not None and not 0.0 < included <= most:
        yield (f"a point_angle of {math.degrees(included):.4g} deg: the whole angle between both sides, at most "
               f"{math.degrees(most):.0f} deg")
    if tool.kind == "chamfer" and included is None:
        yield "a chamfer cutter needs its point_angle: the whole angle between both sides"
    if tool.tip_diameter < 0.0:
        yield f"a tip_diameter of {tool.tip_diameter:g} mm: 0 where it runs to a point"
    if included is not None and tool.kind in _OUTLINED:
        wide = tool.tip_diameter + 2.0 * tool.corner_radius * math.cos(0.5 * included)
        if wide > tool.diameter * (1.0 + 1e-9):
            yield f"a tip {wide:.4g} mm wide on a cutter of {tool.diameter:g} mm: diameter is that of the thick end"
        if tool.kind == "ball" and tool.corner_radius == 0.0:
            yield "a tapered ball nose needs the radius of its nose as corner_radius"
