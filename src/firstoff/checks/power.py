"""The spindle slows or stalls: mean torque of the cut against what the spindle holds at that speed."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.power import cutting_power, spindle_torque
from ..shop.models import Spindle
from ..units import tell
from ._chance import OPERATION_SCATTER, discrepancy, known, lasting, middle, spread, weighed
from ._forces import is_milling, loads, machine_entity, mean_torque, speed, worst
from ._knobs import DEPTH, FEED_DOWN, SPEED_UP, WIDTH
from .base import Case, Check, Finding, Observation, cannot

NAME = "power"

#: Cutter over plug: motor, drive and belt of a small machine; judged, 0.5 to 0.8. Where the machine or its class
#: has a figure (`efficiency`) that counts. Being shared by all readings of a machine it is only wide here.
EFFICIENCY: Final = 0.65
EFFICIENCY_FACTOR: Final = 1.25


def spindle_base(spindle: Spindle) -> float:
    """Speed from which the spindle has its full power [rad/s].

    Behind a belt or gears every step has it; an electronic drive without a given base speed is taken to
    hold its torque, and so has full power only at its fastest.
    """
    if spindle.base_speed is not None:
        return spindle.base_speed
    return spindle.slowest if spindle.steps else spindle.fastest


def rated_power(case: Case, belief: Belief) -> tuple[Rows, float]:
    """Power at the cutter by row [W], and its scatter from time to time."""
    entity = machine_entity(case)
    if belief.has(entity, "power"):
        return lasting(belief, entity, "power")
    assert case.machine.spindle is not None
    return np.full(belief.rows, case.machine.spindle.power.value), 0.0


def _applies(case: Case) -> bool:
    return is_milling(case) and case.machine_kind == "mill"


def _evaluate(case: Case, belief: Belief) -> Finding:
    spindle = case.machine.spindle
    if spindle is None:
        return cannot(NAME, case, "tool", "nothing is known of this machine's spindle",
                      "read power and speeds on the nameplate and write them under the machine's spindle")
    turn = speed(case)
    torque = worst(loads(case, belief), "mean_torque") * discrepancy(belief, "power")
    power, own = rated_power(case, belief)
    holds = spindle_torque(power, spindle_base(spindle), turn)
    because = (f"the cut takes about {middle(torque)} N m ({middle(cutting_power(torque, turn))} W) "
               f"at {tell(turn, 'rotation')}, where the spindle holds about {middle(holds)} N m")
    return weighed(NAME, case, "tool", torque, holds, spread(own, OPERATION_SCATTER["force"]), unit="N m",
                   because=because, settle_by="read the watts at the plug during a cut in scrap")


def _loglik(case: Case, belief: Belief, seen: Observation) -> Rows | None:
    """Log likelihood by row of watts above idle at the plug: cutting power over the efficiency of the drive."""
    if seen.kind != "watts" or seen.value <= 0.0 or not _applies(case):
        return None
    drawn = cutting_power(mean_torque(loads(case, belief)) * discrepancy(belief, "power"), speed(case))
    has_own = belief.has(machine_entity(case), "efficiency")
    expected = drawn / known(belief, machine_entity(case), "efficiency", EFFICIENCY)
    width = spread(0.0 if has_own else math.log(EFFICIENCY_FACTOR), OPERATION_SCATTER["force"],
                   seen.sd / seen.value)
    off = np.log(seen.value / expected) / width
    return np.asarray(-0.5 * off * off - math.log(width * math.sqrt(2.0 * math.pi)))


CHECK = Check(
    NAME, "spindle slows", "tool", "operation", _applies, _evaluate,
    knobs=(DEPTH, FEED_DOWN, WIDTH, SPEED_UP), word="slowed", loglik=_loglik,    feels_wear=True,
)
