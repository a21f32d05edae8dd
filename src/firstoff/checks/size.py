"""A size comes out wrong: the errors of settings and cuts between its two faces against its limits.

A distance between flat faces must hold at their corners, since a part that sat tilted has no one thickness. Limits of
one part share errors; they form one group, in which the likeliest counts by row.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..errors import NameUnknown
from ..job.models import Limit
from ..shop.models import Instrument
from ..stack.chance import chance_out, joint_chance_out
from ..units import tell
from ._bores import bored, cleared
from ._chance import discrepancy
from ._flat import flat
from ._makers import Broken
from ._orientations import oriented
from ._sizes import Sized, Spreads, deep, sized, spreads
from ._tails import drawn_in, within
from ._told import middling
from .base import Case, Check, Finding, Observation, Spread, cannot
from .si import metres, micrometres, millimetres

NAME = "size"
_LINKED = ("distance", "chain")
#: how each kind of limit is followed to what makes it
_BY_KIND: Final[dict[str, Callable[[Case, Limit, Belief], Sized]]] = {
    "distance": sized, "chain": sized, "parallelism": oriented, "squareness": oriented, "angle": oriented,
    "position": oriented, "flatness": flat, "depth": deep, "size": bored, "clearance": cleared,
}
#: chances below it are added up over the corners
_RARE = 1e-4
#: where corners are told apart, that all rows together look at: what one of them misses averages out
_MANY = 65536
#: no size is known better than to this [m]; it keeps a likelihood finite
_NARROWEST = 1e-8


def group(part: str | None) -> str:
    """The group in which limits of a part are counted once."""
    return f"size:{part}"


def _limit(case: Case) -> Limit:
    assert case.limit is not None
    return case.limit


@dataclass(frozen=True)
class Expected:
    """What a limit comes out at.

    Fields:
        offset: deviation from nominal by row at the middle [m], shape (N,).
        sd: its standard deviation by row [m], shape (N,).
        spreads: what it is made of: the middle first, then the corners.
        found: the limit as a sum of errors.
    """

    offset: Rows
    sd: Rows
    spreads: Spreads
    found: Sized


def expected(case: Case, belief: Belief) -> Expected:
    """What a limit comes out at, by row.

    Raises:
        Broken: if it cannot be followed to what makes it.
        NameUnknown: if a face does not exist.
    """
    limit = _limit(case)
    if limit.kind not in _BY_KIND:
        raise Broken(f"a {limit.kind} is not computed: write it as a distance between two faces")
    found = _BY_KIND[limit.kind](case, limit, belief)
    made = spreads(found, belief, (found.middle, *found.corners))
    aimed = sum(bounds(limit)) / 2.0 if found.aimed else 0.0     # a last cut is set for the middle
    sd = np.sqrt(made.variance[:, 0]) * discrepancy(belief, "size")
    return Expected(aimed + made.offset[:, 0], sd, replace(made, offset=aimed + made.offset), found)


def bounds(limit: Limit) -> tuple[float, float]:
    """The limits of a deviation [m]: of a size its tolerance, of a zone half its width or its width either way."""
    low, high = (metres(item) for item in limit.tolerance)
    if not limit.is_zone:
        return low, high
    reach = high / 2.0 if limit.kind == "position" else high
    return -reach, reach


def chance_by_row(came: Expected, belief: Belief, low: float, high: float) -> Rows:
    """Chance by row that a limit is out anywhere: at a corner where it has any, else at its middle."""
    scale = discrepancy(belief, "size")
    if came.spreads.lines.shape[0] == 1:
        return chance_out(came.offset, came.sd, low, high)
    lines, offset = came.spreads.lines[1:], came.spreads.offset[:, 1:]
    sd = np.sqrt(came.spreads.variance[:, 1:]) * scale[:, None]
    apart = chance_out(offset, sd, low, high).sum(axis=1)
    likely = apart > _RARE          # where it is rarer, corners need not be told apart
    products = (lines[:, None] * lines).reshape(-1, lines.shape[1])
    corners = (products @ (came.spreads.sd[:, likely] * scale[likely]) ** 2).T.reshape(-1, len(lines), len(lines))
    apart[likely] = joint_chance_out(
        offset[likely], corners, np.full(len(lines), low), np.full(len(lines), high), points=_MANY // belief.rows)
    return np.asarray(apart)


def _evaluate(case: Case, belief: Belief) -> Finding:
    limit = _limit(case)
    try:
        came = expected(case, belief)
    except (Broken, NameUnknown) as reason:
        return cannot(NAME, case, "size", str(reason), f"measure it with the {_instrument(case)} when it is cut")
    low, high = bounds(limit)
    p = chance_by_row(came, belief, low, high)
    at = came.spreads.worst
    offset, wide = came.spreads.offset[:, at], 2.0 * np.sqrt(came.spreads.variance[:, at])
    reach = np.abs(offset - (low + high) / 2.0) + wide * discrepancy(belief, "size")
    half = np.full(belief.rows, (high - low) / 2.0)
    because = _because(case, came, belief) if belief.words else ""
    return Finding(NAME, case.subject, case.name, "size", p, Spread.of(micrometres(reach)),
                   Spread.of(micrometres(half)), "µm", because, _settle(case, came.found),
                   joint_group=group(case.part_name), reads=came.found.reads())


def _because(case: Case, came: Expected, belief: Belief) -> str:
    """How far it comes out, as `stack` tells it too: of all that is believed and all that is new each time."""
    at, limit, units = came.spreads.worst, _limit(case), case.job.units
    offset = came.spreads.offset[:, at]
    half = 2.0 * within(offset, np.sqrt(came.spreads.variance[:, at]) * discrepancy(belief, "size"))
    mean = float(drawn_in(offset).mean())
    where = " at its worst corner" if at else ""
    off = f", {middling(millimetres(mean), units)} off nominal in the mean" if abs(mean) > 0.1 * half else ""
    reach = middling(millimetres(half), units)
    return (f"it comes out within {reach} either way, 19 times in 20{where}{off}"
            f"; most of it is {came.spreads.largest()}; wanted {tell(limit.tolerance[0], 'length', units)} to "
            f"{tell(limit.tolerance[1], 'length', units)}{_known_by(case, came.found)}")


def left_open(limit: Limit, instrument: Instrument) -> float:
    """What an instrument leaves open of a tolerance [mm]: U (two standard uncertainties) at both ends, or at the one
    that a zone has."""
    return (2.0 if limit.is_zone else 4.0) * instrument.uncertainty.value


def too_coarse(limit: Limit, instrument: Instrument | None) -> bool:
    """Whether what an instrument leaves open is wider than the limits."""
    return instrument is not None and left_open(limit, instrument) > limit.tolerance[1] - limit.tolerance[0]


def _known_by(case: Case, found: Sized) -> str:
    """What measuring does for it: before the last cut, or why not."""
    limit = _limit(case)
    by = case.shop.instruments.get(limit.instrument or "")
    if by is not None and too_coarse(limit, by):
        return (f"; with the {by.name}, too coarse for it, "
                f"{middling(left_open(limit, by), case.job.units)} stays open")
    if found.lapped:
        return f"; lapped at {found.late} until it reads right, for the middle of the limits"
    if found.measured:
        return f"; measured after {found.measured}, and the last cut set by it for the middle of the limits"
    return ""


def _settle(case: Case, found: Sized) -> str:
    if found.measured:
        return f"measure it with the {_instrument(case)} after the last cut, before it leaves the vise"
    return f"leave 0.2 mm, measure with the {_instrument(case)}, and set the last cut by it"


def _instrument(case: Case) -> str:
    limit = _limit(case)
    found = case.shop.instruments.get(limit.instrument or "")
    return found.name if found else "instrument at hand"


def _loglik(case: Case, belief: Belief, seen: Observation) -> Rows | None:
    """Log likelihood by row of a size that was read: deviation from nominal, with the reading's own doubt."""
    if seen.kind != "size" or case.limit is None or case.limit.kind not in _LINKED:
        return None
    try:
        came = expected(case, belief)
    except (Broken, NameUnknown):
        return None
    wide = np.maximum(np.hypot(came.sd, metres(seen.sd)), _NARROWEST)
    off = (metres(seen.value) - came.offset) / wide
    return np.asarray(-0.5 * off * off - np.log(wide * math.sqrt(2.0 * math.pi)))


CHECK = Check(NAME, "size out of its limits", "size", "limit", lambda case: case.limit is not None, _evaluate,
              loglik=_loglik)

