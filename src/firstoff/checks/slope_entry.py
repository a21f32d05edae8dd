"""A drill comes down on a slope and skids: a flat comes first, by an end mill."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.wander import sideways, slope_side_force, uneven_lips_force
from ..medians import median
from ..part.mouth import mouth_slope
from ..units import tell
from ._chance import discrepancy
from ._drills import FLAT, POINT
from .base import Case, Check, Finding, Spread
from .drilling import before, lip_force
from .si import metres, millimetres
from .wander import allowed, beyond, press_of, side_give, walks

NAME: Final = "slope entry"

FIRST: Final = frozenset({"spot", "drill"})


def slope(case: Case) -> float:
    """The steepest mouth among the holes of an operation, as seen from its setting [rad]; 0 where all are flat."""
    return max((mouth_slope(f, case.part, case.setting.up) or 0.0 for f in case.features if f.kind == "hole"),
               default=0.0)


def _first(case: Case) -> bool:
    """Whether nothing has touched these holes before."""
    return not any(feature in op.features for op in before(case) for feature in case.op.features)


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.op.role in FIRST
            and case.tool.kind in ("drill", "spot_drill", "chamfer") and bool(case.op.cut.feed_per_tooth)
            and slope(case) > FLAT and _first(case))


def _evaluate(case: Case, belief: Belief) -> Finding:
    angle, point, units = slope(case), case.tool.point_angle or POINT, case.job.units
    room, _ = allowed(case)
    press, stiffness = press_of(case, belief), side_give(case, belief)
    skids = sideways(slope_side_force(press, angle) + _uneven(case, belief, angle, point), stiffness)
    p = beyond(room, walks(press, stiffness, guided=False), 0.0, skids)
    corner = angle >= (math.pi - point) / 2.0
    if corner:
        p = np.ones_like(p)
    off = millimetres(skids)
    because = (f"the face is {math.degrees(angle):.0f}° off square: "
               + ("a lip touches it before the point does" if corner else
                  f"the point is pushed about {tell(median(off), 'length', units, 2)} down the slope, "
                  f"{tell(room, 'length', units, 2)} is allowed")
               + f"; mill a flat there first, with an end mill of up to {_widest(case)}")
    return Finding(NAME, "operation", case.name, "part", p, Spread.of(off), Spread.of(room), "mm", because,
                   "drill one in a scrap that is tilted as much")


def _uneven(case: Case, belief: Belief, angle: float, point: float) -> Rows:
    """Side force of lips that cut on the high side alone, by row [N]."""
    feed = metres((case.op.cut.feed_per_tooth or 0.0) * case.tool.flutes)
    force = lip_force(case, belief) * discrepancy(belief, "drilling")
    return uneven_lips_force(force, metres(case.tool.diameter), feed, angle, point)


def _widest(case: Case) -> str:
    sizes = [f.size["diameter"] for f in case.features if f.size.get("diameter")]
    return tell(min(sizes), "length", case.job.units) if sizes else "the hole's size"


CHECK = Check(NAME, "drill skids on a slope", "part", "operation", _applies, _evaluate)
