"""Parts that are screwed together come off each other under a load along the screws, or it makes them yield."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..units import tell
from ._chance import figure
from ._clamped import Wide
from ._joints import GREASE, TIGHTER, clamp_of, p_bottoms, pull_of, screw_joint, told
from .base import Case, Check, Finding, Spread, cannot

NAME: Final = "joint opens"


def _applies(case: Case) -> bool:
    joint = screw_joint(case)
    return joint is not None and joint.load_along is not None


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint = screw_joint(case)
    assert joint is not None and joint.load_along is not None
    clamp = clamp_of(case, belief, joint)
    if isinstance(clamp, str):
        return cannot(NAME, case, "finish", clamp)
    pull = pull_of(joint, clamp)
    opens = clamp.opens(clamp.kept(pull), joint.number)
    grown = pull.middle + clamp.share * joint.load_along / joint.number
    p_opens = 1.0 - (1.0 - Wide(joint.load_along, 0.0).above(opens)) * (1.0 - p_bottoms(case, joint))
    p_yields = max(Wide(grown, pull.sd).above(clamp.stretches), Wide(grown, pull.sd).above(clamp.strips))
    p = 1.0 - (1.0 - p_opens) * (1.0 - p_yields)
    because = (f"it opens at about {figure(opens.middle)} N, and not below {figure(opens.low)} N 19 times in 20; "
               f"wanted {tell(joint.load_along, 'force', case.job.units)}. The load makes a screw that pulls "
               f"{figure(pull.middle)} N pull {figure(grown)} N; it stretches at about "
               f"{figure(clamp.stretches.middle)} N")
    return Finding(NAME, "joint", case.name, "finish", np.full(belief.rows, p), Spread.of(joint.load_along),
                   told(opens), "N", because, "pull with a luggage scale, and try a feeler gauge in the joint")


CHECK = Check(NAME, "joint opens under its load", "finish", "joint", _applies, _evaluate, knobs=(TIGHTER, GREASE))
