"""The cut chatters: depth of cut against the depth at which the machine begins to sing, at that speed."""

from __future__ import annotations

import numpy as np

from ..belief import Belief, Rows
from ..cutting.chatter import Mode, better_speeds, depth_limit, directional_factors
from ..units import tell
from ._chance import OPERATION_SCATTER, discrepancy, middle, weighed
from ._forces import Load, coefficients, is_milling, loads, machine_entity, side_stiffness, speed
from ._knobs import DEPTH, SPEED_DOWN, SPEED_UP, STICKOUT, WIDTH
from .base import Case, Check, Finding, Knob
from .si import millimetres, value

NAME = "chatter"


def _modes(case: Case, belief: Belief, load: Load) -> tuple[Mode, Mode]:
    """The weakest mode at the tip, along the feed and square to it: tool, collet and machine in a row."""
    machine = machine_entity(case)
    damping, natural = value(belief, machine, "mode_damping"), value(belief, machine, "mode_frequency")
    x, y, _ = load.heading
    along = side_stiffness(case, belief, (-y, x, 0.0))
    across = side_stiffness(case, belief, (x, y, 0.0))
    damping = np.clip(damping, 1e-3, 0.5)
    return Mode(along, damping, natural), Mode(across, damping, natural)


def _limit(case: Case, belief: Belief, load: Load) -> Rows:
    """Depth of cut at which this engagement begins to chatter, by row [m]."""
    law = coefficients(case, belief)
    factors = directional_factors(law.radial / law.tangential, load.engagement.entry, load.engagement.exit)
    along, across = _modes(case, belief, load)
    return depth_limit(law.tangential, case.tool.flutes, factors, along, across, speed(case))


def _worst_kinds(found: tuple[Load, ...]) -> list[Load]:
    """For each arc of engagement the deepest cut: a shallower one of the same arc sings later."""
    deepest: dict[tuple[float, float], Load] = {}
    for load in found:
        arc = (round(load.engagement.entry, 2), round(load.engagement.exit, 2))
        if arc not in deepest or load.depth > deepest[arc].depth:
            deepest[arc] = load
    return list(deepest.values())


def _evaluate(case: Case, belief: Belief) -> Finding:
    found = loads(case, belief)
    depth = max(load.depth for load in found)
    ratios = [load.engagement.depth_of_cut / _limit(case, belief, load) for load in _worst_kinds(found)]
    ratio = np.max(ratios, axis=0) * discrepancy(belief, "chatter")
    # a cut that never sings is told as one as deep as the tool is long
    limit = depth / np.maximum(ratio, depth / case.tool.overall_length)
    because = (f"the cut is {tell(depth, 'length', case.job.units)} deep; at {tell(speed(case), 'rotation')} "
               f"the machine begins to sing at about {middle(limit)} mm, by its stiffness and damping as believed")
    return weighed(NAME, case, "finish", np.full(belief.rows, depth), limit, OPERATION_SCATTER["stability"],
                   unit="mm", because=because,
                   settle_by="the ten-minute test cut in scrap: deeper and deeper until it sings; "
                             "or tap the cutter with a phone recording beside it")


def _quiet_speeds(case: Case) -> list[object]:
    """Nothing is believed here: steps of the belt, or shares of the present speed, both ways."""
    ups, downs = SPEED_UP.values(case), SPEED_DOWN.values(case)
    return [value for pair in zip(downs, ups, strict=False) for value in pair]


def quiet_speeds(case: Case, belief: Belief) -> list[tuple[float, float]]:
    """Speeds within the spindle's range at which the median machine bears the deepest cut.

    Returns:
        (speed [rad/s], depth limit [mm]), best first.
    """
    spindle = case.machine.spindle
    if spindle is None or spindle.slowest >= spindle.fastest:
        return []
    load = max(loads(case, belief), key=lambda item: item.depth)
    law = coefficients(case, belief)
    factors = directional_factors(law.radial / law.tangential, load.engagement.entry, load.engagement.exit)
    along, across = _modes(case, belief, load)
    best = better_speeds(law.tangential, case.tool.flutes, factors, along, across, spindle.slowest, spindle.fastest)
    deep = millimetres(best.depth_limit)
    return [(float(n), float(d)) for n, d in zip(best.spindle_speed, deep, strict=True)]


SPEED = Knob("cut.spindle_speed", _quiet_speeds, SPEED_DOWN.say)

CHECK = Check(
    NAME, "cut chatters", "finish", "operation", is_milling, _evaluate,
    knobs=(SPEED, DEPTH, WIDTH, STICKOUT), word="sang",
)
