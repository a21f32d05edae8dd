"""A thin plate bends between its rests under the cut: its middle comes out thicker or thinner than its edges."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..holding.bending import plate_between_rests
from ..medians import median
from ._chance import OPERATION_SCATTER, discrepancy, spread, weighed
from ._forces import is_milling, loads, material_entity, worst
from ._knobs import DEPTH, FEED_DOWN, WIDTH
from ._patches import Array, Patch, span
from ._told import coarse, fine, whole
from ._touching import JAWS, PRESSED, device_of, touching
from .base import Case, Check, Finding
from .si import metres, micrometres, millimetres, value
from .squeezed import allowed

NAME: Final = "plate_gives"

SLENDER: Final = 8.0      #: span over thickness from which a plate bends more than it shears
POISSON: Final = 0.3      #: of metals; deflection goes with 1 - nu^2
#: How much farther a plate gives than plate_between_rests, a lower bound with jaws or clamps that hold its edges a
#: little; one sd of the log, judged.
BEYOND: Final = float(np.log(2.0))
_FLOORS: Final = frozenset({"face_rough", "face_finish", "pocket_rough", "pocket_finish", "slot"})


def free_span(case: Case) -> tuple[float, float] | None:
    """Free width between two rests, and length along them [mm]; None where it does not lie on two strips."""
    rests = [patch for patch in touching(case) if patch.name == "rest"]
    if len(rests) != 2:
        return None
    one, other = (patch.points.mean(axis=0) for patch in rests)
    across = other - one
    way = across / np.linalg.norm(across)
    inner = _ends(rests[0], way)[1], _ends(rests[1], way)[0]
    along = np.cross(way, np.array(case.setting.up))
    low, high = span(case, along)
    return float(inner[1] - inner[0]), high - low


def _ends(patch: Patch, way: Array) -> tuple[float, float]:
    reach = patch.cells @ way
    return float(reach.min()), float(reach.max())


def thickness(case: Case) -> float:
    """Of the plate under the cut when it is finished [mm]: the piece less what the cut goes down; 0 of what is cut
    through, under which no plate is left to bend.
    """
    if any(f.through for f in case.features):
        return 0.0
    low, high = span(case, np.array(case.setting.up))
    deep = max((f.size.get("depth", 0.0) for f in case.features if f.kind in ("pocket", "slot", "step")), default=0.0)
    return max(high - low - deep, 0.0)


def _applies(case: Case) -> bool:
    if not is_milling(case) or case.op.leaves > 0.0 or case.op.role not in _FLOORS:
        return False
    if device_of(case).kind not in JAWS | PRESSED or case.setting.holding.parallels <= 0.0:
        return False
    if thickness(case) <= 0.0:
        return False
    widest = max(high - low for way in (case.setting.across, np.cross(case.setting.up, case.setting.across))
                 for low, high in (span(case, np.array(way)),))
    if widest <= SLENDER * thickness(case):      # where it rests costs more to find than this
        return False
    free = free_span(case)
    return free is not None and free[0] > SLENDER * thickness(case)


def _evaluate(case: Case, belief: Belief) -> Finding:
    free = free_span(case)
    assert free is not None
    force = np.abs(worst(loads(case, belief), "peak_z"))
    thick, young = thickness(case), value(belief, material_entity(case), "young")
    gives = plate_between_rests(force, metres(free[0]), metres(free[1]), metres(thick), young, POISSON)
    gives = np.maximum(gives * discrepancy(belief, "push_off"), 1e-12)
    most, units = allowed(case, set()), case.job.units
    thin, wide = coarse(thick, units), whole(free[0], units)
    bends = fine(median(millimetres(gives)), units)
    because = (f"{thin} thick over {wide} that nothing backs: the cut bends it by about {bends} in the middle, and "
               f"{fine(most, units)} may be out; a third parallel, or packing under the middle, ends it")
    return weighed(NAME, case, "size", micrometres(gives), micrometres(np.full(belief.rows, metres(most))),
                   spread(OPERATION_SCATTER["force"], BEYOND), unit="um", because=because,
                   settle_by="press its middle with a finger, an indicator on it: 10 N is about 1 kg")


CHECK = Check(NAME, "plate bends between its rests", "size", "operation", _applies, _evaluate,
              knobs=(DEPTH, WIDTH, FEED_DOWN))
