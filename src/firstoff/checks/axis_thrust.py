"""An axis stalls or loses steps: peak force along any axis against what the drive can push.

The place of the tool is lost from there on, and with it the part.
"""

from __future__ import annotations

import numpy as np

from ..belief import Belief
from ._chance import OPERATION_SCATTER, lasting, middle, spread, weighed
from ._forces import is_milling, loads, machine_entity, worst
from ._knobs import DEPTH, FEED_DOWN, WIDTH
from .base import Case, Check, Finding

NAME = "axis thrust"


def _applies(case: Case) -> bool:
    return is_milling(case) and case.machine_kind == "mill"


def _evaluate(case: Case, belief: Belief) -> Finding:
    found = loads(case, belief)
    push = np.max([worst(found, name) for name in ("peak_x", "peak_y", "peak_z")], axis=0)
    stall, own = lasting(belief, machine_entity(case), "axis_thrust")
    because = (f"the cut pushes back on an axis with up to about {middle(push)} N; "
               f"an axis of this machine stalls at about {middle(stall)} N")
    return weighed(NAME, case, "part", push, stall, spread(own, OPERATION_SCATTER["force"]), unit="N",
                   because=because, settle_by="push a luggage scale against each axis while it creeps, "
                                              "and read where it stalls")


CHECK = Check(NAME, "axis stalls", "part", "operation", _applies, _evaluate, knobs=(DEPTH, FEED_DOWN, WIDTH),
              feels_wear=True)
