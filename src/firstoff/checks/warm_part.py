"""A part is measured warm: it is larger then than it will be, and is cut too small by it.

All heat of the setting so far goes into the part and leaves it through the jaws and the air. Counted with the
sizes of the part, of which it is one error: against a third of the band, as push-off.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..cutting.heat import cooling_time, growth, part_rise
from ..job.faces import resolve
from ..job.models import Limit
from ..medians import median
from ..units import tell
from ._chance import OPERATION_SCATTER, figure, middle, weighed
from ._forces import material_entity
from ._heat import heat_into_part, untold
from ._past import past_of
from ._told import tiny
from .base import Case, Check, Finding, Knob, Past, cannot
from .si import cubic_metres, metres, micrometres, minutes, square_metres, value

NAME = "warm part"
#: Share of the band that the growth may take; the others want theirs.
SHARE: Final = 1.0 / 3.0
#: From the end of the cut until the instrument is on the part [s]: to stop, brush off and wipe; judged.
UNTIL_MEASURED: Final = 60.0
#: From the end of one cut until the next tool is in and cuts [s]; judged.
BETWEEN: Final = 60.0
#: Growth that nobody measures [um].
COLD: Final = 0.5
#: Waits to offer [s].
_WAITS: Final = (120.0, 300.0, 600.0, 1200.0)


class Cooling(NamedTuple):
    """How a part gives its heat away, by row: conductance [W/K] and capacity [J/K]."""

    conductance: Rows
    capacity: Rows


def measured(case: Case) -> list[tuple[str, Limit]]:
    """Limits that are measured after the operation, with a size that heat changes."""
    return [(name, case.job.limits[name]) for name in case.op.measure
            if name in case.job.limits and case.job.limits[name].size is not None
            and case.job.limits[name].kind in ("distance", "size")]


def _applies(case: Case) -> bool:
    return case.operation is not None and bool(measured(case)) and any(cut.mills for cut in in_setting(case))


def in_setting(case: Case) -> list[Past]:
    """The operations of this setting up to this one."""
    return [*(past for past in case.before if past.setting == case.setting_name), past_of(case)]


def cooling(case: Case, belief: Belief) -> Cooling:
    """Through the jaws where a vise holds it, through the glue to a carrier that stays cold, and through the air."""
    part, holding = case.part, case.setting.holding
    x, y, z = (high - low for low, high in zip(part.low, part.high, strict=True))
    air = square_metres(2.0 * (x * y + y * z + z * x)) * value(belief, "coolant:dry", "film")
    device = case.shop.devices[holding.device]
    jaws = 2.0 * holding.grip_height * min(device.width or max(x, y, z), max(x, y, z))
    through = value(belief, "shop", "jaw_contact") * (square_metres(jaws) if device.kind == "vise" else 0.0)
    through = through + _through_glue(case, belief)
    capacity = value(belief, material_entity(case), "heat_capacity") * cubic_metres(part.volume)
    return Cooling(air + through, capacity)


def _through_glue(case: Case, belief: Belief) -> Rows | float:
    """Conductance of glue or tape under a part, by row [W/K]; 0 where there is none, or nothing is known of it."""
    entity = f"device:{case.setting.holding.device}"
    if not belief.has(entity, "glue_conductivity") or not belief.has(entity, "glue_line"):
        return 0.0
    rests = resolve(case.setting.holding.rest, case.part, case.wanted.names)
    area = square_metres(sum(case.part.faces[number].area for number in rests))
    return value(belief, entity, "glue_conductivity") * area / value(belief, entity, "glue_line")


def rise_in_cut(case: Case, belief: Belief) -> Rows:
    """How warm the part gets in this operation, over the shop, by row [K]: with what is left from those before it.

    Between two operations it cools while the tool is changed; the setting begins cold.
    """
    away, rise = cooling(case, belief), np.zeros(belief.rows)
    *before, cut = in_setting(case)
    for past in before:
        rise = _warmed(past, belief, away, rise)
        rise = part_rise(0.0, *away, BETWEEN + past.cooling, rise)
    return np.maximum(rise, _warmed(cut, belief, away, rise))


def _warmed(cut: Past, belief: Belief, away: Cooling, rise: Rows) -> Rows:
    """How warm the part is when a cut ends that began so warm [K]."""
    heat = heat_into_part(cut, belief) / cut.seconds if cut.mills else 0.0
    return part_rise(heat, *away, cut.seconds, rise) if cut.seconds > 0.0 else rise


def rise_when_measured(case: Case, belief: Belief) -> Rows:
    """How much warmer than the shop the part is when it is measured, by row [K]."""
    away, rise = cooling(case, belief), np.zeros(belief.rows)
    for cut in in_setting(case):
        if cut.mills:
            rise = part_rise(heat_into_part(cut, belief) / cut.seconds, *away, cut.seconds, rise)
        rise = part_rise(0.0, *away, UNTIL_MEASURED + cut.cooling + (0.0 if cut.mills else cut.seconds), rise)
    return rise


def _evaluate(case: Case, belief: Belief) -> Finding:
    lacks = untold(case, belief, "expansion")
    if lacks:
        return cannot(NAME, case, "size", *lacks)
    rise = rise_when_measured(case, belief)
    name, limit = min(measured(case), key=lambda item: (item[1].tolerance[1] - item[1].tolerance[0])
                      / max(item[1].size or 0.0, 1e-9))
    size = metres(limit.size or 0.0)
    expansion = value(belief, material_entity(case), "expansion")
    grown = growth(size, expansion, rise)
    may = metres(SHARE * (limit.tolerance[1] - limit.tolerance[0]))
    finding = weighed(NAME, case, "size", micrometres(grown), micrometres(np.full(belief.rows, may)),
                      OPERATION_SCATTER["force"], unit="um",
                      because=_because(case, belief, name, limit, rise, grown, may),
                      settle_by="a thermometer on the part and on the gauge block or a cold piece of the same metal")
    return replace(finding, joint_group=f"size:{case.part_name}")


def _because(case: Case, belief: Belief, name: str, limit: Limit, rise: Rows, grown: Rows, may: float) -> str:
    units = case.job.units
    if median(micrometres(grown)) < COLD:
        return (f"when {name} is measured, a minute after the cut, the part has cooled to within {_cold(units)} of "
                f"its size")
    told = (f"when {name} is measured the part is about {middle(rise)} degrees warmer than the shop: "
            f"{tell(limit.size or 0.0, 'length', units)} reads about {tiny(grown, units)} too much; "
            f"a third of its band is {tiny(may, units)}")
    too_warm = median(grown) / may
    if too_warm <= 1.0:
        return told
    wait = cooling_time(rise, median(rise) / too_warm, *cooling(case, belief))
    return f"{told}: wait {figure(minutes(median(wait)))} min, or take it off the reading"


def _cold(units: str) -> str:
    return f"{COLD} um" if units == "mm" else "0.00002 in"


def _waits(case: Case) -> list[object]:
    return [wait for wait in _WAITS if wait > case.op.cooling]


WAIT = Knob("cooling", _waits, lambda case, wait: f"leave it to cool for {tell(float(str(wait)), 'time')} first")
CHECK = Check(NAME, "part is measured warm", "size", "operation", _applies, _evaluate, knobs=(WAIT,),
              looks_back=True)
