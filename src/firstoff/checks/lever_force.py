"""A lever presses less than it should: the cap of a plane that the work pushes back off its iron."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..job.models import LeverJoint
from ..units import tell
from ._chance import figure
from ._clamped import Wide
from ._joints import GREASE, HARDER, how, told
from .base import Case, Check, Finding, Spread
from .lever import screw_force

NAME: Final = "lever force"


def _applies(case: Case) -> bool:
    return isinstance(case.joint, LeverJoint) and case.joint.wanted_force is not None


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint, units = case.joint, case.job.units
    assert isinstance(joint, LeverJoint) and joint.wanted_force is not None
    presses = screw_force(joint).times(joint.arms[0] / joint.arms[1])
    p = Wide(joint.wanted_force, 0.0).above(presses)
    because = (f"{how(joint, units)} it presses with about {figure(presses.middle)} N at its end, and with "
               f"{figure(presses.low)} N or more 19 times in 20; wanted {tell(joint.wanted_force, 'force', units)}")
    return Finding(NAME, "joint", case.name, "finish", np.full(belief.rows, p), Spread.of(joint.wanted_force),
                   told(presses), "N", because, "hook a luggage scale under its end, and see where it lifts off")


CHECK = Check(NAME, "lever presses too little", "finish", "joint", _applies, _evaluate, knobs=(HARDER, GREASE))
