"""A careful first cut for a machine that nobody has measured: of all that were looked at the one that costs least
within a chance of spoiling anything; where none is, the least likely to spoil.

The search compares candidates on a few rows, which follow no flip of a brief arc; what it finds is therefore
weighed on all rows, and where these say that it is too risky the next one is taken that is calmer on the few.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from ..belief import Belief
from ..dryrun.choosing import Candidate, Chooser
from ..dryrun.quick import look_now

DOUBT: Final = 1.2           #: times the chance that is allowed: a few rows may be wrong by so much
TRIES: Final = 4             #: cuts that are weighed on all rows
CALMER: Final = 0.9          #: of the chance on few rows that the last one had: the next has at most that


Pair = tuple[Chooser, Candidate]


def careful(choosers: Sequence[Chooser], belief: Belief, allowed: float) -> Pair:
    """The chooser and the candidate to take.

    Args:
        choosers: whose search has ended, one for each direction.
        belief: on all rows.
        allowed: chance of spoiling anything [1].
    """
    every = belief.wordless()
    tried = [(chooser, one) for chooser in choosers for one in chooser.tried]
    weighed: list[tuple[float, Pair]] = []
    most = DOUBT * allowed
    for _ in range(TRIES):
        best = _cheapest(tried, most)
        if best is None:
            break
        p_all = look_now(best[1].case, every).p_spoil
        if p_all <= allowed:
            return best
        weighed.append((p_all, best))
        most = best[1].p_spoil * min(CALMER, allowed / p_all)
    calmest = _calmest(tried)
    if all(pair is not calmest for _, pair in weighed):
        weighed.append((look_now(calmest[1].case, every).p_spoil, calmest))
    return min(weighed, key=lambda found: found[0])[1]


def _cheapest(tried: Sequence[Pair], most: float) -> Pair | None:
    """The one that costs least of those within a chance, on few rows; None where none is."""
    best, least = None, math.inf
    for pair in tried:
        if pair[1].cost(0.0, most=least) < least and pair[1].look.within(most):
            best, least = pair, pair[1].cost(0.0)
    return best


def _calmest(tried: Sequence[Pair]) -> Pair:
    """The one that is least likely to spoil anything, on few rows."""
    best, least = tried[0], tried[0][1].p_spoil
    for pair in tried[1:]:
        if pair[1].look.within(least):
            best, least = pair, pair[1].p_spoil
    return best
