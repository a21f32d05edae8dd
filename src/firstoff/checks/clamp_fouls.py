"""A clamp or a screw's head stands on what the operation cuts: the cutter runs into it."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..errors import NameUnknown
from ..part.shapes import Feature
from ..units import tell
from ._chance import decided
from ._forces import MILLING
from ._patches import Array, Patch
from ._touching import PRESSED, device_of, touching
from .base import Case, Check, Finding

NAME: Final = "clamp fouls"

#: Roles in which the cutter goes on by its radius beyond what it cuts; in the others it stays within.
_BEYOND: Final = ("face", "side", "ramp", "form", "chamfer", "slot")
_NO_CUT: Final = frozenset({"measure", "file", "saw", "tap"})


def footprint(case: Case, feature: Feature) -> tuple[Array, Array] | None:
    """From where to where the cutter goes over a feature, across and away as one stands before the machine [mm]."""
    faces = [case.part.faces[number] for number in feature.faces]
    if not faces:
        return None
    up, across = np.array(case.setting.up), np.array(case.setting.across)
    plan = np.stack([across, np.cross(up, across)])
    corners = np.array([corner for face in faces for corner in (face.low, face.high)]) @ plan.T
    room = case.tool.diameter / 2.0 if case.tool.kind in MILLING and case.op.role.startswith(_BEYOND) else 0.0
    return corners.min(axis=0) - room, corners.max(axis=0) + room


def overlap(case: Case, tip: Patch, feature: Feature) -> float:
    """How far a clamp's tip reaches into where the cutter goes [mm]; 0 where it stands clear."""
    found = footprint(case, feature)
    if found is None or not len(tip.cells):
        return 0.0
    up, across = np.array(case.setting.up), np.array(case.setting.across)
    plan = np.stack([across, np.cross(up, across)])
    here = tip.cells @ plan.T
    low, high = np.maximum(here.min(axis=0), found[0]), np.minimum(here.max(axis=0), found[1])
    return float(max((high - low).min(), 0.0))


def _tips(case: Case) -> list[Patch]:
    """The tips that may stand in the way: where the setting says where, else for a cut over all of the top.

    Where nothing is known of what holds the part, as in a cut asked for alone, there is none to tell of.
    """
    over_all = case.op.role.startswith("face") and bool(device_of(case).squeeze)
    if not case.setting.holding.clamps and not over_all:
        return []
    try:
        return [patch for patch in touching(case) if patch.name == "clamp"]
    except NameUnknown:
        return []


def worst(case: Case) -> tuple[float, int, str]:
    """The deepest that a clamp reaches into the cut [mm], its number from 1, and the feature."""
    found = [(overlap(case, tip, feature), tip.clamp + 1, feature.id)
             for tip in _tips(case) for feature in case.features]
    return max(found, default=(0.0, 0, ""))


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.op.role not in _NO_CUT
            and device_of(case).kind in PRESSED and bool(_tips(case)))


def _evaluate(case: Case, belief: Belief) -> Finding:
    deep, number, feature = worst(case)
    what = "screw" if device_of(case).kind == "screws" else "clamp"
    if deep <= 0.0:
        because = f"every {what} stands clear of what is cut here"
    elif case.setting.holding.clamps:
        because = (f"{what} {number} stands by {tell(deep, 'length', case.job.units, 1)} on {feature}, which is cut "
                   f"here: move it, or cut that in another clamping")
    else:
        because = (f"all of {feature} is cut, and the {device_of(case).name} press on it: no place is left for a "
                   f"{what}; a vise, screws from below, glue, or {what}s moved from end to end in two clampings")
    return decided(NAME, case, belief, "tool", deep, 0.0, unit="mm", because=because)


CHECK = Check(NAME, "cutter runs into a clamp", "tool", "operation", _applies, _evaluate)
