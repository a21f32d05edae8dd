"""A cut that reaches further than the machine's slides go."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ._chance import decided
from ._forces import is_milling
from ._patches import Array, span
from ._run import deep
from .base import Case, Check, Finding

NAME: Final = "travel"
#: roles whose cutter runs off both ends of what it cuts
_OVER_THE_ENDS: Final = frozenset({"face_rough", "face_finish", "side_rough", "side_finish"})
#: roles whose cutter stays within the walls that it cuts
_WITHIN: Final = frozenset({"pocket_rough", "pocket_finish", "slot"})


def needed(case: Case) -> tuple[float, float]:
    """How far the table has to go for it at least, across and in and out [mm].

    The middle of a cutter goes from one end of a face to the other, a radius beyond each where it runs off the face's
    longer way, and within the walls of a pocket.
    """
    across = np.array(case.setting.across)
    ways = across, np.cross(np.array(case.setting.up), across)
    reach = [_reach(case, way) for way in ways]
    if case.op.role in _OVER_THE_ENDS:
        reach[int(np.argmax(reach))] += case.tool.diameter
    elif case.op.role in _WITHIN:
        reach = [max(length - case.tool.diameter, 0.0) for length in reach]
    return reach[0], reach[1]


def _reach(case: Case, way: Array) -> float:
    """From where to where what is cut lies along a direction [mm]: its faces, else the whole piece."""
    faces = [case.part.faces[number] for feature in case.features for number in feature.faces]
    if not faces:
        low, high = span(case, way)
        return high - low
    ends = np.array([[way * np.array(face.low), way * np.array(face.high)] for face in faces])
    return float(ends.max(axis=1).sum(axis=1).max() - ends.min(axis=1).sum(axis=1).min())


def _applies(case: Case) -> bool:
    return case.run is None and is_milling(case) and case.machine.travel is not None


def _evaluate(case: Case, belief: Belief) -> Finding:
    travel, far, units = case.machine.travel, needed(case), case.job.units
    assert travel is not None
    axis = max(range(2), key=lambda k: far[k] / travel[k])
    because = (f"the cutter goes {deep(far[axis], units)} along {'XY'[axis]} at least, and the slides go "
               f"{deep(travel[axis], units)}" + (": turn the part, or move it and pick up the zero again"
                                                 if far[axis] > travel[axis] else ""))
    return decided(NAME, case, belief, "tool", far[axis], travel[axis], unit="mm", because=because)


CHECK = Check(NAME, "cut reaches beyond the slides", "tool", "operation", _applies, _evaluate)
