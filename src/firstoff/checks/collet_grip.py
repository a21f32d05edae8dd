"""The cutter creeps out of its collet: pull of its helix and torque against the grip on its shank."""

from __future__ import annotations

import numpy as np

from ..belief import Belief
from ..cutting.collet import creep_share
from ..medians import median
from ._chance import OPERATION_SCATTER, lasting, middle, spread, weighed
from ._forces import is_milling, loads, shank
from ._knobs import DEPTH, FEED_DOWN, WIDTH
from .base import Case, Check, Finding, cannot
from .si import metres

NAME = "collet grip"


def _applies(case: Case) -> bool:
    return is_milling(case) and case.op.collet is not None


def _evaluate(case: Case, belief: Belief) -> Finding:
    entity = f"collet:{case.op.collet}"
    if not belief.has(entity, "grip"):
        return cannot(NAME, case, "part", f"nothing is known of how {case.op.collet} grips",
                      "mill tools in a collet; or pull a clamped shank with a luggage scale and write its grip")
    grip, own = lasting(belief, entity, "grip")
    forces = [load.forces for load in loads(case, belief)]
    pulls = [np.where(f.mean_z > 0.0, f.peak_z, 0.0) for f in forces]
    asked = np.max([creep_share(pull, f.peak_torque, metres(shank(case)), np.ones(belief.rows))
                    for pull, f in zip(pulls, forces, strict=True)], axis=0)
    pull = np.max(pulls, axis=0)
    acts = f"the helix pulls with up to about {middle(pull)} N, with the torque it asks" if median(pull) > 0.0 else \
        "nothing pulls it out here; its torque alone asks"
    because = f"{acts} about {middle(asked)} N of the collet, which holds about {middle(grip)} N"
    return weighed(NAME, case, "part", asked, grip, spread(own, OPERATION_SCATTER["holding"]), unit="N",
                   because=because, settle_by="a felt-pen line across shank and nut: it parts before the part does")


CHECK = Check(NAME, "cutter creeps out of its collet", "part", "operation", _applies, _evaluate,
              knobs=(DEPTH, FEED_DOWN, WIDTH), feels_wear=True)
