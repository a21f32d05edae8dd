"""The tool bends until it breaks: peak side force on its lever against the strength of its material."""

from __future__ import annotations

import numpy as np

from ..belief import Belief, Rows
from ..cutting.push_off import FLUTED_CORE, equivalent_diameter
from ..cutting.strength import stress_along, tool_stress, twisted_too
from ..units import tell
from ._chance import OPERATION_SCATTER, lasting, middle, spread, weighed
from ._forces import Load, is_milling, loads, sections_of, shank, slender, stickout, tapered, worst
from ._knobs import DEPTH, FEED_DOWN, LARGER_TOOL, STICKOUT, WIDTH
from ._told import coarse
from .base import Case, Check, Finding
from .si import metres, mpa

NAME = "tool strength"


def _stress(case: Case, load: Load) -> Rows:
    """Largest stress in the tool, by row [N/m2]; a thin neck is twisted, too."""
    (length, thin), force, depth = slender(case), load.forces.peak_side, _tooth_in_cut(load)
    if tapered(case):
        height, wide = sections_of(case)
        fluted = equivalent_diameter(wide, FLUTED_CORE)
        along = stress_along(force, depth / 2.0, height, fluted)
        return np.maximum(along, tool_stress(force, metres(stickout(case)), length, depth, metres(shank(case)),
                                             float(fluted[-1])))
    bent = tool_stress(force, metres(stickout(case)), length, depth, metres(shank(case)), thin)
    return bent if case.tool.neck is None else twisted_too(bent, load.forces.peak_torque, thin)


def _tooth_in_cut(load: Load) -> float:
    """Length of a helical tooth that is in the cut at once [m]: the load of a deeper cut lies as low while it
    begins at the tip, and longer arms count."""
    cut = load.engagement
    arc, lead = cut.diameter / 2.0 * (cut.exit - cut.entry), float(np.tan(cut.helix))
    return min(metres(load.depth), arc / lead) if lead > 0.0 else metres(load.depth)


def _evaluate(case: Case, belief: Belief) -> Finding:
    found, tool = loads(case, belief), case.tool
    stress = np.max([_stress(case, load) for load in found], axis=0)
    strength, own = lasting(belief, f"tool_material:{tool.material}", "rupture_strength")
    scatter = spread(own or OPERATION_SCATTER["strength"], OPERATION_SCATTER["force"])
    neck = "" if tool.neck is None else f", on a neck of {tell(tool.neck, 'length', case.job.units)}"
    because = (f"the cut pushes the tool aside with about {middle(worst(found, 'peak_side'))} N, "
               f"{coarse(stickout(case), case.job.units)} out of the collet{neck}: "
               f"about {middle(mpa(stress))} N/mm2, and it breaks at about {middle(mpa(strength))}")
    return weighed(NAME, case, "tool", mpa(stress), mpa(strength), scatter, unit="N/mm2", because=because)


CHECK = Check(
    NAME, "tool breaks", "tool", "operation", is_milling, _evaluate,
    knobs=(DEPTH, FEED_DOWN, STICKOUT, WIDTH, LARGER_TOOL), word="broke",    feels_wear=True,
)
