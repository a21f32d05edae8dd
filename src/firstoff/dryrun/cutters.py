"""Tools of the shop as solids that cut, and all that stands above them. Geometry; mm."""

from __future__ import annotations

import math
from typing import Final

from ..checks._forces import shank, stickout
from ..checks.base import Case
from ..checks.si import TAPERED
from ..removal.collisions import Ring, rings_of
from ..removal.cutters import Cutter

POINT: Final = math.radians(118.0)      #: of a drill that does not say
NUT_HEIGHT: Final = 18.0                #: of a collet nut [mm]; judged
SPINDLE: Final = (1.5, 60.0)            #: what is above it: radius over that of the nut, and height [mm]; judged
_POINTED: Final = frozenset({"drill", "spot_drill", "countersink", "chamfer"})


def cutter_of(case: Case) -> Cutter:
    """The operation's tool as a solid of revolution.

    Raises:
        OutOfRange: if its sizes do not fit each other.
    """
    tool = case.tool
    if tool.neck is not None:
        head = (tool.diameter, tool.flute_length, tool.neck, tool.flutes)
        return Cutter.t_slot(*head) if tool.kind == "t_slot" else Cutter.dovetail(*head)
    half = 0.5 * (tool.point_angle or (POINT if tool.kind in _POINTED else 0.0))
    if half > 0.0 and tool.kind in TAPERED:
        return Cutter.tapered(tool.diameter, half, tool.tip_diameter, tool.corner_radius, tool.flutes,
                              tool.flute_length)
    if tool.kind == "ball":
        return Cutter(0.5 * tool.diameter, 0.0, 0.5 * tool.diameter, half, tool.flute_length, tool.flutes)
    if half > 0.0:
        return Cutter.chamfer(tool.diameter, 2.0 * half, tool.tip_diameter, tool.flutes, tool.flute_length)
    return Cutter.end_mill(tool.diameter, tool.corner_radius, tool.flutes, tool.flute_length)


def rings(case: Case, cutter: Cutter) -> tuple[tuple[Ring, ...], tuple[str, ...]]:
    """Cutter, shank, nut and spindle, and what of them is not known."""
    collet = case.shop.collets.get(case.op.collet or "")
    size = collet.nut_diameter if collet is not None else None
    nut = (0.5 * size, NUT_HEIGHT) if size else (0.0, 0.0)
    spindle = (SPINDLE[0] * 0.5 * size, SPINDLE[1]) if size else (0.0, 0.0)
    found = rings_of(cutter, stickout(case), 0.5 * shank(case), nut, spindle, case.tool.neck_length or math.inf)
    lacking = () if size else ("nut and spindle (nut_diameter of the collet)",)
    return tuple(ring for ring in found if ring.radius > 0.0), lacking
