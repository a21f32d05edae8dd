"""What would be better than a cut that was chosen or checked: each change and what it would bring, on common rows."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from ..belief import Belief
from ..checks._knobs import DEPTH, LARGER_TOOL, STICKOUT
from ..checks.base import Case, Check, Finding, Knob
from ..checks.scale import beneath
from ..checks.si import millimetres, width_at
from ..dryrun.choosing import LEAST_DEPTH, Chooser, Search, settable, with_operation
from ..dryrun.nominal import table_feed
from ..dryrun.quick import Quick, found_now, look_now
from ..dryrun.registry import checks_about
from ..dryrun.remedies import cut_changes, trials
from ..dryrun.totals import chance_spoiled, log_survival
from ..job.route import STRAIGHT_DOWN, Cut
from ..units import tell
from .asked_cut import NUMBERS
from .careful import calm_enough
from .cut_answer import Answer, Gain
from .few_rows import evenly
from .tools import collet_for
from .way_round import Band, Way, way_round

BUDGET: Final = 0.05           #: chance of losing a part that a whole job may have, where nothing else is said
SHARE: Final = 0.2             #: of it that one operation may use up
MORE: Final = 1.1              #: a change is told from this much more removed in a minute
HOPELESS: Final = 0.5          #: but not a faster one that spoils more often than not
LESS: Final = 0.7              #: or from this much less likely to be spoiled
GAIN_ROWS: Final = 128         #: on which a change is weighed against the answer, neither followed into flips
DEEPER: Final = (1.5, 1.0)   #: times the depth that a change may allow
SHALLOWER: Final = (0.7, 0.5, 0.4, 0.3, 0.25, 0.2, 0.15)      #: of the depth, where no scale asks for more
CLEANED: Final = "pickled or ground free of scale first"
SLOWER: Final = 0.7            #: of the speed, feed kept: the chip grows by as much
#: numbers that a kind of cut has by itself
FIXED: Final = {"chamfer": frozenset({"depth_of_cut", "width_of_cut"}), "slot": frozenset({"width_of_cut"})}


@dataclass(frozen=True)
class Some:
    """A part of the rows, for what is told beside the answer.

    Answer and change are weighed on the same rows, so that what these have more or less of than all cancels.
    """

    answer: Answer
    belief: Belief

    @classmethod
    def of(cls, answer: Answer, findings: list[Finding], belief: Belief) -> Some:
        """Rows at even steps of how likely each is to be spoiled."""
        return cls(answer, belief.thinned(evenly(log_survival(findings, belief.rows), GAIN_ROWS)).wordless())

    @cached_property
    def share(self) -> float:
        """The answer's chance of spoiling on all rows over that on these, looked at as a change is."""
        before = chance_spoiled(found_now(self.answer.case, self.belief), self.belief.rows)
        return self.answer.p_spoil / before if before > 0.0 else 1.0

    def chance(self, case: Case) -> float:
        """The chance that anything is spoiled."""
        return min(1.0, self.share * chance_spoiled(found_now(case, self.belief), self.belief.rows))

    def within(self, case: Case, most: float) -> float | None:
        """The same where it is at most this; checks are looked at no further than that is so."""
        look = look_now(case, self.belief)
        if self.share > 0.0 and not look.within(most / self.share):
            return None
        return min(1.0, self.share * look.p_spoil)


def removal_rate(case: Case) -> float:
    """Depth x width x feed of the table [mm3/s]; of an edge half of it, of a plunge the whole round.

    Down a ramp each run, or turn of a helix, takes as much as it goes deeper: the next begins where it ends.
    """
    cut, down = case.op.cut, case.op.down
    if down > STRAIGHT_DOWN:
        return math.pi / 4.0 * case.tool.diameter**2 * math.sin(down) * table_feed(case)
    deep, wide = cut.depth_of_cut or 0.0, cut.width_of_cut or 0.0
    if case.op.role == "chamfer":
        wide = deep * math.tan((case.tool.point_angle or math.pi / 2.0) / 2.0)
        return 0.5 * deep * wide * table_feed(case)
    if down > 0.0:
        wide = min(wide, millimetres(width_at(case.tool, deep))) if deep > 0.0 else wide
        return math.cos(down) * deep * wide * table_feed(case)
    return deep * wide * table_feed(case)


def way_of(case: Case) -> Way:
    """The way round that the machine bears, computed both ways for this cut."""
    cut, tool = case.op.cut, case.tool
    band = Band(cut.feed_per_tooth or 0.0, cut.depth_of_cut or case.op.removes, cut.width_of_cut or tool.diameter)
    return way_round(case.machine, case.shop.classes[case.machine.like], tool, case.material, band, case.shop.units)


def mended(answer: Answer, anew: Callable[[], tuple[Case, Search]], some: Some, thin: Quick) -> Iterator[Gain]:
    """Of what is likely to go wrong first: the mildest turn of each knob that makes it clearly less likely.

    Where a person settled numbers all that may be turned is; a cut that is cheapest though it may go wrong is told
    with the shallower pass that is calmer.

    Args:
        answer: to what was asked.
        anew: the case with usual numbers and how all of them would be searched.
        some: rows on which answer and change are weighed alike.
        thin: few rows, to look at candidates.
    """
    first = answer.first
    if first is None or first.verdict == "good":
        return
    if answer.careful and answer.p_spoil <= 1.02 * answer.bench.shop.close:
        return                                  # all was chosen with care already
    check = next(c for c in checks_about("operation", program=False) if c.name == first.finding.check)
    wanted, found = max(answer.bench.shop.close, LESS * answer.p_spoil), False
    on_few = wanted * _few_over_all(answer, thin)
    for knob in _turned(answer, check):
        for trial in trials(check, answer.case, knob, thin):
            if (trial.case.op.cut.depth_of_cut or 0.0) < min(LEAST_DEPTH, answer.cut.depth_of_cut or 0.0):
                break                           # thinner than anybody sets a pass: what follows is thinner still
            p_after = some.within(trial.case, wanted) if trial.look.within(on_few) else None
            if p_after is not None:
                found = True
                yield _gain(trial.text, answer, trial.case, p_after, deep="")
                break
    if not found and answer.settled - FIXED.get(answer.case.op.role, frozenset()):
        yield from _anew(answer, *anew(), some, thin)


def _turned(answer: Answer, check: Check) -> Iterator[Knob]:
    """The knobs of a check that may be turned here: an edge is broken as deep as it is wide, a slot as wide as its
    cutter. What was open where all is chosen with care is as calm as it can be already.
    """
    fixed = FIXED.get(answer.case.op.role, frozenset())
    for knob in check.knobs if answer.settled or answer.careful else (DEPTH,):
        number = knob.path.removeprefix("cut.")
        chosen = answer.careful and number in NUMBERS and number not in answer.settled
        if number not in fixed and not chosen:
            yield knob


def _anew(answer: Answer, usual: Case, search: Search, some: Some, thin: Quick) -> Iterator[Gain]:
    """All numbers chosen anew and with care, from the usual ones, where no single one helps enough."""
    chooser = Chooser(usual, thin, search)
    chooser.cheapest(BUDGET * SHARE)
    _, best = calm_enough([(chooser, one) for one in chooser.tried], search.allowed)
    text = cut_changes(answer.case, best.case.op)[1]
    if text and best.look.within(LESS * answer.p_spoil):
        p_after = some.within(best.case, LESS * answer.p_spoil)
        if p_after is not None:
            yield _gain(text, answer, best.case, p_after, deep="")


def gains(answer: Answer, search: Search, some: Some, thin: Quick) -> Iterator[Gain]:
    """What a shorter stickout, a larger cutter, the other direction, a pickled face, a slower spindle would bring."""
    yield from _cleaned(answer, search, some, thin)
    few = _few_over_all(answer, thin)
    for text, case in _changes(answer):
        chooser = Chooser(case, thin, search)
        looked = (chooser.look(cut) for cut in _deepest_first(case.op.cut, search, case.job.units))
        after = next((one.case for one in looked if one.look.within(few * _most_worth(one.case, answer))), None)
        p_after = some.within(after, _most_worth(after, answer)) if after is not None else None
        if after is not None and p_after is not None:
            yield _gain(text, answer, after, p_after)


def _few_over_all(answer: Answer, thin: Quick) -> float:
    """The answer's chance of spoiling on the few rows that changes are looked at on, over that on all."""
    before = thin.look(answer.case).p_spoil
    return before / answer.p_spoil if before > 0.0 and answer.p_spoil > 0.0 else 1.0


def _cleaned(answer: Answer, search: Search, some: Some, thin: Quick) -> Iterator[Gain]:
    """On a face without its scale a pass may be as shallow as the machine likes it."""
    if beneath(answer.case) <= 0.0 or answer.p_spoil <= answer.bench.shop.close or "depth_of_cut" in search.fixed:
        return
    case, close = _without_scale(answer.case), answer.bench.shop.close
    chooser = Chooser(case, thin, search)
    depths = [settable(share * (case.op.cut.depth_of_cut or 0.0), case.job.units) for share in SHALLOWER]
    looked = [chooser.look(case.op.cut.model_copy(update={"depth_of_cut": d})) for d in depths if d >= LEAST_DEPTH]
    found = next((one for most in (close, 2.0 * close) for one in looked if one.look.within(most)), None)
    if found is not None and (p_after := some.chance(found.case)) <= LESS * answer.p_spoil:
        yield _gain(CLEANED, answer, found.case, p_after)


def _deepest_first(cut: Cut, search: Search, units: str) -> Iterator[Cut]:
    """A deeper cut where the depth is open, and the same."""
    for times in (1.0,) if "depth_of_cut" in search.fixed else DEEPER:
        depth = settable(times * (cut.depth_of_cut or 0.0), units)
        if depth <= search.deepest:
            yield cut.model_copy(update={"depth_of_cut": depth})


def _gain(text: str, answer: Answer, after: Case, p_after: float, deep: str = ", and {} deep") -> Gain:
    depth = after.op.cut.depth_of_cut or 0.0
    if depth != answer.cut.depth_of_cut:
        text += deep.format(tell(depth, "length", answer.bench.units))
    minutes = (after.windows.minutes if after.windows else 0.0) - (
        answer.case.windows.minutes if answer.case.windows else 0.0)
    return Gain(text, after.op.cut, removal_rate(after), p_after, minutes)


def _most_worth(after: Case, answer: Answer) -> float:
    """Risk up to which a change is worth telling: clearly more metal at no more risk than is allowed, or clearly less
    risk at no less metal; below 0 where it is neither.

    A cut that is more likely than not to spoil something is no better for being faster.
    """
    removal, now = removal_rate(after), removal_rate(answer.case)
    if removal >= MORE * now:
        return min(max(answer.p_spoil, answer.bench.shop.close if answer.careful else 0.0) * 1.02, HOPELESS)
    calmer = removal >= 0.98 * now and answer.p_spoil > answer.bench.shop.good
    return LESS * answer.p_spoil if calmer else -1.0


def _changes(answer: Answer) -> Iterator[tuple[str, Case]]:
    """The case with one thing changed, and how that is said."""
    case, op = answer.case, answer.case.op
    out = STICKOUT.values(case)
    if out:
        shortest = out[-1]
        yield STICKOUT.say(case, shortest), with_operation(case, op.model_copy(update={"stickout": shortest}))
    any_collet = replace(case, operation=op.model_copy(update={"collet": None}))
    larger = next((key for key in LARGER_TOOL.values(any_collet) if _fits(case, str(key))), None)
    if larger is not None:
        tool = case.shop.tools[str(larger)]
        yield LARGER_TOOL.say(case, larger), with_operation(case, op.model_copy(update={
            "tool": larger, "collet": collet_for(case.shop, case.machine, tool), "stickout": None}))
    if op.cut.direction in ("climb", "conventional"):
        other = "conventional" if op.cut.direction == "climb" else "climb"
        if other == "conventional" or way_of(case).direction == "climb":
            yield f"{other} milling", with_cut(case, direction=other)
    if case.wanted.stock.bow > 0.0:
        yield CLEANED, _without_scale(case)
    yield from _slower(case)


def _fits(case: Case, name: str) -> bool:
    """Whether a larger cutter is of the same material and number of flutes, and this machine holds it."""
    tool, now = case.shop.tools[name], case.tool
    return (tool.material == now.material and tool.flutes == now.flutes
            and collet_for(case.shop, case.machine, tool) is not None)


def with_cut(case: Case, **changed: object) -> Case:
    """The case with some numbers of its cut changed."""
    return with_operation(case, case.op.model_copy(update={"cut": case.op.cut.model_copy(update=changed)}))


def _without_scale(case: Case) -> Case:
    wanted = case.wanted
    stock = wanted.stock.model_copy(update={"condition": "milled", "bow": 0.0})
    job = case.job.model_copy(update={"parts": {"block": wanted.model_copy(update={"stock": stock})}})
    return replace(case, job=job)


def _slower(case: Case) -> Iterator[tuple[str, Case]]:
    """A slower spindle and not less feed: the chip grows instead of the rubbing."""
    spindle, cut = case.machine.spindle, case.op.cut
    speed = SLOWER * (cut.spindle_speed or 0.0)
    if spindle is not None and spindle.steps:
        speed = max((s for s in spindle.steps if s < 0.99 * (cut.spindle_speed or 0.0)), default=0.0)
    if spindle is None or speed < spindle.slowest:
        return
    feed = table_feed(case)
    changed = with_cut(case, spindle_speed=speed,
                        feed_per_tooth=feed * 2.0 * math.pi / (speed * case.tool.flutes))
    yield (f"{tell(speed, 'rotation')} at the same {tell(feed, 'table_feed', case.shop.units)}", changed)
