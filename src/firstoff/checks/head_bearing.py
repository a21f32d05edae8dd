"""A head sinks into what it bears on, or a countersunk one comes through a thin part and bottoms on the next."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..units import tell
from ._chance import figure
from ._joints import LOOSER, clamp_of, pull_of, screw_joint, told
from ._screws import hole_of
from .base import Case, Check, Finding, Spread, cannot

NAME: Final = "head bearing"


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint = screw_joint(case)
    assert joint is not None
    clamp = clamp_of(case, belief, joint)
    if isinstance(clamp, str):
        return cannot(NAME, case, "finish", clamp)
    units, thick = case.job.units, hole_of(case, joint.through).feature.size["depth"]
    if clamp.cone_depth() > thick:
        deep = clamp.cone_depth()
        because = (f"the cone of the head is {tell(deep, 'length', units, 1)} deep and the part "
                   f"{tell(thick, 'length', units)} thick: the head bottoms on the part below and clamps nothing")
        return Finding(NAME, "joint", case.name, "finish", np.ones(belief.rows), Spread.of(deep), Spread.of(thick),
                       "mm", because)
    pull, crushes = pull_of(joint, clamp), clamp.crushes
    because = (f"tightened the screw pulls about {figure(pull.middle)} N; its head sinks into "
               f"{clamp.plate.name} from about {figure(crushes.middle)} N")
    return Finding(NAME, "joint", case.name, "finish", np.full(belief.rows, pull.above(crushes)), told(pull),
                   told(crushes), "N", because, "tighten one on a scrap of the same bar, and look at the face")


CHECK = Check(NAME, "head sinks in or bottoms", "finish", "joint", lambda case: screw_joint(case) is not None,
              _evaluate, knobs=(LOOSER,))
