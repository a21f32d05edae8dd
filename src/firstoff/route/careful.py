"""A careful first cut for a machine that nobody has measured: of all that were looked at the one that costs least
within a chance of spoiling anything; where none is, the cheapest of those that are nearly as calm as the calmest.

The search compares candidates on a few rows, which follow no flip of a brief arc, at depths far apart. What it finds
is made as deep as a part of the rows lets it be, and weighed on all; where these say that it is too risky all the
same the next one is taken that is calmer on the few.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..checks._singing import deeper_by, sung
from ..checks.base import Case
from ..checks.chatter import depth_over_limit, is_brief
from ..checks.scale import beneath
from ..checks.si import takes
from ..dryrun.choosing import LEAST_DEPTH, Candidate, Chooser, settable
from ..dryrun.looking import TELLING, Look
from ..dryrun.quick import look_now
from ..errors import FirstoffError
from ..job.route import Cut
from .few_rows import evenly

DOUBT: Final = 1.2           #: times the chance that is allowed: a few rows may be wrong by so much
NEARLY: Final = 1.25         #: times the least chance that any has: thinner passes cost much and calm little
SOME: Final = 512            #: rows that say how deep a cut may be, before all are asked
PERHAPS: Final = 1.25        #: times the chance that is allowed: so much on them may be within on all
DEEP: Final = 0.85           #: of the chance that is allowed: so near a cut is as deep as it may be
TRIES: Final = 4             #: cuts that are weighed on all rows
CALMER: Final = 0.9          #: of the chance on few rows that the last one had: the next has at most that
SHORT: Final = 0.95         #: of the chance that is allowed a depth is aimed at: what is keyed in is rounded
SHORTER: Final = 0.9        #: the same once that was too much: in more passes more wears and rubs
SURELY: Final = 1.15         #: times what is allowed: from there on nothing else is asked
DEPTHS: Final = 2            #: that a cut is weighed at: flips and others may want more room than was thought
SLOWLY: Final = 0.4          #: power of its depth by which what a pass asks grows, at least
RUBS: Final = 0.5           #: chance of rubbing from which a cut is none
FURTHEST: Final = 1.8        #: times its depth: further off it is another cut, and others may be better


Pair = tuple[Chooser, Candidate]
Weighed = list[tuple[float, Pair]]       # chance on all rows, and of what


def careful(
    choosers: Sequence[Chooser], belief: Belief, allowed: float, keyed: Callable[[Case], Case] = lambda case: case,
) -> Pair:
    """The chooser and the candidate to take.

    Args:
        choosers: whose search has ended, one for each direction.
        belief: on all rows.
        allowed: chance of spoiling anything [1].
        keyed: the case with its numbers as they are keyed in, which are those that count.
    """
    rows = _AllRows(belief.wordless(), keyed, allowed)
    tried = [(chooser, one) for chooser in choosers for one in chooser.tried]
    weighed = _weighed(tried, rows)
    if not weighed:                  # not even the few rows let one pass
        return _calmest(tried, allowed)
    if weighed[-1][0] > allowed:
        p_all, pair = min(weighed, key=lambda found: found[0])
        # the few rows say too little here: looked for again, so much calmer on them
        weighed += _weighed(_calmer(pair, allowed * pair[1].p_spoil / p_all), rows)
    if weighed[-1][0] <= allowed:
        return weighed[-1][1]
    weighed = [(rows.part(pair).chance(pair[1]), pair) for _, pair in weighed]
    calm = _nearly(min(p for p, _ in weighed), allowed)
    return min((pair for p, pair in weighed if p <= calm), key=lambda pair: pair[1].cost(0.0))


class _Rows:
    """Rows, and what is asked of a cut on them."""

    def __init__(self, belief: Belief, keyed: Callable[[Case], Case], allowed: float) -> None:
        self.every, self.keyed, self.allowed = belief, keyed, allowed
        self._looks: dict[Cut, Look] = {}
        self._ratios: dict[Cut, Rows | None] = {}

    def weigh(self, candidate: Candidate) -> tuple[float, float]:
        """Chances that it sings and that anything is spoiled: the first alone where that is too likely already.

        Infinite where these rows do not say what the few did.
        """
        look, few = self._look(candidate), candidate.look.of(TELLING)
        found = look.of(TELLING)
        if found and found.p_fail is None and few and few.p_fail is not None:
            return 0.0, math.inf
        sings = found.p_fail or 0.0 if found else 0.0
        return sings, sings if sings > SURELY * self.allowed else look.p_spoil

    def singing(self, pair: Pair) -> Rows | None:
        """Depth over the limit of singing; None where the depth is not to be changed."""
        cut = pair[1].case.op.cut
        if cut not in self._ratios:
            self._ratios[cut] = self._sings(pair)
        return self._ratios[cut]

    def _sings(self, pair: Pair) -> Rows | None:
        """The same, computed."""
        return _singing(pair, self)

    def beside(self, candidate: Candidate) -> Rows:
        """The chance by row that nothing but singing spoils it."""
        return self._look(candidate).beside(TELLING)

    def chance(self, candidate: Candidate) -> float:
        """The chance that anything is spoiled; infinite as above."""
        return max(self.weigh(candidate)[1], self._look(candidate).p_spoil)

    def _look(self, candidate: Candidate) -> Look:
        cut = candidate.case.op.cut
        if cut not in self._looks:
            self._looks[cut] = look_now(self.keyed(candidate.case), self.every)
        return self._looks[cut]


class _Part(_Rows):
    """A part of the rows that stands for all: as many from among the quiet as from among the loud."""

    def __init__(self, rows: _Rows, order: Rows) -> None:
        self._index = evenly(order, SOME)
        self._of = rows
        super().__init__(rows.every.thinned(self._index), rows.keyed, rows.allowed)

    def _sings(self, pair: Pair) -> Rows | None:
        known = self._of._ratios.get(pair[1].case.op.cut)          # of that cut all rows were asked already
        return _singing(pair, self) if known is None else known[self._index]


class _AllRows(_Rows):
    """All rows, and a part of them that stands for all."""

    _part: _Rows | None = None

    def part(self, pair: Pair) -> _Rows:
        """That part, by the order in which the first cut that is asked about sings."""
        if self._part is None:
            order = self.singing(pair)
            if order is None:
                order = self._order(pair[1].case)
            self._part = _Part(self, order)
        return self._part

    def _order(self, case: Case) -> Rows:
        try:
            return depth_over_limit(case, self.every)
        except FirstoffError:          # outside of what is known of singing: any order is as good as another
            return np.zeros(self.every.rows)


def _borne(pair: Pair, rows: _AllRows, number: int) -> Weighed:
    """A candidate as deep as rows let it be, the first by all, others by a part of them first; weighed on all where
    that may be within, and deeper or shallower as all say. The last is within, if any is.
    """
    if _may_flip(pair, rows):                    # as dear to follow on a part as on all
        return _fitted(pair, rows)
    first = at = _as_deep_by(pair, rows) if number == 0 else pair
    weighed: Weighed = []
    if at is pair and number == 0 and (ratio := rows.singing(pair)) is not None:
        likely = float(sung(ratio).mean()) + _others(pair[1].look)
        if likely > PERHAPS * rows.allowed:          # and no shallower cut is to be had
            return [(likely, pair)]
    if at is pair:
        weighed = _fitted(pair, rows.part(pair))
        first = at = weighed[-1][1]
        if weighed[-1][0] > PERHAPS * rows.allowed:
            return weighed
    found: Weighed = []
    while len(found) <= DEPTHS and all(at[1] is not one for _, (_, one) in found):
        sings, p_all = rows.weigh(at[1])
        found.append((p_all, at))
        near = DEEP * rows.allowed <= p_all <= rows.allowed or (p_all <= rows.allowed and len(found) > 1)
        ratio = None if near or sings <= 0.0 or not math.isfinite(p_all) else rows.singing(first)
        if ratio is None:
            break
        at = _by_all_rows(first, at, ratio, rows)
    found.sort(key=lambda one: (one[0] <= rows.allowed, one[0] if one[0] <= rows.allowed else -one[0]))
    return [*weighed, *found]


def _as_deep_by(pair: Pair, rows: _Rows) -> Pair:
    """The candidate as deep as the zero-order limit lets it be; as it is where nothing else leaves it room."""
    ratio, room = rows.singing(pair), SHORT * rows.allowed - _others(pair[1].look)
    return pair if ratio is None or room <= 0.0 else _as_deep(pair, deeper_by(ratio, room))


def _fitted(pair: Pair, rows: _Rows) -> Weighed:
    """A candidate as deep as rows let it be, and weighed; shallower where flips or others leave it no room."""
    weighed: Weighed = []
    ratio, at = rows.singing(pair), _as_deep_by(pair, rows)
    while len(weighed) < DEPTHS and all(at[1] is not one for _, (_, one) in weighed):
        sings, p_all = rows.weigh(at[1])
        weighed.append((p_all, at))
        if ratio is None or p_all <= rows.allowed or sings <= 0.0 or not math.isfinite(p_all):
            break
        at = _by_all_rows(pair, at, ratio, rows)
    return weighed


def _by_all_rows(pair: Pair, at: Pair, ratio: Rows, rows: _Rows) -> Pair:
    """The candidate at the depth that it bears by what rows say of it at another: how often anything else spoils
    it, and of how much deeper a cut it sings as often by the zero-order limit. A shallow pass rubs less, so that its
    limit falls with it.
    """
    sings, p_all = rows.weigh(at[1])
    beside = None if p_all == sings else rows.beside(at[1])     # too loud already: nothing else was asked
    aim = SHORTER * rows.allowed - (_others(pair[1].look) if beside is None else 0.0)
    if aim <= (0.0 if beside is None else 1.0 - float(beside.mean())):
        return pair
    now, then = deeper_by(ratio, p_all, beside), deeper_by(ratio, aim, beside)
    deep, its = pair[1].case.op.cut.depth_of_cut or 0.0, at[1].case.op.cut.depth_of_cut or 0.0
    follows = math.log(now) / math.log(its / deep) if its != deep else 1.0
    follows = max(follows, SLOWLY) if 0.0 < follows < 1.0 else 1.0
    return _as_deep(pair, its / deep * (then / now) ** (1.0 / follows))


def _others(look: Look) -> float:
    """The chance that anything but singing spoils it."""
    sings = look.of(TELLING)
    return look.p_spoil - (sings.p_fail or 0.0 if sings else 0.0)


def _weighed(tried: Sequence[Pair], rows: _AllRows) -> Weighed:
    """Some candidates with their chance, each calmer on the few; the last is within on all rows, if any is.

    None where all are too risky on the few already.
    """
    weighed: Weighed = []
    left, most = tried, DOUBT * rows.allowed
    for number in range(TRIES):
        best = _cheapest(left, most)
        if best is None:
            break
        best = _or_another(best, left, most, rows) if number == 0 else best
        found = _borne(best, rows, number)
        weighed += found
        if found[-1][0] <= rows.allowed:
            return weighed
        if math.isfinite(found[-1][0]):
            most = best[1].p_spoil * min(CALMER, rows.allowed / found[-1][0])
        left = [pair for pair in left if not _no_shallower(pair, found[-1][1])]
    calmest = _calmest(tried, rows.allowed) if weighed else None
    if calmest is not None and all(calmest is not one for _, one in weighed):
        weighed.append((rows.part(calmest).weigh(calmest[1])[1], calmest))
    return sorted(((max(p, rows.weigh(pair[1])[1]) if p <= rows.allowed else p, pair) for p, pair in weighed),
                  key=lambda found: -found[0])


def _nearly(least: float, allowed: float) -> float:
    """A chance that is nearly the least that any has: what cannot be helped, with no more than is allowed."""
    return min(NEARLY * least, 1.0 - (1.0 - least) * (1.0 - allowed))


def _calmest(tried: Sequence[Pair], allowed: float) -> Pair:
    """The cheapest of those that are nearly as calm as the calmest, on few rows; none that rubs where others cut."""
    first, left = None, list(tried)
    while left:
        pair = _cheapest(left, _nearly(_least(left), allowed)) or min(left, key=lambda one: one[1].p_spoil)
        if not _rubs(pair):
            return pair
        first = first or pair
        left = [one for one in left if one is not pair]
    assert first is not None
    return first


def calm_enough(tried: Sequence[Pair], allowed: float) -> Pair:
    """The cheapest of those within a chance, else of those nearly as calm as the calmest, by few rows.

    Args:
        tried: choosers with what they looked at, at least one.
        allowed: chance of spoiling anything [1].
    """
    return _cheapest(tried, allowed) or _calmest(tried, allowed)


def _rubs(pair: Pair) -> bool:
    """Whether its chip is so thin that it more likely rubs than cuts: such a cut is refused, however calm."""
    finding = pair[1].look.of("rubbing")
    return finding is not None and (finding.p_fail or 0.0) > RUBS


def _or_another(best: Pair, tried: Sequence[Pair], most: float, rows: _AllRows) -> Pair:
    """The cheapest; where it may flip, the next of another width, speed or feed if at the depths that they bear that
    one is cheaper.
    """
    if "depth_of_cut" in best[0].search.fixed or not _may_flip(best, rows):
        return best
    other = _cheapest([pair for pair in tried if not _one_cut(pair, best)], most)
    if other is None:
        return best
    part = rows.part(best)
    return best if _as_deep_by(best, part)[1].cost(0.0) <= _as_deep_by(other, part)[1].cost(0.0) else other


def _may_flip(pair: Pair, rows: _Rows) -> bool:
    """Whether a cut is so brief that it may flip, which a few rows do not see."""
    try:
        return is_brief(pair[1].case, rows.every)
    except FirstoffError:
        return False


def _one_cut(pair: Pair, other: Pair) -> bool:
    """Whether two candidates differ in depth at most."""
    cut, its = pair[1].case.op.cut, other[1].case.op.cut
    return pair is other or cut.model_copy(update={"depth_of_cut": its.depth_of_cut}) == its


def _no_shallower(pair: Pair, other: Pair) -> bool:
    """Whether a candidate is another one as deep as that or deeper."""
    deep, its = pair[1].case.op.cut.depth_of_cut or 0.0, other[1].case.op.cut.depth_of_cut or 0.0
    return _one_cut(pair, other) and deep >= its


def _calmer(pair: Pair, allowed: float) -> list[Pair]:
    """What a search looks at that starts from a candidate and is content with less risk only."""
    chooser = Chooser(pair[0].case, pair[0].thin, replace(pair[0].search, allowed=allowed))
    chooser.cheapest(1.0, pair[1].case.op.cut)
    return [(chooser, one) for one in chooser.tried]


def _singing(pair: Pair, rows: _Rows) -> Rows | None:
    """Depth over the limit of singing; None where the depth is not to be changed."""
    chooser, one = pair
    if "depth_of_cut" in chooser.search.fixed or not one.case.op.cut.depth_of_cut:
        return None
    try:
        return depth_over_limit(rows.keyed(one.case), rows.every)
    except FirstoffError:          # outside of what is known of singing
        return None


def _as_deep(pair: Pair, times: float) -> Pair:
    """The candidate so many times as deep; as it is where that is far off, or costs more."""
    chooser, one = pair
    now = one.case.op.cut.depth_of_cut or 0.0
    depth = settable(min(times * now, chooser.search.deepest), one.case.job.units)
    if not 1.0 / FURTHEST <= times <= FURTHEST or depth < max(LEAST_DEPTH, beneath(one.case)):
        return pair
    if not takes(one.case.tool, depth, one.case.op.cut.width_of_cut or 0.0):
        return pair
    fitted = chooser.look(one.case.op.cut.model_copy(update={"depth_of_cut": depth}))
    return pair if times > 1.0 and fitted.cost(0.0) > one.cost(0.0) else (chooser, fitted)


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
