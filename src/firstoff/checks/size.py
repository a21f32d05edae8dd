"""A size comes out wrong: the errors of settings and cuts between its two faces against its limits.

First version: distances and chains in one dimension. Limits of one part share errors; until those are told
jointly they form one group, in which the likeliest counts.
"""

from __future__ import annotations

import math

import numpy as np

from ..belief import Belief, Rows
from ..errors import NameUnknown
from ..job.models import Limit
from ..shop.models import Instrument
from ..stack.chance import chance_out
from ..units import tell
from ._chain import Broken, Chain, chain_of
from ._chance import discrepancy, figure, middle
from .base import Case, Check, Finding, Observation, Spread, cannot
from .si import metres, micrometres

NAME = "size"
_BUILT = ("distance", "chain")
#: no size is known better than to this [m]; it keeps a likelihood finite
_NARROWEST = 1e-8


def group(part: str | None) -> str:
    """The group in which limits of a part are counted once."""
    return f"size:{part}"


def _limit(case: Case) -> Limit:
    assert case.limit is not None
    return case.limit


def expected(case: Case, belief: Belief) -> tuple[Rows, Rows, Chain]:
    """Deviation from nominal and its standard deviation at the limit, by row [m], and the chain.

    Raises:
        Broken: if the chain cannot be followed.
        NameUnknown: if a face does not exist.
    """
    limit = _limit(case)
    chain = chain_of(case, limit, belief)
    gain = abs(1.0 if limit.gains else limit.gain)
    aimed = metres(sum(limit.tolerance) / 2.0) if chain.measured else 0.0     # a last cut is set for the middle
    return aimed + gain * chain.offset, gain * np.sqrt(chain.variance) * discrepancy(belief, "size"), chain


def _evaluate(case: Case, belief: Belief) -> Finding:
    limit = _limit(case)
    if limit.kind not in _BUILT:
        return cannot(NAME, case, "size", f"a {limit.kind} is not computed yet",
                      f"measure it with the {_instrument(case)} when it is cut")
    try:
        offset, sd, chain = expected(case, belief)
    except (Broken, NameUnknown) as reason:
        return cannot(NAME, case, "size", str(reason), f"measure it with the {_instrument(case)} when it is cut")
    low, high = (metres(item) for item in limit.tolerance)
    p = chance_out(offset, sd, low, high)
    reach = np.abs(offset - (low + high) / 2.0) + 2.0 * sd
    half = np.full(belief.rows, (high - low) / 2.0)
    because = (f"it comes out within about {middle(micrometres(2.0 * sd))} um either way, "
               f"{figure(float(np.median(micrometres(np.abs(offset)))))} um off nominal in the mean; most of it is "
               f"{chain.largest}; wanted {tell(limit.tolerance[0], 'length', case.job.units)} to "
               f"{tell(limit.tolerance[1], 'length', case.job.units)}{_known_by(case, chain)}")
    return Finding(NAME, case.subject, case.name, "size", p, Spread.of(micrometres(reach)),
                   Spread.of(micrometres(half)), "um", because,
                   _settle(case, chain),
                   joint_group=group(case.part_name))


def too_coarse(limit: Limit, instrument: Instrument | None) -> bool:
    """Whether what an instrument leaves open (2 U, with U two standard uncertainties) is wider than the limits."""
    return instrument is not None and 4.0 * instrument.uncertainty.value > limit.tolerance[1] - limit.tolerance[0]


def _known_by(case: Case, chain: Chain) -> str:
    """What measuring does for it: before the last cut, or why not."""
    limit = _limit(case)
    found = case.shop.instruments.get(limit.instrument or "")
    if found is not None and too_coarse(limit, found):
        return (f"; the {found.name} is too coarse for it: it leaves "
                f"{tell(4.0 * found.uncertainty.value, 'length', case.job.units, 2)} open")
    if chain.measured:
        return f"; measured after {chain.measured}, and the last cut set by it for the middle of the limits"
    return ""


def _settle(case: Case, chain: Chain) -> str:
    if chain.measured:
        return f"measure it with the {_instrument(case)} after the last cut, before it leaves the vise"
    return f"leave 0.2 mm, measure with the {_instrument(case)}, and set the last cut by it"


def _instrument(case: Case) -> str:
    limit = _limit(case)
    found = case.shop.instruments.get(limit.instrument or "")
    return found.name if found else "instrument at hand"


def _loglik(case: Case, belief: Belief, seen: Observation) -> Rows | None:
    """Log likelihood by row of a size that was read: deviation from nominal, with the reading's own doubt."""
    if seen.kind != "size" or case.limit is None or case.limit.kind not in _BUILT:
        return None
    try:
        offset, sd, _ = expected(case, belief)
    except (Broken, NameUnknown):
        return None
    wide = np.maximum(np.hypot(sd, metres(seen.sd)), _NARROWEST)
    off = (metres(seen.value) - offset) / wide
    return np.asarray(-0.5 * off * off - np.log(wide * math.sqrt(2.0 * math.pi)))


CHECK = Check(NAME, "size out of its limits", "size", "limit", lambda case: case.limit is not None, _evaluate,
              loglik=_loglik)

