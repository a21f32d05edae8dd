"""A measured size by itself: what it allows to be said, and what would settle it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ..checks.base import Case
from ..checks.si import metres
from ..job.gauges import gauges
from ..job.measured import Measured
from ..job.nominal import no_slip, nominal_size
from ..stack.conformity import decide
from ..units import tell

#: an uncertainty that no instrument of a shop has [mm]
FINEST: Final = 0.001
SAID: Final = {1: "conforms", 0: "cannot tell", -1: "does not conform"}


@dataclass(frozen=True)
class Reading:
    """A measured size, and what it allows to be said (ISO 14253-1, U = 2u)."""

    limit: str
    size: float                      # [mm]
    deviation: float                 # from the nominal [mm]
    u: float                         # standard uncertainty [mm]
    decision: str
    settle: str = ""                 # where it cannot be told: the instrument of the shop that most likely would


def reading_of(case: Case, item: Measured) -> Reading:
    """What one measured size says by itself.

    Raises:
        RecordError: if it is so far from the nominal that it is a slip, or the nominal is not known.
    """
    limit = case.limit
    assert limit is not None
    nominal = nominal_size(case.name, case.job, case.parts)
    no_slip(f"{item.size:g} mm", item.size, nominal, item.limit)
    u = case.shop.instruments[item.instrument].uncertainty.value
    off = item.size - nominal
    low, high = limit.tolerance
    said = int(decide(metres(off), metres(2.0 * u), metres(low), metres(high)))
    return Reading(item.limit, item.size, off, u, SAID[said], "" if said else _settles(case, item, off))


def _settles(case: Case, item: Measured, off: float) -> str:
    """The instrument that would decide a size like this one, the coarsest that does; in words where there is none."""
    limit = case.limit
    assert limit is not None
    low, high = limit.tolerance
    away = min(abs(off - low), abs(off - high))
    suited = gauges(limit, case.job, case.parts)
    able = [one for one in case.shop.instruments.values() if one.kind in suited
            and one.range[0] <= item.size <= one.range[1] and 2.0 * one.uncertainty.value < away]
    best = max(able, key=lambda one: one.uncertainty.value, default=None)
    if best is not None:
        return f"the {best.name} would settle it"
    if away < FINEST:
        return "so near the limit no instrument settles it; go on for the middle of the limits"
    told = tell(away, "length", case.job.units, 3)
    return f"no instrument of the shop settles it: one of U below {told} would, or go on for the middle of the limits"
