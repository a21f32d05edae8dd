"""A tap breaks in its hole: the torque of tapping against what its core bears. The part is lost with it."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.strength import breaking_torque
from ..cutting.tap import TAP_FACTOR, Tap, tap_torque, turned_and_bent
from ..cutting.thread import COARSE, thread_height_share
from ..shop.models import Material
from ..units import tell
from ._chance import OPERATION_SCATTER, discrepancy, figure, lasting, middle, over, spread
from ._forces import material_entity
from .base import Case, Check, Finding, Spread, cannot
from .si import metres, value

NAME = "tapping"

#: Core between the flutes over nominal diameter, and shear over rupture strength of a hand tap; judged.
CORE: Final = 0.5
SHEAR: Final = 0.5
#: Bending moment over torque: two hands on a wrench that do not push alike; in a chuck that is not in line with
#: the hole; in a spindle that made the hole. Judged.
BENT: Final = {"hand": 0.5, "drill_press": 0.25, "mill": 0.1}
#: Chips that jam, from hole to hole, one sd of the log; judged.
HOLE_SCATTER: Final = 0.3


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.op.role == "tap"
            and case.tool.kind == "tap")


def factor_of(material: Material, tap: Tap = "plug") -> float:
    """Correction of the torque for a tap with oil, by group of material [1]."""
    brass = material.group == "N" and not material.welds_to_tool
    soft = material.group in ("K", "N", "plastic", "wood")
    return TAP_FACTOR["brass" if brass else "soft" if soft else "steel"][tap]


def drilled(case: Case) -> float | None:
    """The smallest drilled hole of the operation [mm]."""
    sizes = [f.size["diameter"] for f in case.features if f.size.get("diameter")]
    return min(sizes) if sizes else None


def load(case: Case, belief: Belief) -> Rows | None:
    """Torque of tapping by row [N m]; None where thread or hole are not known."""
    thread, hole = COARSE.get(case.tool.thread or ""), drilled(case)
    if thread is None or hole is None or metres(hole) >= thread.nominal:
        return None
    force = value(belief, material_entity(case), "tapping_force")
    return tap_torque(force, factor_of(case.material), thread.nominal, metres(hole)) * discrepancy(belief, "tapping")


def _evaluate(case: Case, belief: Belief) -> Finding:
    thread, hole = COARSE.get(case.tool.thread or ""), drilled(case)
    if thread is None or hole is None:
        return cannot(NAME, case, "part", f"the tap's thread or the hole is not known: {case.tool.thread}, {hole}")
    nominal = thread.nominal
    if metres(hole) >= nominal:
        return cannot(NAME, case, "part", f"a hole of {figure(hole)} mm leaves no thread for {case.tool.thread}")
    torque = load(case, belief)
    assert torque is not None
    strength, _ = lasting(belief, f"tool_material:{case.tool.material}", "rupture_strength")
    bears = breaking_torque(SHEAR * strength, CORE * nominal)
    strains = turned_and_bent(torque, BENT[case.machine_kind] * torque)
    one = over(strains, bears, spread(HOLE_SCATTER, OPERATION_SCATTER["strength"]))
    p = 1.0 - (1.0 - one) ** max(len(case.features), 1)
    share = float(thread_height_share(nominal, thread.pitch, metres(hole)))
    because = (f"{case.tool.thread} in a {tell(hole, 'length', case.job.units)} hole "
               f"({figure(float(np.round(100.0 * share)))} % of the full thread) takes about {middle(torque)} N m; "
               f"the tap breaks at about {middle(bears)} N m")
    return Finding(NAME, "operation", case.name, "part", p, Spread.of(torque), Spread.of(bears), "N m", because,
                   "tap one hole in a scrap of the same bar")


CHECK = Check(NAME, "tap breaks in the hole", "part", "operation", _applies, _evaluate)
