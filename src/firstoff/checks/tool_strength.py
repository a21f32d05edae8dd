"""The tool bends until it breaks: peak side force on its lever against the strength of its material."""

from __future__ import annotations

import numpy as np

from ..belief import Belief
from ..cutting.push_off import FLUTED_CORE, equivalent_diameter
from ..cutting.strength import tool_stress
from ..units import tell
from ._chance import OPERATION_SCATTER, lasting, middle, spread, weighed
from ._forces import is_milling, loads, shank, stickout, worst
from ._knobs import DEPTH, FEED_DOWN, LARGER_TOOL, STICKOUT, WIDTH
from .base import Case, Check, Finding
from .si import metres, mpa

NAME = "tool strength"


def _evaluate(case: Case, belief: Belief) -> Finding:
    found, tool = loads(case, belief), case.tool
    core = equivalent_diameter(metres(tool.diameter), FLUTED_CORE)
    sizes = metres(stickout(case)), metres(tool.flute_length)
    stress = np.max([tool_stress(load.forces.peak_side, *sizes, metres(load.depth), metres(shank(case)), core)
                     for load in found], axis=0)
    strength, own = lasting(belief, f"tool_material:{tool.material}", "rupture_strength")
    scatter = spread(own or OPERATION_SCATTER["strength"], OPERATION_SCATTER["force"])
    because = (f"the cut pushes the tool aside with about {middle(worst(found, 'peak_side'))} N, "
               f"{tell(stickout(case), 'length', case.job.units)} out of the collet: "
               f"about {middle(mpa(stress))} N/mm2, and it breaks at about {middle(mpa(strength))}")
    return weighed(NAME, case, "tool", mpa(stress), mpa(strength), scatter, unit="N/mm2", because=because)


CHECK = Check(
    NAME, "tool breaks", "tool", "operation", is_milling, _evaluate,
    knobs=(DEPTH, FEED_DOWN, STICKOUT, WIDTH, LARGER_TOOL), word="broke",    feels_wear=True,
)
