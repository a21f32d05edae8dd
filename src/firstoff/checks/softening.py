"""A plastic smears: its chip or what is left of it gets warmer than where the plastic softens."""

from __future__ import annotations

import numpy as np

from ..belief import Belief
from ._chance import OPERATION_SCATTER, weighed
from ._forces import is_milling, material_entity
from ._heat import celsius, celsius_known, hot, untold
from ._knobs import COOLANT, FEED_UP, SPEED_DOWN
from ._past import past_of
from .base import Case, Check, Finding, cannot
from .si import value

NAME = "softening"


def _applies(case: Case) -> bool:
    return is_milling(case) and past_of(case).mills and case.material.group == "plastic"


def _evaluate(case: Case, belief: Belief) -> Finding:
    lacks = untold(case, belief, "softens")
    if lacks:
        return cannot(NAME, case, "finish", *lacks)
    found = hot(past_of(case), belief)
    warmest = np.maximum(found.shear_rise, found.interface_rise)
    softens = value(belief, material_entity(case), "softens")
    because = (f"the chip comes to about {celsius_known(warmest)} and this plastic softens at about "
               f"{celsius(softens)}; a thin chip heats it most") if belief.words else ""
    return weighed(NAME, case, "finish", warmest, softens, OPERATION_SCATTER["chip"], unit="K", because=because,
                   settle_by="a pass in scrap: chips that come off loose, or melted on to the flutes")


CHECK = Check(NAME, "plastic smears", "finish", "operation", _applies, _evaluate,
              knobs=(FEED_UP, SPEED_DOWN, COOLANT))
