"""A measured size by itself: what it allows to be said, and what would settle it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from ..checks.base import Case
from ..checks.si import metres
from ..checks.size import left_open, too_coarse
from ..errors import RecordError
from ..job.gauges import gauges
from ..job.measured import Measured
from ..job.models import Job
from ..job.nominal import no_slip, nominal_size
from ..part.shapes import Part
from ..shop.models import Shop
from ..stack.conformity import decide
from ..units import tell

#: how well a person knows how much warmer a part is than the shop, by a thermometer laid on it [K]; judged
WARMTH_READ: Final = 1.0
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
    grown: float = 0.0               # of it by warmth, taken off the size [mm]


def unproved(job: Job, shop: Shop, parts: Mapping[str, Part]) -> Iterator[str]:
    """Limits that their instrument cannot confirm, since what it leaves open is wider, in words.

    Args:
        job: with its limits.
        shop: with its instruments.
        parts: digest of each part, for what else would reach there.
    """
    for name, limit in job.limits.items():
        one = shop.instruments.get(limit.instrument or "")
        if one is None or not too_coarse(limit, one):
            continue
        kinds, width = gauges(limit, job, parts), limit.tolerance[1] - limit.tolerance[0]
        finer = [other.name for other in shop.instruments.values()
                 if other.kind in kinds and left_open(limit, other) <= width
                 and (limit.size is None or other.range[0] <= limit.size <= other.range[1])]
        told, u = (tell(size, "length", job.units) for size in (width, 2.0 * one.uncertainty.value))
        most = tell(width if limit.is_zone else width / 2.0, "length", job.units)
        would = f"with the {finer[0]} it can" if finer else f"it takes one of U = {most} or less"
        yield f"{name}: a band of {told} cannot be confirmed with the {one.name} (U = {u}): {would}"


def reading_of(case: Case, item: Measured) -> Reading:
    """What one measured size says by itself.

    Raises:
        RecordError: if it is so far from the nominal that it is a slip, or the nominal is not known; or it was read
            warm, and nothing tells how it grows.
    """
    limit = case.limit
    assert limit is not None
    nominal = nominal_size(case.name, case.job, case.parts)
    no_slip(f"{item.size:g} mm", item.size, nominal, item.limit)
    grown, doubt = _grown(case, item, nominal)
    u = math.hypot(case.shop.instruments[item.instrument].uncertainty.value, doubt)
    off = item.size - grown - nominal
    low, high = limit.tolerance
    least = -math.inf if limit.is_zone else metres(low)         # nothing is flatter than flat
    said = int(decide(metres(off), metres(2.0 * u), least, metres(high)))
    settle = "" if said else _settles(case, item, off)
    if settle and doubt > 0.5 * u:
        settle = f"let it get as cold as the shop, and measure it again; {settle}"
    return Reading(item.limit, item.size - grown, off, u, SAID[said], settle, grown)


def _grown(case: Case, item: Measured, nominal: float) -> tuple[float, float]:
    """By how much a size is larger for being warm, and the standard uncertainty of that [mm].

    Raises:
        RecordError: if nothing tells how it grows.
    """
    if item.warmer == 0.0:
        return 0.0, 0.0
    limit, part = case.limit, case.part_name
    assert limit is not None
    figure = case.shop.materials[case.job.parts[part].material].expansion if part in case.job.parts else None
    if figure is None or limit.kind not in ("distance", "size"):
        raise RecordError(f"nothing tells how {item.limit} grows when it is warm", where=item.limit,
                          right="let it get as cold as the shop, and measure it then")
    each = figure.sd if figure.sd is not None else figure.value * math.log(figure.factor or 1.0)
    doubt = math.hypot(figure.value * WARMTH_READ, each * item.warmer)
    return nominal * figure.value * item.warmer, nominal * doubt


def _settles(case: Case, item: Measured, off: float) -> str:
    """The instrument that would decide a size like this one, the coarsest that does; in words where there is none."""
    limit = case.limit
    assert limit is not None
    low, high = limit.tolerance
    away = abs(off - high) if limit.is_zone else min(abs(off - low), abs(off - high))
    suited = gauges(limit, case.job, case.parts)
    able = [one for one in case.shop.instruments.values() if one.kind in suited
            and one.range[0] <= item.size <= one.range[1] and 2.0 * one.uncertainty.value < away]
    best = max(able, key=lambda one: one.uncertainty.value, default=None)
    if best is not None:
        return f"the {best.name} would settle it"
    if away < FINEST:
        return "so near the limit no instrument settles it; go on for the middle of the limits"
    told = tell(away, "length", case.job.units)
    return f"no instrument of the shop settles it: one of U below {told} would, or go on for the middle of the limits"
