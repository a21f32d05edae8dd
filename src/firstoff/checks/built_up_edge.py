"""Metal builds up on the edge and breaks off on to the work: too cool for it to go with the chip.

Weighed where a roughness is wanted: what the marks leave and what the fragments leave, together.
"""

from __future__ import annotations

import numpy as np

from ..belief import Belief, Rows
from ..cutting.built_up_edge import build_up_margin, rough_with_build_up, speed_without_build_up
from ..cutting.finish import mean_roughness
from ..medians import median
from ..normal import normal_cdf
from ..units import tell
from ._chance import OPERATION_SCATTER, known, over
from ._forces import is_milling, material_entity, speed
from ._heat import celsius, hot, untold
from ._knobs import COOLANT, SPEED_UP, fastest
from ._past import past_of
from ._told import roughness
from .base import LAPSE, Case, Check, Finding, Observation, Spread, cannot
from .finish import heights
from .si import metres, micrometres, value

NAME = "built-up edge"


def _applies(case: Case) -> bool:
    return (is_milling(case) and case.op.leaves == 0.0 and case.wanted.roughness is not None
            and _builds_up(case) and past_of(case).mills)


def _builds_up(case: Case) -> bool:
    """Whether the metal, or all that an unknown bar may be, welds to an edge."""
    names = case.material.one_of or (case.material_name,)
    return all(case.shop.materials[name].build_up is not None for name in names)


def _evaluate(case: Case, belief: Belief) -> Finding:
    lacks = untold(case, belief)
    if lacks:
        return cannot(NAME, case, "finish", *lacks)
    found = hot(past_of(case), belief)
    vanishes = value(belief, material_entity(case), "build_up")
    margin = build_up_margin(np.maximum(found.interface_rise, 0.0), vanishes)
    there = _there(margin)
    rough = _rough(case, belief)
    wanted = np.full(belief.rows, metres(case.wanted.roughness or 0.0))
    too_rough = over(rough, wanted, OPERATION_SCATTER["chip"])
    return Finding(NAME, "operation", case.name, "finish", np.asarray(there * too_rough),
                   Spread.of(micrometres(rough)), Spread.of(micrometres(wanted)), "um",
                   _because(case, found.interface_rise, vanishes, margin, rough),
                   "a pass in scrap at this speed: a bright even face, or torn and dull")


def _there(margin: Rows) -> Rows:
    """Chance by row that metal stays on the edge."""
    return np.asarray(normal_cdf(-np.log(margin) / OPERATION_SCATTER["force"]))


def _loglik(case: Case, belief: Belief, seen: Observation) -> Rows | None:
    """Log likelihood by row of chips that were welded to the edge, or of a face that is torn; None for all else.

    Of other forms nothing was found published that would tell how they follow from a milling cut, and few look at an
    edge.
    """
    if (seen.kind, seen.word) not in (("form", "welded"), ("face", "torn")) or untold(case, belief):
        return None
    heat = np.maximum(hot(past_of(case), belief).interface_rise, 0.0)
    margin = build_up_margin(heat, value(belief, material_entity(case), "build_up"))
    return np.asarray(np.log(LAPSE + (1.0 - 2.0 * LAPSE) * _there(margin)))


def _rough(case: Case, belief: Belief) -> Rows:
    """Ra with fragments on the surface, by row [m]."""
    clean = mean_roughness(np.max(list(heights(case, belief).values()), axis=0))
    wet = known(belief, f"coolant:{case.op.cut.coolant}", "build_up", 1.0)
    return rough_with_build_up(clean, value(belief, "shop", "build_up_roughness") * wet)


def _because(case: Case, interface: Rows, vanishes: Rows, margin: Rows, rough: Rows) -> str:
    edge = past_of(case).speed
    gone, most = median(speed_without_build_up(edge, margin)), edge * fastest(case) / speed(case)
    there = (f"here up to about {tell(gone, 'cutting_speed', case.job.units)}" if gone <= most
             else "at any speed that this spindle has")
    return (f"the edge comes to about {celsius(interface)} C, and metal stays on it up to about "
            f"{celsius(vanishes)} C ({there}); its fragments leave about Ra "
            f"{roughness(rough, case.job.units)}")


CHECK = Check(NAME, "metal builds up on the edge", "finish", "operation", _applies, _evaluate,
              knobs=(SPEED_UP, COOLANT), loglik=_loglik)
