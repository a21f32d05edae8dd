"""A cut without a job: this cutter in this material on this machine, chosen or checked by the checks of a whole job.

What a person has settled stays; the rest is chosen by least expected cost, as in a route. On a machine of which only
the class is known the first cut is a careful one: nothing is spoiled more often than the shop calls close.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import Final

from ..belief import Belief
from ..checks._knobs import DEPTH, LARGER_TOOL, STICKOUT, WIDTH
from ..checks.base import Case, Check, Finding
from ..checks.heat import chips_come_off
from ..dryrun.choosing import (
    SLOWEST,
    TOO_FAST_A_FEED,
    Candidate,
    Chooser,
    Search,
    bounded,
    settable,
    with_operation,
)
from ..dryrun.findings import Kept, evaluate
from ..dryrun.limited import limited_by
from ..dryrun.nominal import table_feed
from ..dryrun.quick import Quick, found_now
from ..dryrun.registry import all_checks, all_rules
from ..dryrun.remedies import cut_changes, trials
from ..dryrun.result import Checked
from ..dryrun.totals import chance_spoiled, first_to_go, log_survival, verdict
from ..errors import InputError
from ..job.route import STRAIGHT_DOWN, Cut, Direction
from ..shop.models import Shop
from ..shop.rounding import at_least, round_feed, round_speed
from ..units import tell, tell_rounded
from .asked_cut import Bench, Wanted, must_be_possible
from .careful import careful
from .cuts import Removal, first_cut, usual_speed
from .few_rows import evenly, few_rows
from .lone import Block, lone_case, role_of
from .tools import collet_for
from .way_round import Band, Way, way_round

BUDGET: Final = 0.05           #: chance of losing a part that a whole job may have, where nothing else is said
SHARE: Final = 0.2             #: of it that one operation may use up
SPENT: Final = 60.0            #: [min] already in the part that may be lost; judged
WIDE: Final = 0.5              #: diameters: the step that is taken off where nobody says how wide
EDGE: Final = 0.5              #: [mm] how wide an edge is broken, the same
FACE: Final = 0.7              #: diameters of a layer, the same
MORE: Final = 1.1              #: a change is told from this much more removed in a minute
HOPELESS: Final = 0.5          #: but not a faster one that spoils more often than not
LESS: Final = 0.7              #: or from this much less likely to be spoiled
GAIN_ROWS: Final = 144         #: on which a change is weighed against the answer
DEEPER: Final = (1.0, 1.5)   #: times the depth that a change may allow
#: number of a cut -> what a person calls it when asking
NUMBERS: Final = {"depth_of_cut": "depth", "width_of_cut": "width", "spindle_speed": "speed",
                  "feed_per_tooth": "feed"}
SLOWER: Final = 0.7            #: of the speed, feed kept: the chip grows by as much


@dataclass(frozen=True)
class Gain:
    """A change and what it would bring."""

    text: str
    cut: Cut
    removal: float                  # [mm3/s]
    p_after: float
    minutes: float                  # of the block, more or less


@dataclass(frozen=True)
class Answer:
    """A cut, what each check says of it, and what would be better."""

    bench: Bench
    case: Case
    checked: tuple[Checked, ...]
    first: Checked | None                         # the first to go
    p_spoil: float
    limited_by: str
    careful: bool
    settled: frozenset[str]                       # the numbers that the person gave
    why_direction: str
    gains: tuple[Gain, ...]
    rules: tuple[str, ...]                        # that are not met
    figures_note: str = ""                        # whose figures these are
    chips: str = ""                               # their colour, of a steel that is cut dry

    @property
    def cut(self) -> Cut:
        """Its numbers."""
        return self.case.op.cut


def quick_cut(bench: Bench, wanted: Wanted, belief: Belief) -> Answer:
    """Choose what is left open of a cut, and check it.

    Args:
        bench: the machine, cutter and material.
        wanted: what the person asks, and has settled.
        belief: of a shop that has the machine.

    Raises:
        InputError: if a number cannot be set, or the feed lies below the floor or above what the table follows.
    """
    must_be_possible(bench, wanted)
    belief = _asked_for(bench, wanted, belief)
    start = _start(bench, wanted)
    thin = few_rows(start, belief)
    unknown = bench.unknown
    search = _search(bench, wanted, start, unknown)
    chooser, best = _cheapest(start, thin, belief, search, wanted)
    case = _keyed(best.case, wanted)
    kept = _checks(case, belief)
    _not_below_the_floor(kept, case)
    findings = [k.finding for _, k in kept]
    checked = tuple(_checked(check, k, bench) for check, k in kept)
    first = first_to_go(findings, belief.rows)
    settled = _settled(wanted)
    answer = Answer(
        bench, case, checked, None if first is None else checked[first], chance_spoiled(findings, belief.rows),
        _limited(chooser, best, checked, first), unknown and settled != NUMBERS.keys(), settled,
        _why_direction(case), (), _unmet(case), chips=chips_come_off(case, belief))
    some = _Some.of(answer, findings, belief)
    gains = [*_mended(answer, some, thin), *_gains(answer, search, some, thin)]
    return replace(answer, gains=tuple(gains))


@dataclass(frozen=True)
class _Some:
    """A part of the rows, for what is told beside the answer; on all of them as soon as it is asked for.

    Answer and change are weighed on the same rows, so that what these have more or less of than all cancels.
    """

    belief: Belief
    share: float                    # chance of spoiling on all rows over that on these

    @classmethod
    def of(cls, answer: Answer, findings: list[Finding], belief: Belief) -> _Some:
        """Rows at even steps of how likely each is to be spoiled."""
        rows = evenly(log_survival(findings, belief.rows), GAIN_ROWS)
        here = [f if f.p_rows is None else replace(f, p_rows=f.p_rows[rows]) for f in findings]
        before = chance_spoiled(here, len(rows))
        return cls(belief.thinned(rows).wordless(), answer.p_spoil / before if before > 0.0 else 1.0)

    def chance(self, case: Case) -> float:
        """The chance that anything is spoiled."""
        return min(1.0, self.share * chance_spoiled(found_now(case, self.belief), self.belief.rows))


def _asked_for(bench: Bench, wanted: Wanted, belief: Belief) -> Belief:
    """The belief without what no check of this cut asks for: other materials, machines, holding, instruments."""
    named: dict[str, set[str]] = {
        "material": {wanted.material, *bench.material.one_of}, "machine": {bench.machine_name},
        "class": {bench.machine.like}, "tool_material": {bench.tool.material}, "device": set(), "instrument": set(),
        "collet": {bench.collet, *bench.machine.collets},
    }
    kept = {key: column for key, column in belief.columns.items()
            if (of := key[0].partition(":"))[0] not in named or of[2] in named[of[0]]}
    return replace(belief, columns=kept)


def _limited(chooser: Chooser, best: Candidate, checked: tuple[Checked, ...], first: int | None) -> str:
    """What stops the cut from being faster: what is no good already, or what would become so."""
    if first is not None and checked[first].verdict in ("no good", "can't say"):
        return checked[first].title
    return limited_by(chooser, best)


def _unmet(case: Case) -> tuple[str, ...]:
    """Rules about persons that are not met; how the work is held is not known here."""
    return tuple(r.because(case) for r in all_rules()
                 if r.name != "work is clamped" and r.applies(case) and not r.met(case))


def _start(bench: Bench, wanted: Wanted) -> Case:
    """The case with first values where the person gave none."""
    block = _block(bench, wanted)
    role = role_of(bench.tool, block)
    removal = Removal(block.depth, block.width, block.bow or 0.0)
    cut = first_cut(bench.machine, bench.tool, bench.material, role, removal, bench.shop.classes[bench.machine.like])
    told: dict[str, object] = {"spindle_speed": wanted.speed, "depth_of_cut": wanted.depth,
                               "width_of_cut": wanted.width, "direction": wanted.direction}
    told = {key: value for key, value in told.items() if value is not None}
    if role == "slot":
        told |= {"direction": "slot", "width_of_cut": bench.tool.diameter}
    elif role == "chamfer":
        told |= {"depth_of_cut": block.depth, "width_of_cut": block.depth}
    if block.down > STRAIGHT_DOWN:
        told |= {"depth_of_cut": block.depth}
    cut = cut.model_copy(update=told)
    if wanted.feed is not None:
        cut = cut.model_copy(update={"feed_per_tooth": _a_tooth(bench, wanted.feed, cut.spindle_speed or 0.0)})
    case = lone_case(_of_use(bench, wanted), bench.machine_name, wanted.tool, wanted.material, bench.collet, block,
                     cut, wanted.stickout)
    if wanted.feed is not None and bounded(case, cut) == TOO_FAST_A_FEED:
        raise InputError(f"{tell(wanted.feed, 'table_feed', bench.units)} is more than {TOO_FAST_A_FEED}",
                         where="--feed", right="half of its rapid speed at most")
    return replace(case, minutes_so_far=SPENT)


def _of_use(bench: Bench, wanted: Wanted) -> Shop:
    """The shop with a spindle that goes no slower than is of use with this cutter in this material.

    A quarter of the usual speed may be calmer by a little; it takes four times as long, and welds to the edge.
    """
    spindle = bench.machine.spindle
    if spindle is None or wanted.speed is not None:
        return bench.shop
    usual = usual_speed(bench.material, bench.tool.material) / (bench.tool.diameter / 2.0)
    steps = tuple(step for step in spindle.steps if step >= SLOWEST * usual)
    if spindle.steps and not steps:
        steps = (max(spindle.steps),)
    slowest = min(steps) if steps else min(max(spindle.slowest, round_speed(SLOWEST * usual, spindle)),
                                           spindle.fastest)
    machine = bench.machine.model_copy(update={
        "spindle": spindle.model_copy(update={"slowest": slowest, "steps": steps})})
    return bench.shop.model_copy(update={"machines": {**bench.shop.machines, bench.machine_name: machine}})


def _block(bench: Bench, wanted: Wanted) -> Block:
    tool = bench.tool
    if tool.kind == "chamfer":
        side = wanted.depth or wanted.width or EDGE
        return Block(side, side)
    usual = FACE if tool.kind == "face_mill" or wanted.bow is not None else WIDE
    depth = min(tool.diameter, tool.flute_length)
    if wanted.bow is not None:
        depth = 2.0 * wanted.bow
    return Block(wanted.depth or depth, min(wanted.width or usual * tool.diameter, tool.diameter), wanted.roughness,
                 wanted.within, wanted.bow, wanted.down or 0.0)


def _a_tooth(bench: Bench, feed: float, speed: float) -> float:
    """Feed per tooth of a table feed [mm]."""
    return feed * 2.0 * math.pi / (speed * bench.tool.flutes)


def _settled(wanted: Wanted) -> frozenset[str]:
    return frozenset(name for name, option in NUMBERS.items() if getattr(wanted, option) is not None)


def _search(bench: Bench, wanted: Wanted, start: Case, careful: bool) -> Search:
    fixed = set(_settled(wanted))
    if wanted.feed is not None:
        fixed.add("spindle_speed")        # a feed of the table goes with the speed that it was meant for
    if start.op.cut.direction == "slot":
        fixed.add("width_of_cut")
    if start.op.role == "chamfer" or start.op.down > STRAIGHT_DOWN:
        fixed |= {"depth_of_cut", "width_of_cut"}
    width = start.wanted.stock.size[1]
    return Search(deepest=min(start.wanted.stock.size[2], bench.tool.flute_length), widest=width,
                  allowed=bench.shop.close if careful else 1.0, fixed=frozenset(fixed))


def _cheapest(start: Case, thin: Quick, belief: Belief, search: Search, wanted: Wanted) -> tuple[Chooser, Candidate]:
    """The cut of least cost over the directions that are open, and that it bears with the numbers it got."""
    found: list[tuple[Chooser, Candidate]] = []
    for way in _ways(start, wanted):
        chooser = Chooser(_with_cut(start, direction=way), thin, search)
        near = found[0][1].case.op.cut.model_copy(update={"direction": way}) if found else None
        best = chooser.cheapest(BUDGET * SHARE, near)
        if way != "climb" or wanted.direction == "climb" or _way(best.case).direction == "climb":
            found.append((chooser, best))
    if search.allowed < 1.0:
        return careful([chooser for chooser, _ in found], belief, start.shop.close,
                       lambda case: _keyed(case, wanted))
    return min(found, key=lambda item: item[0].cost(item[1], 0.0))


def _ways(start: Case, wanted: Wanted) -> Iterator[Direction]:
    """The directions to try: as told, as a slot has it, else both where lost motion lets it climb."""
    now = start.op.cut.direction
    if now == "slot" or wanted.direction is not None:
        yield now or "conventional"
        return
    yield "conventional"
    if _way(start).direction == "climb":
        yield "climb"


def _way(case: Case) -> Way:
    """The way round that the machine bears, computed both ways for this cut."""
    cut, tool = case.op.cut, case.tool
    band = Band(cut.feed_per_tooth or 0.0, cut.depth_of_cut or case.op.removes, cut.width_of_cut or tool.diameter)
    return way_round(case.machine, case.shop.classes[case.machine.like], tool, case.material, band, case.shop.units)


def _why_direction(case: Case) -> str:
    """The reason for the direction; a direction that lost motion speaks against is told as such."""
    direction = case.op.cut.direction
    if case.op.down > 0.0:
        return "down with its whole width, in a slot or along a helix: both ways at once"
    if direction == "slot":
        return "a slot: both ways at once"
    way = _way(case)
    if direction == "climb" and way.direction != "climb":
        return f"climb, as you say, may snatch the table: {way.because}"
    if direction == "conventional" and way.direction == "climb":
        return "conventional: it costs no more here; lost motion would let it climb too"
    return way.because


def _keyed(case: Case, wanted: Wanted) -> Case:
    """The case with the cut as it is keyed in."""
    return with_operation(case, case.op.model_copy(update={"cut": keyed_in(case, wanted)}))


def keyed_in(case: Case, wanted: Wanted) -> Cut:
    """The cut with numbers as they are keyed in: lengths that can be set, a round feed of the table.

    Args:
        case: with the cut as it was chosen.
        wanted: what the person gave, which is left as it is.
    """
    cut, units = case.op.cut, case.shop.units
    if wanted.depth is None and cut.depth_of_cut is not None:
        told = settable(cut.depth_of_cut, units)
        cut = cut.model_copy(update={"depth_of_cut": at_least(cut.depth_of_cut, told, units)})
    if wanted.width is None and cut.width_of_cut is not None and cut.direction != "slot":
        cut = cut.model_copy(update={"width_of_cut": settable(cut.width_of_cut, units)})
    if wanted.feed is None:
        feed = round_feed(table_feed(case), units)
        cut = cut.model_copy(update={
            "feed_per_tooth": feed * 2.0 * math.pi / ((cut.spindle_speed or 1.0) * case.tool.flutes)})
    return cut


def _checks(case: Case, belief: Belief) -> list[tuple[Check, Kept]]:
    """All checks of an operation on all rows."""
    return [(check, evaluate(check, case, belief)) for check in all_checks()
            if check.subject == "operation" and check.applies(case)]


def _checked(check: Check, kept: Kept, bench: Bench) -> Checked:
    return Checked(kept.finding, check.title, "", "", kept.finding.name, None, verdict(kept, bench.shop))


def _not_below_the_floor(kept: list[tuple[Check, Kept]], case: Case) -> None:
    """A chip thinner than the edge takes off is no cut: the feed is refused, with the least that would do."""
    for check, found in kept:
        least, chip = found.finding.demand, found.finding.capacity
        if check.word != "squealed" or least is None or chip is None or least.median <= chip.median:
            continue
        enough = tell_rounded(table_feed(case) * 1.05 * least.median / chip.median, "table_feed", case.shop.units)
        raise InputError(f"the chip would be {chip.median:.2g} um thick; this edge takes off nothing below about "
                         f"{least.median:.2g} um: it would rub", where="--feed",
                         right=f"at least {enough} at this speed, or a slower spindle")


def removal_rate(case: Case) -> float:
    """Depth x width x feed of the table [mm3/s]; of a ramp or an edge half of it, of a plunge the whole round."""
    cut, down = case.op.cut, case.op.down
    if down > STRAIGHT_DOWN:
        return math.pi / 4.0 * case.tool.diameter**2 * math.sin(down) * table_feed(case)
    if down > 0.0 or case.op.role == "chamfer":
        return 0.5 * math.cos(down) * (cut.depth_of_cut or 0.0) * (cut.width_of_cut or 0.0) * table_feed(case)
    return (cut.depth_of_cut or 0.0) * (cut.width_of_cut or 0.0) * table_feed(case)


def _mended(answer: Answer, some: _Some, thin: Quick) -> Iterator[Gain]:
    """Of what is likely to go wrong first: the mildest turn of each knob that makes it clearly less likely.

    Where a person settled numbers all that may be turned is; a cut that is cheapest though it may go wrong is told
    with the shallower pass that is calmer.
    """
    first = answer.first
    if first is None or first.verdict == "good":
        return
    if answer.careful and (not answer.settled or answer.p_spoil <= 1.02 * answer.bench.shop.close):
        return                                  # all was chosen with care already
    check = next(c for c in all_checks() if c.name == first.finding.check)
    wanted, found = max(answer.bench.shop.close, LESS * answer.p_spoil), False
    knobs = check.knobs if answer.settled else (DEPTH,)
    for knob in (k for k in knobs if not (k in (DEPTH, WIDTH) and answer.case.op.role == "chamfer")):
        for trial in trials(check, answer.case, knob, thin):
            p_after = some.chance(trial.case) if trial.look.within(wanted) else 1.0
            if p_after <= wanted:
                found = True
                yield _gain(trial.text, answer, trial.case, p_after, deep="")
                break
    if answer.settled and not found and not answer.careful:
        yield from _anew(answer, some, thin)


def _anew(answer: Answer, some: _Some, thin: Quick) -> Iterator[Gain]:
    """All numbers chosen anew and with care, where no single one helps enough."""
    best = Chooser(answer.case, thin, Search(allowed=answer.bench.shop.close)).cheapest(BUDGET * SHARE)
    text = cut_changes(answer.case, best.case.op)[1]
    if text and best.p_spoil < LESS * answer.p_spoil:
        yield _gain(text, answer, best.case, some.chance(best.case), deep="")


def _gains(answer: Answer, search: Search, some: _Some, thin: Quick) -> Iterator[Gain]:
    """What a shorter stickout, a larger cutter, the other direction, a pickled face, a slower spindle would bring."""
    for text, case in _changes(answer):
        chooser = Chooser(case, thin, search)
        looked = (chooser.look(cut) for cut in _deeper(case.op.cut, search, case.job.units))
        calm = takewhile(lambda one: one.look.within(_most(answer)), looked)     # deeper is no calmer
        after = max((one for one in calm if _worth_telling(_gain(text, answer, one.case, one.p_spoil), answer)),
                    key=lambda one: removal_rate(one.case), default=None)
        if after is not None:
            gain = _gain(text, answer, after.case, some.chance(after.case))
            if _worth_telling(gain, answer):
                yield gain


def _deeper(cut: Cut, search: Search, units: str) -> Iterator[Cut]:
    """The same cut, and deeper ones where the depth is open."""
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


def _worth_telling(gain: Gain, answer: Answer) -> bool:
    """Clearly more metal at no more risk than is allowed, or clearly less risk at no less metal.

    A cut that is more likely than not to spoil something is no better for being faster.
    """
    faster = gain.removal >= MORE * removal_rate(answer.case) and gain.p_after <= min(_most(answer), HOPELESS)
    calmer = gain.p_after <= LESS * answer.p_spoil and gain.removal >= 0.98 * removal_rate(answer.case)
    return faster or (calmer and answer.p_spoil > answer.bench.shop.good)


def _most(answer: Answer) -> float:
    """Risk beyond which no change is worth telling."""
    return max(answer.p_spoil, answer.bench.shop.close if answer.careful else 0.0) * 1.02


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
        if other == "conventional" or _way(case).direction == "climb":
            yield f"{other} milling", _with_cut(case, direction=other)
    if case.wanted.stock.bow > 0.0:
        yield "pickled or ground free of scale first", _without_scale(case)
    yield from _slower(case)


def _fits(case: Case, name: str) -> bool:
    """Whether a larger cutter is of the same material and number of flutes, and this machine holds it."""
    tool, now = case.shop.tools[name], case.tool
    return (tool.material == now.material and tool.flutes == now.flutes
            and collet_for(case.shop, case.machine, tool) is not None)


def _with_cut(case: Case, **changed: object) -> Case:
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
    changed = _with_cut(case, spindle_speed=speed,
                        feed_per_tooth=feed * 2.0 * math.pi / (speed * case.tool.flutes))
    yield (f"{tell(speed, 'rotation')} at the same {tell(feed, 'table_feed', case.shop.units)}", changed)
