"""Jaws crush what a program leaves between them: a band that bore the squeeze is milled down until it does not."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..holding.grip import crushed_height
from ..medians import median
from ._chance import over, spread
from ._contacts_left import Stage, as_left, is_held, milled_before, stages
from ._forces import is_milling, material_entity
from ._patches import Patch
from ._round import ROUND, round_face
from ._tightened import squeeze
from ._told import coarse
from ._touching import JAWS, device_of, touching
from .base import Case, Check, Finding, Spread, cannot
from .grip import CRUSH_SD, LOST_SD, bears, lost, size_of
from .si import metres, millimetres, value

NAME: Final = "crushed"

LEFT: Final = 0.98     #: share of a jaw's face from which nothing is gone of it
_JAWS: Final = ("fixed jaw", "moving jaw")


class Band(NamedTuple):
    """What is left of a jaw's face in a stretch of an operation [mm]; no height where none is."""

    name: str
    tall: float
    wide: float
    share: float         # of what the jaw held when the setting began [1]
    line: int            # of the program from which it is so; 0 from before


def _applies(case: Case) -> bool:
    """Where a program runs, or ran before in the setting, between flat jaws."""
    if case.operation is None or case.op.tool is None or not is_held(case) or device_of(case).kind not in JAWS:
        return False
    on_lines = device_of(case).kind in ROUND and round_face(case) is not None
    return not on_lines and ((case.run is not None and is_milling(case)) or milled_before(case))


def bands(case: Case) -> tuple[Band, ...]:
    """What is left of the jaws' faces, stretch by stretch, where something is gone."""
    whole = {name: _of(name, touching(case)) for name in _JAWS}
    return tuple(band for stage in _stretches(case) for name in _JAWS
                 if (at := whole[name]) is not None and (band := _band(case, name, at, stage)).share < LEFT)


def _stretches(case: Case) -> list[Stage]:
    return list(stages(case)) if case.run is not None and is_milling(case) else [as_left(case)]


def _of(name: str, patches: tuple[Patch, ...]) -> Patch | None:
    return next((patch for patch in patches if patch.name == name), None)


def _band(case: Case, name: str, whole: Patch, stage: Stage) -> Band:
    left = _of(name, stage.patches)
    if left is None or left.area <= 0.0:
        return Band(name, 0.0, 0.0, 0.0, stage.line)
    tall, wide = size_of(case, left)
    return Band(name, tall, wide, left.area / whole.area, stage.line)


def _evaluate(case: Case, belief: Belief) -> Finding:
    entity, clamp = material_entity(case), squeeze(case, belief)
    settle = "look along the jaws with a lamp after it: has the metal flowed out below them?"
    if clamp is None:
        return cannot(NAME, case, "part", f"nothing is known of how hard the {device_of(case).name} presses", settle)
    if not belief.has(entity, "yield_strength"):
        return cannot(NAME, case, "part", f"the strength of {case.material.name} is not known", settle)
    taken, found = lost(case, belief), bands(case)
    none = np.zeros(belief.rows)
    if not found:
        return Finding(NAME, case.subject, case.name, "part", none, Spread.of(taken), Spread.of(
            case.setting.holding.grip_height), "mm", "nothing of what the jaws hold is milled away")
    strength = value(belief, entity, "yield_strength")

    def asked(band: Band) -> Rows:
        return millimetres(crushed_height(clamp, metres(max(band.wide, 1e-3)), strength))

    def chance(band: Band) -> Rows:
        return over(taken, np.maximum(band.tall - asked(band), 0.0), spread(LOST_SD, CRUSH_SD))

    worst = max(found, key=lambda band: float(chance(band).mean()))
    p = np.max([chance(band) for band in found], axis=0)
    return Finding(NAME, case.subject, case.name, "part", p, Spread.of(taken + asked(worst)), Spread.of(worst.tall),
                   "mm", _because(case, worst, taken, asked(worst)), settle)


def _because(case: Case, band: Band, taken: Rows, crushed: Rows) -> str:
    since = f"from line {band.line} on" if band.line else "when it begins"
    if band.tall <= 0.0:
        return f"{since} nothing is left for the {band.name} to press on"
    units = case.job.units
    tall, wide, away = (coarse(size, units)
                        for size in (band.tall, band.wide, median(taken)))
    told = (f"{since} the {band.name} presses on {tall} by {wide}, {band.share:.0%} of what it held: edges, burrs "
            f"and jaw take about {away} of it, and {bears(crushed, units)} bear the squeeze")
    return told + (": the rest is crushed" if band.tall <= median(taken + crushed) else "")


CHECK = Check(NAME, "jaws crush what is left of it", "part", "operation", _applies, _evaluate,
              looks_back_at=milled_before)
