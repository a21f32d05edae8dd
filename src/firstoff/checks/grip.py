"""The jaws hold too narrow a band: edges and burrs leave nothing of it, or its metal is crushed out.

A broken edge on the part, the rounded edge of a jaw and a jaw that lifts take their share of the height that is to be
gripped. What is left must bear the squeeze without flowing away below; how it then holds is for `holding`.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..holding.grip import crushed_height
from ..medians import median
from ..units import tell
from ._chance import figure, known, over, spread
from ._clamped import plain
from ._forces import material_entity
from ._patches import CELLS, Array, Patch, span
from ._round import ROUND, round_face
from ._surfaces import TAPPED
from ._tightened import squeeze
from ._told import coarse
from ._touching import JAWS, device_of, grip_said, missing, touching
from .base import Case, Check, Finding, Knob, Spread, State, cannot
from .si import metres, millimetres, mpa, value

NAME: Final = "grip"

#: What edges and burrs take of a grip [mm]: an edge broken by 0.1 to 0.3 (iso13715), the top edge of a jaw as much
#: again, worn more; judged. One standard deviation of its log.
LOST: Final = 0.4
LOST_SD: Final = math.log(1.6)
CRUSH_SD: Final = math.log(1.2)     #: of the pressure at which metal flows, the jaw not quite flat; judged
#: Share of yield strength from which jaws show on a soft face: they touch on part of it only; judged.
SHOWS: Final = 0.1
LINE: Final = 0.25                  #: of its diameter, to which a line on a bar may be flattened; judged
SOFT: Final = frozenset({"N", "plastic", "wood"})
USUAL: Final = (3.0, 5.0)           #: spare stock to grip [mm], milled off last
ABOVE: Final = 0.5                  #: a cut stays so far above the jaws [mm]
_SIDEWAYS: Final = frozenset({"step", "slot", "stock", "ramp", "chamfer", "fillet", "groove", "free_form"})


def as_it_comes(case: Case) -> Case:
    """The case of a setting with what was cut before it."""
    first = min((op.number for _, op in case.route.of_setting(case.name)), default=0)
    mates = {name for name, place in case.route.settings.items() if place.workpiece.split("+")[0] == case.part_name}
    done = {feature for _, op in case.route.in_order() if op.number < first and op.setting in mates
            and op.leaves == 0.0 and op.role != "measure" for feature in op.features}
    return replace(case, state=State(case.part_name or "", frozenset(done)))


def bands(case: Case) -> tuple[Patch, ...]:
    """Where the jaws touch when the setting begins."""
    return tuple(patch for patch in touching(as_it_comes(case)) if patch.name in ("fixed jaw", "moving jaw"))


def size_of(case: Case, band: Patch) -> tuple[float, float]:
    """Height of a band, and the length that the jaw has of it [mm]."""
    up = np.array(case.setting.up)
    along = np.cross(up, band.normal)
    high = case.setting.holding.grip_height
    reach = float(np.ptp(band.cells @ up)) if len(band.cells) else 0.0
    # middles of small squares: a row of them stands for its own height
    rows = len(np.unique(np.round(band.cells @ up, 3))) if len(band.cells) else 1
    tall = min(reach * rows / (rows - 1) if rows > 1 else high / CELLS, high)
    return tall, band.area / tall if tall > 0.0 else float(np.ptp(band.cells @ along))


def _applies(case: Case) -> bool:
    return device_of(case).kind in JAWS and case.machine_kind != "hand" and grip_said(case)


def held_by(case: Case, found: tuple[Patch, ...]) -> tuple[float, float, bool]:
    """Height or length that is gripped, and the width over which it bears [mm]; whether it is round."""
    face = round_face(case) if device_of(case).kind in ROUND else None
    if face is None or face.radius is None or face.axis is None:
        tall, wide = min((size_of(case, band) for band in found), key=lambda item: item[0] * item[1])
        return tall, wide, False
    axis = np.array(face.axis) / np.linalg.norm(face.axis)
    low, high = _heights(axis, np.array([face.low, face.high]))
    long = min(high - low, case.setting.holding.grip_height or high - low)
    return long, _round_width(case, face.radius), True


def _round_width(case: Case, radius: float) -> float:
    """Width that bears at each jaw on a bar [mm]: a third of a collet's bore; of a line, as far as it may flatten."""
    return 2.0 * math.pi * radius / 3.0 if device_of(case).kind == "collet_block" else LINE * 2.0 * radius


def lost(case: Case, belief: Belief) -> Rows:
    """What edges, burrs and a lifting jaw take of the height, by row [mm]."""
    holding = case.setting.holding
    lifts = millimetres(known(belief, f"device:{holding.device}", "jaw_lift", 0.0))
    return np.asarray(LOST + lifts * (TAPPED if holding.tapped else 1.0))


def _evaluate(case: Case, belief: Belief) -> Finding:
    entity, settle = material_entity(case), "look along the jaws with a lamp: how high does it touch?"
    clamp, found = squeeze(case, belief), bands(case)
    if lacks := missing(case, touching(as_it_comes(case))):
        return cannot(NAME, case, "part", lacks, settle)
    if clamp is None or not found:
        name = device_of(case).name
        why = f"nothing is known of how hard the {name} presses" if found else "the jaws touch nothing"
        return cannot(NAME, case, "part", why, settle)
    if not belief.has(entity, "yield_strength"):
        return cannot(NAME, case, "part", f"the strength of {case.material.name} is not known", settle)
    tall, wide, is_round = held_by(case, found)
    taken, strength = lost(case, belief), value(belief, entity, "yield_strength")
    crushed = millimetres(crushed_height(clamp, metres(wide), strength, at_edge=not is_round))
    p = over(taken, np.maximum(tall - crushed, 0.0), spread(LOST_SD, CRUSH_SD))
    return Finding(NAME, case.subject, case.name, "part", p, Spread.of(taken + crushed), Spread.of(tall), "mm",
                   _because(case, tall, taken, crushed)
                   + ("" if is_round else marks(case, clamp, (tall, wide), taken, strength)), settle)


def _because(case: Case, tall: float, taken: Rows, crushed: Rows) -> str:
    units = case.job.units
    high, away = (coarse(size, units) for size in (tall, median(taken)))
    told = (f"the jaws hold {high} of it: broken edges, burrs and jaw take about {away}, and "
            f"{bears(crushed, units)} bear the squeeze")
    if tall <= median(taken + crushed):
        told += ", so that nothing is left that holds"
    if tall > USUAL[0]:
        return told
    least, most = (tell(size, "length", units) for size in USUAL)
    return f"{told}; usual are {least} to {most}, of stock that is milled off last"


def bears(crushed: Rows, units: str) -> str:
    """Height that it takes to bear a jaw, in words."""
    return tell(median(crushed), "length", units, 2 if units == "mm" else 3)


def marks(case: Case, clamp: Rows, band: tuple[float, float], taken: Rows, strength: Rows) -> str:
    """What the jaws leave on the faces that they press."""
    if device_of(case).kind == "edge_clamps":
        return "; their teeth mark the edge that they press"
    left = max(band[0] - median(taken), 0.1 * band[0])
    pressure = median(clamp) / (left * band[1])
    share = pressure / median(mpa(strength))
    raw = set(case.setting.holding.grip) & set(case.setting.stock_left)
    if not SHOWS <= share < 1.0 or case.material.group not in SOFT or raw or device_of(case).soft:
        return ""
    return (f"; some {figure(pressure)} N/mm2 on a finished face of {plain(case.material.name)} shows: card or soft "
            "jaws between")


# --- instead: deeper in the jaws ----------------------------------------------------------------------------------


def lowest_cut(case: Case) -> float:
    """Height above the foot of the piece below which nothing here is cut sideways between the jaws [mm]."""
    up = np.array(case.setting.up)
    foot, top = span(case, up)
    low = top
    for _, op in case.route.of_setting(case.name):
        for feature in (f for f in case.part.features if f.id in op.features):
            if op.tool is None or (feature.kind not in _SIDEWAYS and not feature.open):
                continue
            reach = [_heights(up, np.array([case.part.faces[i].low, case.part.faces[i].high]))[0]
                     for i in feature.faces]
            low = min([low, *reach])
    return low - foot


def _heights(up: Array, box: Array) -> tuple[float, float]:
    ends = np.sort(up * box, axis=0)
    return float(ends[0].sum()), float(ends[1].sum())


def seats(case: Case) -> list[tuple[float, float, float]]:
    """Deeper seats: grip, what stands above, parallels [mm]; the nearest to what is usual first."""
    device, holding = device_of(case), case.setting.holding
    foot, top = span(case, np.array(case.setting.up))
    jaw = device.jaw_height or holding.grip_height + holding.parallels
    most = min(lowest_cut(case) - ABOVE, top - foot)
    deeper = sorted(jaw - under for under in (0.0, *device.parallels) if holding.grip_height < jaw - under <= most)
    return [(round(grip, 3), round(top - foot - grip, 3), round(jaw - grip, 3)) for grip in deeper]


def _deeper(case: Case) -> list[object]:
    """One that reaches what is usual, else the deepest."""
    found = seats(case)
    enough = [seat for seat in found if seat[0] >= USUAL[0]]
    return [seat[0] for seat in (enough[:1] or found[-1:])]


def _with_it(case: Case, chosen: object) -> tuple[tuple[str, str], ...]:
    return tuple(("holding.stick_up", f"{above:g} mm") if what else ("holding.parallels", f"{under:g} mm")
                 for grip, above, under in seats(case) if grip == chosen for what in (True, False))


def _say_deeper(case: Case, grip: object) -> str:
    units = case.job.units
    under = next(low for high, _, low in seats(case) if high == grip)
    on = f"on parallels of {tell(under, 'length', units)}" if under > 0.0 else "without parallels"
    return (f"{tell(float(str(grip)), 'length', units)} in the jaws, not "
            f"{tell(case.setting.holding.grip_height, 'length', units)}: {on}")


DEEPER: Final = Knob("holding.grip_height", _deeper, _say_deeper, _with_it)

CHECK = Check(NAME, "jaws hold too little of it", "part", "setting", _applies, _evaluate, knobs=(DEEPER,))
