"""A screw yields while it is tightened to the torque that is asked: it stays longer, and never pulls as it should."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..cutting.thread import metric_profile
from ..units import tell
from ._chance import figure
from ._clamped import stretches_at
from ._joints import LOOSER, pull_of_screw, screw_joint, told
from ._screws import hole_of, screw_of
from .base import Case, Check, Finding

NAME: Final = "screw stretches"


def _applies(case: Case) -> bool:
    joint = screw_joint(case)
    return joint is not None and joint.torque is not None


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint = screw_joint(case)
    assert joint is not None and joint.torque is not None
    thread = screw_of(joint.screw).thread
    pull = pull_of_screw(joint, hole_of(case, joint.through).feature.size["diameter"])
    yields = stretches_at(metric_profile(thread.nominal, thread.pitch), joint.grade, joint.lubricated)
    because = (f"by {tell(joint.torque, 'torque', case.job.units)} it pulls about {figure(pull.middle)} N, and up to "
               f"{figure(pull.high)} N 19 times in 20; turned and pulled, one of {joint.grade} yields at about "
               f"{figure(yields.middle)} N")
    return Finding(NAME, "joint", case.name, "finish", np.full(belief.rows, pull.above(yields)), told(pull),
                   told(yields), "N", because, "tighten one in a scrap of the same bar: does the torque stop rising?")


CHECK = Check(NAME, "screw yields as it is tightened", "finish", "joint", _applies, _evaluate, knobs=(LOOSER,))
