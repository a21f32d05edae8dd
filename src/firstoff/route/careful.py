"""A careful first cut for a machine that nobody has measured: of all that were looked at the one that costs least
within a chance of spoiling anything; where none is, the cheapest of those that are nearly as calm as the calmest.

The search compares candidates on a few rows, which follow no flip of a brief arc; what it finds is therefore
weighed on all rows, and where these say that it is too risky the next one is taken that is calmer on the few.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from ..belief import Belief
from ..dryrun.choosing import Candidate, Chooser
from ..dryrun.quick import look_now

DOUBT: Final = 1.2           #: times the chance that is allowed: a few rows may be wrong by so much
NEARLY: Final = 1.25         #: times the least chance that any has: thinner passes cost much and calm little
SOME: Final = 512            #: rows that are asked first: enough to follow flips
SURELY: Final = 1.4          #: times the chance that is allowed: some rows may be wrong by so much
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
    weighed = _weighed([(chooser, one) for chooser in choosers for one in chooser.tried], every, allowed)
    if weighed[-1][0] > allowed:
        p_all, pair = min(weighed, key=lambda found: found[0])
        # the few rows say too little here: looked for again, so much calmer on them
        weighed += _weighed(_calmer(pair, allowed * pair[1].p_spoil / p_all), every, allowed)
    if weighed[-1][0] <= allowed:
        return weighed[-1][1]
    least = min(p for p, _ in weighed)
    return min((pair for p, pair in weighed if p <= NEARLY * least), key=lambda pair: pair[1].cost(0.0))


def _weighed(tried: Sequence[Pair], every: Belief, allowed: float) -> list[tuple[float, Pair]]:
    """Some candidates with their chance on all rows, each calmer on the few; the last is within, if any is."""
    weighed: list[tuple[float, Pair]] = []
    most = DOUBT * allowed
    for _ in range(TRIES):
        best = _cheapest(tried, most)
        if best is None:
            break
        weighed.append((_chance(best[1], every, allowed), best))
        if weighed[-1][0] <= allowed:
            return weighed
        most = best[1].p_spoil * min(CALMER, allowed / weighed[-1][0])
    for most in (NEARLY, 1.0):
        pair = _cheapest(tried, most * _least(tried))
        if pair is not None and all(pair is not one for _, one in weighed):
            weighed.append((_chance(pair[1], every, allowed), pair))
    return sorted(weighed, key=lambda found: -found[0])


def _calmer(pair: Pair, allowed: float) -> list[Pair]:
    """What a search looks at that starts from a candidate and is content with less risk only."""
    chooser = Chooser(pair[0].case, pair[0].thin, replace(pair[0].search, allowed=allowed))
    chooser.cheapest(1.0, pair[1].case.op.cut)
    return [(chooser, one) for one in chooser.tried]


def _chance(candidate: Candidate, every: Belief, allowed: float) -> float:
    """Its chance on all rows; on some of them where these say already that it is far too high."""
    step = max(1, every.rows // SOME)
    if step > 1:
        p_some = look_now(candidate.case, every.thinned(np.arange(0, every.rows, step))).p_spoil
        if p_some > SURELY * allowed:
            return p_some
    return look_now(candidate.case, every).p_spoil


def _cheapest(tried: Sequence[Pair], most: float) -> Pair | None:
    """The one that costs least of those within a chance, on few rows; None where none is."""
    best, least = None, math.inf
    for pair in sorted(tried, key=_outlay):
        if _outlay(pair) >= least:
            break
        if pair[1].look.within(most) and pair[1].cost(0.0, most=least) < least:
            best, least = pair, pair[1].cost(0.0)
    return best


def _outlay(pair: Pair) -> float:
    """Wages and tools alone."""
    return pair[1].cost(0.0, most=-1.0)


def _least(tried: Sequence[Pair]) -> float:
    """The least chance of spoiling anything that any has, on few rows."""
    least = tried[0][1].p_spoil
    for pair in tried[1:]:
        if pair[1].look.within(least):
            least = pair[1].p_spoil
    return least
