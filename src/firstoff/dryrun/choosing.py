"""Chooses the numbers of a cut: least expected cost, looked for along depth, speed, width and feed.

What is minimised is what the person pays: minutes of running, what wears off the tool, and what may go wrong
times what that costs here. The weight on losing the part is raised until that chance is small enough, if any numbers
at all bring it there. Doubt about the machine alone makes no cut timid: a cut that may sing costs a few
minutes, a pass of a hundredth costs an hour. Where a person wants to be careful (`Search.allowed`), whatever may
go wrong weighs more, not the part alone. The direction stays as lost motion decided it. Candidates are compared
on the same thinned rows.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..belief import Belief
from ..checks.base import Case, Finding
from ..checks.finish import steps_for_finish
from ..checks.scale import beneath
from ..checks.si import takes
from ..job.route import Cut, Operation
from ..shop.rounding import at_least, round_speed
from .cost import loss, tool_money, wages
from .looking import Look
from .nominal import nominal_windows, table_feed, table_speed
from .quick import Quick
from .totals import chance_part_lost

THIN_ROWS: Final = 128                     #: rows for candidates; verdicts are never from these
WEIGHTS: Final = (0.0, 5.0, 50.0)          #: on losing the part (λ), raised until that is unlikely enough
CAREFUL: Final = (200.0, 5000.0)     #: the same on all that may go wrong, where one is careful
ROUNDS: Final = 2                          #: times round depth, speed, width, feed
LAYERS: Final = (1, 2, 3, 4, 6, 9, 14, 22, 35)
#: the same where one is careful: route/careful.py fits the depth afterwards
CAREFUL_LAYERS: Final = (1, 2, 4, 9, 18, 35)
THINNER: Final = (55, 85, 130)             #: more of them where none of those is calm enough
NARROW: Final = 3        #: every so-many-th of the depths is tried with steps that leave an asked finish
WIDTHS: Final = (1.0, 0.6, 0.35, 0.2)
SPEEDS: Final = (1.0, 0.7, 0.5, 1.4, 2.0, 2.8)
SLOWEST: Final = 0.4                       #: of the usual speed: slower takes too long to be of use; judged
FEEDS: Final = (1.0, 0.6, 1.5, 2.2)
TOO_FAST_A_FEED: Final = "the feed that the table follows"
INCH: Final = 25.4                         #: [mm]
LEAST_DEPTH: Final = 0.05                  #: [mm] thinner than this nobody sets a pass on a light machine
SPREAD_OUT: Final = frozenset({"face_rough", "face_finish", "side_rough", "pocket_rough", "ramp_rough",
                               "ramp_finish", "form"})     #: roles whose width may be taken in more passes


@dataclass(frozen=True)
class Search:
    """How far numbers are looked for, and which stay as they are."""

    deepest: float = 0.0                        # [mm] no pass deeper; 0: than the case has
    widest: float = 0.0                         # [mm] no pass wider; 0: than the case has
    allowed: float = 1.0                        # chance of spoiling anything; below 1 all losses weigh more
    fixed: frozenset[str] = frozenset()         # fields of the cut that a person has settled


def thinned(belief: Belief) -> Quick:
    """Every so-many-th row, for comparing candidates."""
    rows = np.linspace(0, belief.rows - 1, min(THIN_ROWS, belief.rows)).astype(np.intp)
    return Quick(belief.wordless().thinned(rows))


@dataclass(frozen=True)
class Candidate:
    """One set of numbers for an operation and what it would cost."""

    case: Case
    look: Look
    minutes: float
    tools: float                           # money of what is worn off the tool

    def cost(self, weight: float, careful: bool = False, most: float = math.inf) -> float:
        """Wages, tools, and what may go wrong; a lost part, and a broken tool that takes it along, weigh more.

        Where one is careful everything that may go wrong does. A cost above `most` is not reckoned to its end.
        """
        dear = ("finish", "size", "tool", "part") if careful else ("tool", "part")
        total = wages(self.minutes, self.case.shop) + self.tools
        if total > most:
            return total
        for f in self.look:
            total += (f.p_fail or 0.0) * loss(f, self.case) * (1.0 + weight if f.at_risk in dear else 1.0)
            if total > most:
                break
        return total

    @property
    def findings(self) -> list[Finding]:
        """What every check finds."""
        return self.look.whole()

    @property
    def p_spoil(self) -> float:
        """The chance that anything is spoiled."""
        return self.look.p_spoil

    @property
    def p_lost(self) -> float:
        """The chance that the part is lost."""
        return chance_part_lost(self.findings, self.look.rows)


def with_operation(case: Case, operation: Operation) -> Case:
    """The same case with other numbers: what stood before it does not change."""
    route = case.route.model_copy(update={"operations": {**case.route.operations, case.name: operation}})
    if case.run is not None and case.windows is not None:
        from .programs import fed  # programs and removal are loaded where there are any

        again = case.op.model_copy(update={"program_feed": operation.program_feed})
        return replace(case, route=route, operation=again,
                       windows=fed(case.windows, operation.program_feed / case.op.program_feed))
    changed = replace(case, route=route, operation=operation, windows=None)
    return replace(changed, windows=nominal_windows(changed))


class Chooser:
    """Looks for the numbers of one operation; remembers what it has tried."""

    def __init__(self, case: Case, thin: Quick, search: Search = Search()) -> None:
        self.case, self.thin, self.search = case, thin, search
        self._tried: dict[Cut, Candidate] = {}

    def look(self, cut: Cut) -> Candidate:
        """What these numbers would cost."""
        if cut not in self._tried:
            case = with_operation(self.case, self.case.op.model_copy(update={"cut": cut}))
            minutes = case.windows.minutes if case.windows is not None else 0.0
            self._tried[cut] = Candidate(case, self.thin.look(case), minutes, tool_money(case, self.thin.belief))
        return self._tried[cut]

    @property
    def tried(self) -> tuple[Candidate, ...]:
        """All that was looked at."""
        return tuple(self._tried.values())

    def best(self, enough: float) -> Candidate:
        """The present numbers where they are good; else the least expected cost, the weight of losing
        the part raised until that chance is at most `enough`, if any numbers bring it there."""
        found = self.look(self.case.op.cut)
        if found.p_spoil <= self.case.shop.close and found.p_lost <= enough:
            return found
        return self.cheapest(enough)

    def cheapest(self, enough: float, start: Cut | None = None) -> Candidate:
        """The least expected cost, however good the present numbers are; the weight raised as in `best`.

        Where a good `start` is known only its neighbours are looked at.
        """
        found, careful = self.look(start or self.case.op.cut), self.search.allowed < 1.0
        for weight in CAREFUL if careful else WEIGHTS:
            found = self._descend(weight, start)
            start = found.case.op.cut if careful else start
            if found.p_lost <= enough and found.p_spoil <= self.search.allowed:
                break
        return found

    def cost(self, candidate: Candidate, weight: float, most: float = math.inf) -> float:
        """What is compared."""
        return candidate.cost(weight, self.search.allowed < 1.0, most)

    def _cheaper(self, candidate: Candidate, best: Candidate, weight: float) -> bool:
        """Whether a candidate costs less than the best so far."""
        least = self.cost(best, weight)
        return self.cost(candidate, weight, least) < least

    def _descend(self, weight: float, start: Cut | None = None) -> Candidate:
        best = self.look(start or self.case.op.cut)
        for turn in range(ROUNDS):
            before = best
            for name, vary in VARIED.items():
                if name in self.search.fixed:
                    continue
                tried = tuple(cut for cut in vary(self.case, best.case.op.cut, self.search) if _taken(self.case, cut))
                far = name in JUMPY or (turn == 0 and start is None)
                if name == "depth_of_cut" and far:      # the thinnest only where the search walks there
                    tried = tried[:len(CAREFUL_LAYERS if self.search.allowed < 1.0 else LAYERS)]
                    # where one is careful the thinnest first: of those that are too deep little need be computed
                    tried = tried[::-1] if self.search.allowed < 1.0 else tried
                best = (self._every if far else self._walk)(tried, best, weight, name)
            best = self._traded(best, weight)
            if best is before:
                break
        return best

    def _traded(self, best: Candidate, weight: float) -> Candidate:
        """Deeper and narrower, or shallower and wider, as long as that is better: one by one neither may be."""
        if {"depth_of_cut", "width_of_cut"} & self.search.fixed:
            return best
        while True:
            before = best
            traded = trades(self.case, best.case.op.cut, self.search)
            best = self._every(tuple(cut for cut in traded if _taken(self.case, cut)), best, weight, "")
            if best is before:
                return best

    def _every(self, tried: tuple[Cut, ...], best: Candidate, weight: float, _name: str) -> Candidate:
        """The best of all of them: between two good ones there may be worse ones."""
        for cut in tried:
            candidate = self.look(cut)
            best = candidate if self._cheaper(candidate, best, weight) else best
        return best

    def _walk(self, tried: tuple[Cut, ...], best: Candidate, weight: float, name: str) -> Candidate:
        """Up from the present number as long as that is better; where it is not, down."""
        order = sorted(tried, key=lambda cut: getattr(cut, name))
        now = getattr(best.case.op.cut, name)
        up, down = [c for c in order if getattr(c, name) > now], [c for c in order[::-1] if getattr(c, name) < now]
        for way in (up, down):
            before = best
            for cut in way:
                candidate = self.look(cut)
                if not self._cheaper(candidate, best, weight):
                    break
                best = candidate
            if best is not before:
                break
        return best


def choosable(case: Case) -> bool:
    """Whether an operation has numbers to choose: milled, with a speed and a feed."""
    if case.operation is None or case.op.locked or case.op.tool is None or not case.windows or case.run is not None:
        return False
    cut = case.op.cut
    return (case.tool.kind in ("end_mill", "ball", "corner_radius", "face_mill") and cut.spindle_speed is not None
            and cut.feed_per_tooth is not None)


Vary = Callable[[Case, Cut, Search], Iterator[Cut]]


def depths(case: Case, cut: Cut, search: Search) -> Iterator[Cut]:
    """The deepest pass, or as many equal ones as make it up; on a raw face also one just beneath its scale."""
    assert case.windows is not None
    whole = search.deepest or float(case.windows.depth.max())
    if 0.0 < beneath(case) < search.deepest:
        yield cut.model_copy(update={"depth_of_cut": beneath(case)})
    for layers in (*CAREFUL_LAYERS, *THINNER) if search.allowed < 1.0 else LAYERS:
        depth = at_least(whole / layers, settable(whole / layers, case.job.units), case.job.units)
        if depth >= LEAST_DEPTH:
            yield cut.model_copy(update={"depth_of_cut": depth})


def widths(case: Case, cut: Cut, search: Search) -> Iterator[Cut]:
    """Shares of the widest pass, where the rest may be taken in more passes; and steps that leave an asked finish,
    as deep as now and deeper: what is narrow enough for it would take all day at the depth that a wide pass bears.
    """
    if case.op.role not in SPREAD_OUT or cut.direction == "slot" or case.op.cut.width_of_cut is None:
        return
    for share in WIDTHS:
        width = settable((search.widest or case.op.cut.width_of_cut) * share, case.job.units)
        yield cut.model_copy(update={"width_of_cut": width})
    deeper = [] if "depth_of_cut" in search.fixed else [
        other.depth_of_cut for other in tuple(depths(case, cut, search))[::NARROW]
        if (other.depth_of_cut or 0.0) > (cut.depth_of_cut or 0.0)]
    for step in steps_for_finish(case):
        for depth in (cut.depth_of_cut, *deeper):
            yield cut.model_copy(update={"width_of_cut": step, "depth_of_cut": depth})


def trades(case: Case, cut: Cut, search: Search) -> Iterator[Cut]:
    """One step deeper and one narrower, and the other way round, of those that are looked at."""
    steps = []
    for name, vary in (("depth_of_cut", depths), ("width_of_cut", widths)):
        now = getattr(cut, name) or 0.0
        found = sorted({getattr(other, name) for other in vary(case, cut, search)})
        steps.append((max((one for one in found if one < now), default=None),
                      min((one for one in found if one > now), default=None)))
    (shallower, deeper), (narrower, wider) = steps
    for depth, width in ((deeper, narrower), (shallower, wider)):
        if depth is not None and width is not None:
            yield cut.model_copy(update={"depth_of_cut": depth, "width_of_cut": width})


def feeds(case: Case, cut: Cut, _search: Search) -> Iterator[Cut]:
    """Shares of the first feed, as far as the table follows."""
    for share in FEEDS:
        feed = round((case.op.cut.feed_per_tooth or 0.0) * share, 4)
        changed = cut.model_copy(update={"feed_per_tooth": feed})
        if _followed(case, changed):
            yield changed


def speeds(case: Case, cut: Cut, _search: Search) -> Iterator[Cut]:
    """Steps of a belt, or shares of the first speed, as far as spindle, tool and table go."""
    spindle, now = case.machine.spindle, case.op.cut.spindle_speed or 0.0
    wanted = [step for step in spindle.steps if step >= SLOWEST * now] if spindle is not None and spindle.steps else [
        now, *(round_speed(now * share, spindle) for share in SPEEDS if share != 1.0)]
    least, most = (spindle.slowest, spindle.fastest) if spindle else (0.0, np.inf)
    most = min(most, case.tool.rated_speed or np.inf)
    if getattr(case.material.cutting_speed, case.tool.material, None) is None:
        most = min(most, now)               # nobody says what the edge bears
    for speed in wanted:
        changed = cut.model_copy(update={"spindle_speed": speed})
        if least <= speed <= most and _followed(case, changed):
            yield changed


#: numbers of which all values are looked at each time: a machine sings at some speeds and not between them
JUMPY: Final = frozenset({"spindle_speed"})
#: the number of a cut -> what is tried for it, in the order in which they are looked at
VARIED: Final[Mapping[str, Vary]] = {
    "depth_of_cut": depths, "spindle_speed": speeds, "width_of_cut": widths, "feed_per_tooth": feeds,
}


def _taken(case: Case, cut: Cut) -> bool:
    """Whether the outline of the cutter takes so wide a pass at its depth."""
    return takes(case.tool, cut.depth_of_cut or 0.0, cut.width_of_cut or 0.0)


def _followed(case: Case, cut: Cut) -> bool:
    """Whether the table follows, or no worse than it does now."""
    return table_feed(case, cut) <= max(most_feed(case), table_feed(case)) * (1.0 + 1e-9)


def follows(case: Case, most: float) -> bool:
    """Whether the table goes no faster than this [mm/s]."""
    return table_feed(case) <= most * (1.0 + 1e-9)


def most_feed(case: Case) -> float:
    """The fastest that the table of an operation's machine should feed [mm/s]."""
    return table_speed(case.machine, case.shop.classes[case.machine.like])


def bounded(case: Case, cut: Cut) -> str:
    """Which end of what can be set these numbers go beyond; empty where none."""
    spindle, speed = case.machine.spindle, cut.spindle_speed or 0.0
    if spindle is not None and speed > spindle.fastest:
        return "the spindle's fastest speed"
    if speed > (case.tool.rated_speed or np.inf):
        return "the speed for which the cutter is rated"
    if table_feed(case, cut) > most_feed(case):
        return TOO_FAST_A_FEED
    return ""


def settable(length: float, units: str = "mm") -> float:
    """A length that a person can set [mm]: to 0.05 mm, below 1 mm to 0.01; to 0.005 in, below 0.05 in to 0.001."""
    if units == "in":
        step = 0.005 if length >= 0.05 * INCH else 0.001
        return round(round(length / INCH / step) * step, 3) * INCH
    return round(round(length / 0.05) * 0.05, 2) if length >= 1.0 else round(length, 2)


#: how each number of a cut is said, with the word behind it
SAID: Final = (
    ("depth_of_cut", "length", "deep"), ("width_of_cut", "length", "wide"), ("spindle_speed", "rotation", ""),
    ("feed_per_tooth", "length", "a tooth"),
)
