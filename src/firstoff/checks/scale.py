"""The first pass on a hot-rolled face runs in the scale: its depth against the lowest spot of the raw face.

The tool is set on the highest spot. How much lower the lowest spot is nobody knows before; the bow that the
job allows for is taken as the worst of it.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..cutting.scale_crust import lowest_scale
from ..medians import median
from ..normal import normal_cdf
from ..units import tell
from ._chance import known
from ._forces import is_milling, material_entity
from .base import Case, Check, Finding, Knob, Spread
from .si import metres, millimetres

NAME = "scale"

#: The dip of a bar at hand as a share of the worst that its job allows for: all shares between these are
#: taken as equally likely; judged.
LEAST_DIP: Final = 0.3
MOST_DIP: Final = 1.0
#: One standard deviation of where the first pass really runs [mm]: touching off on a rough, scaly face; judged.
TOUCH_SD: Final = 0.03
_POINTS: Final = 32
_DOWN: Final = ("face", "form", "ramp")       #: how roles begin whose first pass goes down into the face
#: Below the lowest spot that the job allows for [mm]: the thickest scale that is rolled on; and some clean metal.
_UNDER, _CLEAN = 0.1, 0.05
#: Times that spot: what a first pass that stays in the scale may be turned to.
_MARGIN: Final = (1.0, 1.15, 1.35, 1.6, 2.0)


def raw_faces(case: Case) -> bool:
    """Whether an operation is the first that cuts a raw hot-rolled face."""
    if case.wanted.stock.condition != "hot_rolled" or case.state is None or pickled(case):
        return False
    touched = {name for name, _ in case.state.left} | case.state.cut
    return any(f.kind == "stock" and f.id not in touched for f in case.features) and not _sawn(case)


def pickled(case: Case) -> bool:
    """Whether the route has the scale taken off the bar before this operation or an earlier one of the part."""
    return any(op.pickled and op.number <= case.op.number
               and case.route.settings[op.setting].workpiece == case.setting.workpiece
               for op in case.route.operations.values())


def _sawn(case: Case) -> bool:
    """An end that was sawn has no scale: its feature looks along the bar."""
    size = case.wanted.stock.size
    longest = max(range(3), key=lambda axis: size[axis])
    ways = [f.axis for f in case.features if f.kind == "stock" and f.axis is not None]
    return case.wanted.stock.sawn_ends and all(abs(way[longest]) > 0.9 for way in ways) and bool(ways)


def _applies(case: Case) -> bool:
    return is_milling(case) and raw_faces(case)


def first_pass(case: Case) -> float:
    """Depth of the first pass below the highest spot [mm]: along the tool on a face, else across it."""
    if case.op.role.startswith(_DOWN):
        return case.op.cut.depth_of_cut or case.op.removes
    return case.op.cut.width_of_cut or case.op.removes


def beneath(case: Case) -> float:
    """The least depth at which the first pass of a raw face comes beneath its scale [mm]; 0 where none is to."""
    raw = case.op.role.startswith(_DOWN) and raw_faces(case)
    return round(case.wanted.stock.bow + _UNDER + _CLEAN, 2) if raw else 0.0


def _evaluate(case: Case, belief: Belief) -> Finding:
    depth, bow = first_pass(case), case.wanted.stock.bow
    crust = known(belief, material_entity(case), "scale_thickness", 0.0)
    shares = LEAST_DIP + (MOST_DIP - LEAST_DIP) * (np.arange(_POINTS) + 0.5) / _POINTS
    reach = lowest_scale(metres(bow * shares)[:, None], crust[None, :])
    p = normal_cdf((reach - metres(depth)) / metres(TOUCH_SD)).mean(axis=0)
    units = case.job.units
    typical = median(millimetres(np.asarray(reach.ravel())))
    because = (f"the first pass is {tell(depth, 'length', units)} deep; the lowest spot of the scale lies about "
               f"{tell(typical, 'length', units, 2)} down")
    return Finding(NAME, "operation", case.name, "tool", p, Spread.of(millimetres(np.asarray(reach.ravel()))),
                   Spread.of(depth), "mm", because,
                   "lay a straight edge on the raw bar and feel under it with a feeler gauge")


def _deeper(case: Case) -> list[object]:
    """Depths of the first pass that come below the scale, while there is as much to take."""
    down = case.wanted.stock.bow
    asked = [round(down * share + _UNDER, 2) for share in _MARGIN]
    return [depth for depth in asked if first_pass(case) < depth <= case.op.removes]


def _say(case: Case, value: object) -> str:
    assert isinstance(value, float)
    return f"a first pass {tell(value, 'length', case.job.units)} deep, not " \
           f"{tell(first_pass(case), 'length', case.job.units)}"


DEEPER = Knob("cut.depth_of_cut", lambda case: _deeper(case) if case.op.role.startswith(_DOWN) else [], _say)
PICKLE = Knob("pickled", lambda case: ["true"], lambda case, value: "pickle or grind the scale off first")
CHECK = Check(NAME, "edge runs in the scale", "tool", "operation", _applies, _evaluate, knobs=(DEEPER, PICKLE))
