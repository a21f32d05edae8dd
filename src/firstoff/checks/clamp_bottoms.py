"""What tightens a clamp comes to its end before the part is tight: it feels tight and clamps nothing.

A screw through the part bottoms in the plate's hole, or holds by too few turns; a clamp's jaw meets its stop.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief
from ..errors import NameUnknown
from ..normal import normal_cdf
from ..units import tell
from ._chance import figure
from ._patches import span
from ._screws import LENGTHS, Screw, screw_of
from ._touching import device_of
from .base import Case, Check, Finding, Knob, Spread, cannot

NAME: Final = "clamp bottoms"

#: One standard deviation each [mm]: of a screw's length (its tolerance js15 is some ± 0.4), of the thickness that is
#: clamped, of the depth of thread in a plate; judged.
SD: Final = math.hypot(0.3, 0.1, 0.4)
#: Turns of thread that hold a clamping screw, as a length over its diameter: below it strips in a plate; judged.
ENGAGED: Final = 0.8
#: of a gap that was set by eye, one standard deviation [mm]; judged
GAP_SD: Final = 0.2
_SETTLE: Final = "before the cut: does the clamp still bite when its screw stops? try to slide the part by hand"


def _applies(case: Case) -> bool:
    device = device_of(case)
    return bool(case.setting.holding.screw) or (case.setting.holding.gap > 0.0 and device.way is not None)


def _evaluate(case: Case, belief: Belief) -> Finding:
    return _by_screw(case, belief) if case.setting.holding.screw else _by_way(case, belief)


def clamped(case: Case) -> float:
    """Thickness that the clamping screw goes through [mm]: as the setting says, else the piece's from rest to top."""
    low, high = span(case, np.array(case.setting.up))
    return case.setting.holding.clamped or high - low


def _by_screw(case: Case, belief: Belief) -> Finding:
    device, holding = device_of(case), case.setting.holding
    if device.thread_depth is None:
        return cannot(NAME, case, "part", f"nothing says how deep the thread of the {device.name} is",
                      "write thread_depth of the device into the shop")
    try:
        screw = screw_of(holding.screw)
    except NameUnknown as error:
        return cannot(NAME, case, "part", f"{error.what} ({error.right})", _SETTLE)
    reach = screw.length - clamped(case)
    bottoms = float(normal_cdf((reach - device.thread_depth) / SD))
    strips = float(normal_cdf((ENGAGED * _nominal(screw) - reach) / SD))
    p = 1.0 - (1.0 - bottoms) * (1.0 - strips)
    units = case.job.units
    told = (f"{holding.screw} through {tell(clamped(case), 'length', units)} reaches {figure(reach)} mm into the "
            f"{device.name}, which has {tell(device.thread_depth, 'length', units)} of thread")
    if bottoms >= strips:
        why = "it bottoms before the part is tight: it feels tight and clamps nothing" if bottoms > 0.5 else (
            f"{figure(device.thread_depth - reach)} mm are left")
    else:
        why = f"below {figure(ENGAGED * _nominal(screw))} mm it strips" if strips > 0.01 else "enough turns hold"
    return Finding(NAME, case.subject, case.name, "part", np.full(belief.rows, p), Spread.of(reach),
                   Spread.of(device.thread_depth), "mm", f"{told}: {why}{_other(case, screw, p)}", _SETTLE)


def _nominal(screw: Screw) -> float:
    return float(screw.size.removeprefix("M"))


def _other(case: Case, screw: Screw, p: float) -> str:
    """Which length would do."""
    if p <= 0.01:
        return ""
    best = right_length(case, screw)
    return f"; {screw.size} x {best:g} would be right" if best else "; a washer or a shorter stack helps"


def right_length(case: Case, screw: Screw) -> float | None:
    """The length of which enough turns hold and that does not bottom [mm]; None where none does."""
    depth = device_of(case).thread_depth
    assert depth is not None
    middle = clamped(case) + (ENGAGED * _nominal(screw) + depth) / 2.0
    best = min(LENGTHS, key=lambda length: abs(length - middle))
    room = ENGAGED * _nominal(screw) + 2.0 * SD <= best - clamped(case) <= depth - 2.0 * SD
    return best if room else None


def _other_screws(case: Case) -> list[object]:
    holding = case.setting.holding
    if not holding.screw or device_of(case).thread_depth is None:
        return []
    try:
        screw = screw_of(holding.screw)
    except NameUnknown:
        return []
    best = right_length(case, screw)
    return [] if best is None or best == screw.length else [f"{screw.size} x {best:g}"]


def _by_way(case: Case, belief: Belief) -> Finding:
    device, gap = device_of(case), case.setting.holding.gap
    assert device.way is not None
    p = float(normal_cdf((gap - device.way) / GAP_SD))
    units = case.job.units
    because = (f"the {device.name} has {tell(gap, 'length', units)} to close and moves "
               f"{tell(device.way, 'length', units)}: "
               + ("it meets its stop before it touches, or just when it does" if p > 0.5 else
                  f"{figure(device.way - gap)} mm are left to press"))
    return Finding(NAME, case.subject, case.name, "part", np.full(belief.rows, p), Spread.of(gap),
                   Spread.of(device.way), "mm", because, _SETTLE)


SCREW: Final = Knob("holding.screw", _other_screws, lambda case, screw: f"{screw}, not {case.setting.holding.screw}")

CHECK = Check(NAME, "clamp comes to its end before the part is tight", "part", "setting", _applies, _evaluate,
              knobs=(SCREW,))
