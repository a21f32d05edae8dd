"""A chip under the part: it sits high or tilted by as much, and everything cut in that setting comes out wrong."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..errors import NameUnknown
from ..job.faces import resolve
from ..normal import normal_cdf
from ..part.shapes import Part
from ..units import tell
from ._surfaces import TAPPED
from .base import Case, Check, Finding, Spread

NAME: Final = "chips"

#: Chance that a chip is left under a part that was laid on wiped rests; judged, × and ÷ 2.
LEFT: Final = 0.016
#: Thickness of a chip that is pressed flat there [mm], and the log of its spread; judged.
CHIP: Final = 0.05
CHIP_SD: Final = float(np.log(2.0))
ALLOWED: Final = 0.05     #: what nobody minds where no limit says less [mm]; judged, × and ÷ 2


def _applies(case: Case) -> bool:
    return bool(case.setting.holding.rest) and bool(_cut_here(case)) and case.machine_kind == "mill"


def _cut_here(case: Case) -> set[int]:
    """Faces that are cut in the setting."""
    part = case.parts[case.part_name or ""]
    features = {name for _, op in case.route.of_setting(case.name) if op.tool for name in op.features}
    return {number for feature in part.features if feature.id in features for number in feature.faces}


def allowed(case: Case) -> float:
    """Half of the tightest limit between what is cut in the setting and what it rests on [mm]."""
    part, cut = case.part, _cut_here(case)
    rest = _faces(case, part, case.setting.holding.rest)
    least = ALLOWED
    for limit in case.job.limits.values():
        if limit.part not in (None, case.part_name) or limit.kind not in ("distance", "parallelism", "squareness"):
            continue
        ends = [_faces(case, part, name.removeprefix(f"{case.part_name}.")) for name in limit.between]
        if any(end & rest for end in ends) and any(end & cut for end in ends):
            least = min(least, (limit.tolerance[1] - limit.tolerance[0]) / 2.0)
    return least


def _faces(case: Case, part: Part, name: str) -> set[int]:
    try:
        return set(resolve(name, part, case.wanted.names))
    except NameUnknown:
        return set()


def _evaluate(case: Case, belief: Belief) -> Finding:
    most, holding = allowed(case), case.setting.holding
    seen = TAPPED if holding.tapped else 1.0
    chance = LEFT * seen * float(normal_cdf(np.log(CHIP / most) / CHIP_SD))
    units = case.job.units
    told = ("it was tapped down until no parallel moved, which finds most of them" if holding.tapped
            else "nothing shows it: it was not tapped down, or there is no parallel to try")
    because = (f"a chip of some {tell(CHIP, 'length', units)} under the part lifts it by as much, where "
               f"{tell(most, 'length', units, 2)} may be out; {told}")
    chip = Spread(CHIP * float(np.exp(-1.645 * CHIP_SD)), CHIP, CHIP * float(np.exp(1.645 * CHIP_SD)))
    return Finding(NAME, case.subject, case.name, "size", np.full(belief.rows, chance), chip, Spread.of(most), "mm",
                   because, "wipe, tap down, try each parallel with a finger: one that moves has a chip beside it")


CHECK = Check(NAME, "chip lies under the part", "size", "setting", _applies, _evaluate)
