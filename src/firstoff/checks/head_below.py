"""A countersunk head stands proud, or sits too deep: where its cone comes to rest against what is wanted."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.thread import COUNTERSUNK
from ..job.models import ScrewJoint
from ..job.route import Operation
from ..medians import median
from ..normal import normal_quantile
from ..stack.chance import chance_out
from ..units import tell
from ._chance import known
from ._screws import Hole, hole_of, screw_of
from ._told import middling
from .base import Case, Check, Finding, Spread, cannot
from .si import metres, micrometres, millimetres

NAME = "head below"

#: One standard deviation from screw to screw of a box of how high a head sits in its cone [mm]; judged.
HEAD_SD: Final = 0.03
#: The same from a box to the standard's size, which a trial takes out [mm]; judged.
BOX_SD: Final = 0.06
#: One standard deviation of a depth found by trying a screw in the first hole and setting the stop by it, as one
#: does on a press: the caliper's depth rod 0.017 and the stop's own repeat some 0.025 [mm]; judged.
TRIAL_SD: Final = 0.03
_STRATA: Final = 101


def sink_of(hole: Hole, size: str) -> float | None:
    """How far the edge of a standard head lies below the surface in this countersink [mm]."""
    wide, angle = hole.feature.size.get("countersink_diameter"), hole.feature.size.get("countersink_angle", 90.0)
    if not wide or size not in COUNTERSUNK:
        return None
    head = millimetres(COUNTERSUNK[size].sharp_diameter)
    return (wide - head) / (2.0 * math.tan(math.radians(angle) / 2.0))


def maker(case: Case, hole: Hole) -> Operation | None:
    """The operation that countersinks the hole."""
    found = None
    for _, op in case.route.in_order():
        if op.role == "countersink" and hole.feature.id in op.features and (
                case.route.settings[op.setting].workpiece.split("+")[0] == hole.part):
            found = op
    return found


def by_trial(case: Case, op: Operation | None) -> bool:
    """Whether the depth is found by trying a screw in the first hole, as on anything but a mill."""
    if op is None:
        return False
    machine = case.shop.machines[case.route.settings[op.setting].machine]
    return case.shop.classes[machine.like].kind != "mill"


def _stop_sd(case: Case, belief: Belief, op: Operation | None) -> Rows:
    """How well the depth is set, once for all holes of an operation, by row [m]."""
    if by_trial(case, op):
        return np.full(belief.rows, metres(TRIAL_SD))
    entity = f"machine:{case.route.settings[op.setting].machine}" if op else ""
    return np.hypot(known(belief, entity, "touch_off", 0.0), metres(BOX_SD))


def any_out(mean: Rows, shared: Rows, own: float, limits: tuple[float, float], number: int) -> Rows:
    """Chance by row that any of several heads is out: the stop is set once, each head then sits as it sits.

    Args:
        mean: expected depth of the heads [m], shape (N,).
        shared: standard deviation of what all holes share [m], shape (N,).
        own: standard deviation from hole to hole [m].
        limits: least and most depth [m].
        number: how many holes.

    Returns:
        Chance [1], shape (N,).
    """
    middles = normal_quantile((np.arange(_STRATA) + 0.5) / _STRATA)
    # a stop that is set by trial is as good in every row
    different, row = np.unique(np.stack([mean, shared], axis=1), axis=0, return_inverse=True)
    depths = different[:, :1] + different[:, 1:] * middles
    one = chance_out(depths, own, *limits)
    return np.asarray((1.0 - (1.0 - one) ** number).mean(axis=1)[row.ravel()])


def _wanted(case: Case) -> ScrewJoint | None:
    joint = case.joint
    return joint if isinstance(joint, ScrewJoint) and joint.head == "countersunk" and joint.below else None


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint = _wanted(case)
    assert joint is not None and joint.below is not None
    hole, size = hole_of(case, joint.through), screw_of(joint.screw).size
    sink = sink_of(hole, size)
    if sink is None:
        return cannot(NAME, case, "finish", f"{joint.through} has no countersink in the model, or {size} no head "
                                            f"in the table")
    made = maker(case, hole)
    tried = by_trial(case, made)
    shared = _stop_sd(case, belief, made)
    low, high = (metres(item) for item in joint.below)
    mean = np.full(belief.rows, (low + high) / 2.0 if tried else metres(sink))
    p = any_out(mean, shared, metres(HEAD_SD), (low, high), joint.number)
    sd = np.hypot(shared, metres(HEAD_SD))
    units = case.job.units
    sits = millimetres(float(mean[0]))
    because = (f"{_how(hole, tried, units)} puts the head "
               f"about {middling(sits, units)} below the surface, give or take "
               f"{middling(2.0 * millimetres(median(sd)), units)}; wanted "
               f"{tell(joint.below[0], 'length', units)} to {tell(joint.below[1], 'length', units)}")
    off = micrometres(np.abs(mean - (low + high) / 2.0) + 2.0 * sd)
    half = micrometres(np.full(belief.rows, (high - low) / 2.0))
    return Finding(NAME, "joint", case.name, "finish", p, Spread.of(off), Spread.of(half), "um", because,
                   "sink one hole in scrap with a screw of the same box in it, and measure")


def _how(hole: Hole, tried: bool, units: str) -> str:
    """What decides the depth."""
    if tried:
        return "a stop set by a screw tried in the first hole"
    return f"a countersink {tell(hole.feature.size['countersink_diameter'], 'length', units)} wide"


CHECK = Check(NAME, "head proud or too deep", "finish", "joint", lambda case: _wanted(case) is not None, _evaluate)
