"""A drill wanders: its point walks before it bites, and its axis runs off with depth."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.chisel import CHISEL, chisel_press
from ..cutting.push_off import FLUTED_CORE, equivalent_diameter, series_stiffness, tool_stiffness
from ..cutting.wander import chance_beyond, run_off, sideways
from ..job.models import ScrewJoint
from ..medians import median
from ..normal import normal_quantile
from ..units import tell
from ._chance import discrepancy, known
from ._drills import REFERENCE_AREA
from ._forces import machine_entity, tool_give
from ._screws import hole_of, screw_of
from .base import Case, Check, Finding, Spread
from .drilling import before, lip_force, pilot_of
from .si import metres, millimetres, square_metres

NAME: Final = "wander"

#: Side force of a point that walks over the press of its chisel edge: lips that are not alike, a skin that is not
#: even; judged, × and ÷ 2 from drill to drill.
WALKS: Final = 0.1
#: What is left of it where the point drops into a spot or a pilot; judged, × and ÷ 2.
GUIDED: Final = 0.1
#: Sideways over depth of the axis of a hole, one standard deviation from hole to hole; judged.
RUNS_OFF: Final = 0.002
#: How far a hole may lie from its place where nobody says [mm]: half of what iso2768 (m) leaves between two holes.
ALLOWED: Final = 0.15
#: Flute length of a standard drill over its diameter to this power [mm]: what stands out of the chuck (iso235).
FLUTES, FLUTES_POWER = 16.0, 0.73
_STRATA: Final = 9


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.op.role == "drill"
            and case.tool.kind == "drill" and bool(case.op.cut.feed_per_tooth) and pilot_of(case) == 0.0)


def spotted(case: Case) -> bool:
    """Whether every hole of the operation has a spot before the drill comes."""
    spots = [op for op in before(case) if op.role == "spot"]
    return all(any(feature in op.features for op in spots) for feature in case.op.features)


def walks(press: Rows | float, stiffness: Rows | float, guided: bool) -> Rows:
    """Standard deviation of where a point bites from its place, in each of two directions [m].

    Args:
        press: of the chisel edge [N].
        stiffness: of the point sideways [N/m].
        guided: whether the point drops into a spot.
    """
    return sideways(WALKS * press * (GUIDED if guided else 1.0), stiffness)


def book_stiffness(young: float, diameter: float, machine: float | None) -> float:
    """Sideways at the point of a standard drill of this size [mm] in a machine of this stiffness [N/m]."""
    out = metres(FLUTES * diameter**FLUTES_POWER)
    core = equivalent_diameter(metres(diameter), FLUTED_CORE)
    drill = tool_stiffness(young, out, out, metres(diameter), core)
    return float(drill if machine is None else series_stiffness(drill, machine, np.inf))


def allowed(case: Case) -> tuple[float, str]:
    """How far the holes may lie from their place [mm], and why."""
    found = [(ALLOWED, "where nobody says it may lie")]
    for joint in case.job.joints.values():
        for name in _holes_of(joint) if isinstance(joint, ScrewJoint) else ():
            hole = hole_of(case, name)
            if hole.part == case.part_name and hole.feature.id in case.op.features and isinstance(joint, ScrewJoint):
                wide = hole_of(case, joint.through).feature.size["diameter"]
                room = (wide - millimetres(screw_of(joint.screw).thread.nominal)) / 2.0
                told = f"{joint.screw} through Ø{tell(wide, 'length', case.job.units)} leaves it"
                found.append((max(room, 0.0), told))
    return min(found)


def _holes_of(joint: ScrewJoint) -> tuple[str, str]:
    return joint.through, joint.into


def side_give(case: Case, belief: Belief) -> Rows:
    """Stiffness sideways at the point of the operation's tool with the machine, by row [N/m]."""
    machine = machine_entity(case)
    if not belief.has(machine, "stiffness_x"):
        return tool_give(case, belief)
    return series_stiffness(tool_give(case, belief), known(belief, machine, "stiffness_x", math.inf), np.inf)


def press_of(case: Case, belief: Belief) -> Rows:
    """Press of the chisel edge at the first touch, by row [N]."""
    feed = metres((case.op.cut.feed_per_tooth or 0.0) * case.tool.flutes)
    force = lip_force(case, belief) * discrepancy(belief, "drilling")
    return chisel_press(force, metres(case.tool.diameter), feed, CHISEL, square_metres(REFERENCE_AREA))


def beyond(room: float, walking: Rows, depth: float, bias: Rows | float = 0.0) -> Rows:
    """Chance by row of lying further off than this [mm], how far each drill walks and skids integrated out.

    Args:
        room: radius round the true place [mm].
        walking: standard deviation of where the point bites [m].
        depth: of the hole, over which its axis runs off [mm].
        bias: how far it is pushed to one side [m].
    """
    strata = normal_quantile((np.arange(_STRATA) + 0.5) / _STRATA)
    off = run_off(metres(depth), RUNS_OFF)
    rows = [chance_beyond(metres(room), np.hypot(walking * 2.0**z, off), np.asarray(bias) * 2.0**z) for z in strata]
    return np.asarray(np.mean(rows, axis=0))


def _evaluate(case: Case, belief: Belief) -> Finding:
    guided, (room, why) = spotted(case), allowed(case)
    depth = max((f.size.get("depth", 0.0) for f in case.features), default=0.0)
    walking = walks(press_of(case, belief), side_give(case, belief), guided)
    one = beyond(room, walking, depth)
    p = 1.0 - (1.0 - one) ** max(len(case.features), 1)
    units = case.job.units
    off = millimetres(2.0 * np.hypot(walking, run_off(metres(depth), RUNS_OFF)))
    because = (f"{'from a spot' if guided else 'without a spot'} a {tell(case.tool.diameter, 'length', units)} drill "
               f"comes within about {tell(median(off), 'length', units, 2)} of its place; "
               f"{tell(room, 'length', units, 2)} {why}")
    return Finding(NAME, "operation", case.name, "part", p, Spread.of(off), Spread.of(room), "mm", because,
                   "drill one hole in a scrap of the same skin and measure where it came")


CHECK = Check(NAME, "drill wanders from its place", "part", "operation", _applies, _evaluate)
