"""A thin wall gives way under the cutter: it springs back and is thicker above than below."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..holding.bending import wall_deflection
from ..medians import median
from ..part.shapes import Feature
from ._chance import OPERATION_SCATTER, discrepancy, spread, weighed
from ._forces import is_milling, loads, material_entity, worst
from ._knobs import DEPTH, FEED_DOWN, WIDTH
from ._told import coarse, fine
from ._touching import JAWS, device_of
from .base import Case, Check, Finding
from .si import metres, micrometres, millimetres, value
from .squeezed import allowed

NAME: Final = "wall_gives"

THIN: Final = 5.0         #: height over thickness from which a wall is one for wall_deflection
POISSON: Final = 0.3      #: of metals; deflection goes with 1 - nu^2
#: How much farther a wall moves than wall_deflection, which is a lower bound, one sd of the log; judged.
BEYOND: Final = float(np.log(2.0))
_HOLLOW: Final = frozenset({"passage", "pocket", "slot"})


def free_height(case: Case, feature: Feature) -> float:
    """Height of a hollow's wall that nothing backs [mm]: above the jaws, where they are beside it."""
    deep = feature.size.get("depth", 0.0)
    holding = case.setting.holding
    gripped = device_of(case).kind in JAWS and holding.grip_height > 0.0
    return min(deep, holding.stick_up) if gripped and holding.stick_up > 0.0 else deep


def thin_walls(case: Case) -> tuple[Feature, ...]:
    """The hollows of the operation that leave a wall thin for its free height."""
    return tuple(f for f in case.features if f.kind in _HOLLOW and f.size.get("wall", 0.0) > 0.0
                 and free_height(case, f) > THIN * f.size["wall"])


def _applies(case: Case) -> bool:
    return is_milling(case) and case.op.leaves <= 0.0 and bool(thin_walls(case))


def _evaluate(case: Case, belief: Belief) -> Finding:
    force = worst(loads(case, belief), "peak_side")
    young = value(belief, material_entity(case), "young")
    found = []
    for feature in thin_walls(case):
        high, long = free_height(case, feature), feature.size.get("length", free_height(case, feature))
        gives = wall_deflection(force, metres(high), metres(long), metres(feature.size["wall"]), young, POISSON)
        found.append((feature, gives * discrepancy(belief, "push_off"), allowed(case, set(feature.faces))))
    feature, gives, most = max(found, key=lambda item: median(item[1]) / item[2])
    units = case.job.units
    because = (f"the wall of {feature.id} is {coarse(feature.size['wall'], units)} thick and stands "
               f"{coarse(free_height(case, feature), units)} free: the cut pushes its edge away by "
               f"{fine(median(millimetres(gives)), units)} at least, and "
               f"{fine(most, units)} may be out; climb, in steps down both sides, or back it up")
    return weighed(NAME, case, "size", micrometres(gives), micrometres(np.full(belief.rows, metres(most))),
                   spread(OPERATION_SCATTER["force"], BEYOND), unit="um", because=because,
                   settle_by="press the wall's edge with a finger, an indicator behind it: 10 N is about 1 kg")


CHECK = Check(NAME, "thin wall gives way under the cut", "size", "operation", _applies, _evaluate,
              knobs=(DEPTH, WIDTH, FEED_DOWN))
