"""Parts that are screwed together slip on each other under a load across the screws."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..units import tell
from ._chance import figure
from ._clamped import Wide
from ._joints import GREASE, TIGHTER, clamp_of, p_bottoms, pull_of, screw_joint, told
from .base import Case, Check, Finding, Spread, cannot

NAME: Final = "joint slips"
TRY: Final = "pull with a luggage scale, from the side, and see whether it moves"


def _applies(case: Case) -> bool:
    joint = screw_joint(case)
    return joint is not None and joint.load_across is not None


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint = screw_joint(case)
    assert joint is not None and joint.load_across is not None
    clamp = clamp_of(case, belief, joint)
    if isinstance(clamp, str):
        return cannot(NAME, case, "finish", clamp)
    kept = clamp.kept(pull_of(joint, clamp))
    holds = clamp.slips(kept, joint.number, joint.load_along or 0.0)
    bottoms = p_bottoms(case, joint)
    p = 1.0 - (1.0 - Wide(joint.load_across, 0.0).above(holds)) * (1.0 - bottoms)
    each = f" each of {joint.number} screws" if joint.number > 1 else " the screw"
    because = (f"bedded in{each} pulls about {figure(kept.middle)} N; with clean dry faces the parts slip at about "
               f"{figure(holds.middle)} N, and hold {figure(holds.low)} N 19 times in 20; wanted "
               f"{tell(joint.load_across, 'force', case.job.units)}{_bottomed(bottoms)}")
    return Finding(NAME, "joint", case.name, "finish", np.full(belief.rows, p), Spread.of(joint.load_across),
                   told(holds), "N", because, TRY)


def _bottomed(chance: float) -> str:
    return "; the screw bottoms before its head clamps" if chance > 0.5 else ""


CHECK = Check(NAME, "joint slips under its load", "finish", "joint", _applies, _evaluate, knobs=(TIGHTER, GREASE))
