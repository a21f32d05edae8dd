"""The cutter is pushed off its way: what tool and machine give way against what may be left on or cut too deep.

A roughing cut may not reach below the allowance that it leaves. A finishing cut whose faces carry a limit is
counted there, in the chance of the size (`size`); here it is weighed against a third of that limit's band,
so that the cut can be mended, and joins the limits' group so that it is not counted twice. A third, because
setting, measuring and positions want their share of the band too.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from ..belief import Belief, Rows, low_median_high
from ..errors import NameUnknown
from ..job.faces import locate
from ..job.models import Limit
from ..medians import median, medians
from ..units import tell
from ._chance import OPERATION_SCATTER, weighed
from ._forces import is_milling, stickout
from ._knobs import DEPTH, DIRECTION, FEED_DOWN, STICKOUT, WIDTH
from ._push import after_passes, corner_left, engagement_of, left_on, sides
from ._pushed import left_in, worst_window
from ._told import coarse, tiny
from .base import Case, Check, Finding, cannot
from .si import metres, micrometres

NAME = "push-off"
SHARE: Final = 1.0 / 3.0
FEW: Final = 32         #: rows on which the worst window of a program is found


def limits_on(case: Case) -> list[tuple[str, Limit]]:
    """Limits of the job on a face that this operation makes."""
    made = {number for feature in case.features for number in feature.faces}
    found = []
    for name, limit in case.job.limits.items():
        for face in limit.between:
            try:
                place = locate(face, case.job, case.parts, limit.part or case.part_name)
            except NameUnknown:
                continue
            if place.part == case.part_name and made & set(place.faces):
                found.append((name, limit))
                break
    return found


def allowed(case: Case) -> float | None:
    """How far the cut may be off [mm]: what it leaves, or a third of the tightest limit on its faces."""
    if case.op.leaves > 0.0:
        return case.op.leaves
    bands = [(limit.tolerance[1] - limit.tolerance[0]) / abs(limit.gain)
             for _, limit in limits_on(case) if limit.kind != "flatness"]
    return SHARE * min(bands) if bands else None


def _applies(case: Case) -> bool:
    return is_milling(case) and allowed(case) is not None and engagement_of(case) is not None


def _window(case: Case, belief: Belief) -> int | None:
    """The worst window of a program on the walls that it finishes; None where there is no such program."""
    if case.run is None or case.op.leaves > 0.0 or "wall" not in sides(case):
        return None
    return worst_window(case, belief.some(FEW))


def _off(case: Case, belief: Belief) -> tuple[str, Rows] | None:
    """The worst of wall, floor and corner, and by how much it is off [m]: for roughing only what is cut too deep."""
    found: list[tuple[str, Rows]] = [
        (f"on the {side}", rows) for side in sides(case) if (rows := left_on(case, belief, side)) is not None]
    window = _window(case, belief)
    if window is not None and case.windows is not None:
        found = [pair for pair in found if pair[0] != "on the wall"]
        found.append((f"on the wall in line {int(case.windows.line[window])}", left_in(case, belief, window)))
    corner = corner_left(case, belief) if "wall" in sides(case) else None
    if corner is not None:
        found.append(("in the corner", corner))
    if not found:
        return None
    rough = case.op.leaves > 0.0
    sizes = [(side, np.maximum(-rows, 0.0) if rough else np.abs(rows)) for side, rows in found]
    return max(sizes, key=lambda item: median(item[1]))


def _again(case: Case, belief: Belief, off: Rows) -> str:
    """What a second pass at the same setting would leave of it, where it helps."""
    left = after_passes(case, belief, 2)
    if left is None or median(left[:, 0]) <= 0.0:
        return ""
    first, second = medians(left, 0)
    return f"; a spring pass leaves about {tiny(off * float(second / first), case.job.units)} of it"


def _because(case: Case, belief: Belief, side: str, off: Rows, against: str) -> str:
    """How far, and between which it lies 90 times in 100; nothing where nobody reads it."""
    if not belief.words:
        return ""
    units = case.job.units
    low, _, high = low_median_high(off)
    again = _again(case, belief, off) if side == "on the wall" and not case.op.leaves else ""
    return (f"with {coarse(stickout(case), units)} of stickout the cut pushes tool and machine about "
            f"{tiny(off, units)} off {side}, anywhere from {tiny(low, units)} to {tiny(high, units)}; "
            f"{against}{again}")


def _evaluate(case: Case, belief: Belief) -> Finding:
    may, worse = allowed(case), _off(case, belief)
    if may is None or worse is None:
        return cannot(NAME, case, "size", "the cut is not written out in the route")
    side, off = worse
    tied = limits_on(case) if case.op.leaves == 0.0 else []
    against = f"a third of the band of {tied[0][0]}" if tied else "what it leaves"
    because = _because(case, belief, side, off, f"{against} is {tell(may, 'length', case.job.units)}")
    finding = weighed(NAME, case, "size", micrometres(off), micrometres(np.full(belief.rows, metres(may))),
                      OPERATION_SCATTER["force"], unit="um", because=because,
                      settle_by="push a luggage scale against the spindle nose with an indicator on it")
    if not tied:
        return finding
    return replace(finding, joint_group=f"size:{case.part_name}")


CHECK = Check(NAME, "cutter is pushed off its way", "size", "operation", _applies, _evaluate,
              knobs=(DEPTH, WIDTH, FEED_DOWN, STICKOUT, DIRECTION), feels_wear=True)
