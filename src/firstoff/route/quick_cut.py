"""A cut without a job: this cutter in this material on this machine, chosen or checked by the checks of a whole job.

What a person has settled stays; the rest is chosen by least expected cost, as in a route. On a machine of which only
the class is known the first cut is a careful one: nothing is spoiled more often than the shop calls close.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from ..belief import Belief
from ..checks.base import Case, Check
from ..checks.heat import chips_come_off
from ..checks.si import millimetres, shallowest, takes, width_at
from ..dryrun.choosing import (
    SLOWEST,
    TOO_FAST_A_FEED,
    Candidate,
    Chooser,
    Search,
    bounded,
    most_feed,
    settable,
    with_operation,
)
from ..dryrun.findings import Kept, evaluate
from ..dryrun.limited import limited_by
from ..dryrun.looking import checks_of
from ..dryrun.nominal import table_feed
from ..dryrun.quick import Quick
from ..dryrun.registry import all_rules
from ..dryrun.result import Checked
from ..dryrun.totals import chance_spoiled, first_to_go, verdict
from ..errors import InputError
from ..job.route import STRAIGHT_DOWN, Cut, Direction
from ..shop.models import Shop
from ..shop.rounding import at_least, round_feed, round_speed
from ..units import tell, tell_rounded
from .asked_cut import NUMBERS, Bench, Wanted, must_be_possible
from .careful import careful
from .cut_answer import Answer, Gain
from .cut_gains import BUDGET, SHARE, Some, gains, mended, way_of, with_cut
from .cuts import Removal, first_cut, usual_speed
from .deepening import deepening
from .few_rows import few_rows
from .lone import Block, lone_case, role_of
from .ways_down import ways_down

SPENT: Final = 60.0            #: [min] already in the part that may be lost; judged
WIDE: Final = 0.5              #: diameters: the step that is taken off where nobody says how wide
EDGE: Final = 0.5              #: [mm] how wide an edge is broken, the same
FINISHES: Final = frozenset({"end_mill", "corner_radius"})    #: what finishes a wall to size: so much is left for it
LEFT: Final = 0.3              #: [mm] on such a wall, or for a ball, as a planned route leaves it (ROUGH_LEAVES)
FACE: Final = 0.7              #: diameters of a layer, the same


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
        "", (), _unmet(case), chips=chips_come_off(case, belief))
    some = Some.of(answer, findings, belief)
    better = (*ways_down(answer, some), *mended(answer, lambda: _anew(bench, wanted), some, thin),
              *gains(answer, search, some, thin))
    told = tuple({gain.text: gain for gain in better}.values())
    return replace(answer, gains=told, why_direction=_why_direction(case, told),
                   deeper=deepening(answer, thin) if answer.deepens else None)


def _anew(bench: Bench, wanted: Wanted) -> tuple[Case, Search]:
    """The same with all numbers open: the usual ones, and how they are searched. A raw face may be taken deeper."""
    opened = replace(wanted, speed=None, feed=None, depth=wanted.depth if wanted.bow is None else None)
    start = _start(bench, opened)
    return start, _search(bench, replace(opened, depth=None, width=None), start, careful=True)


def _asked_for(bench: Bench, wanted: Wanted, belief: Belief) -> Belief:
    """The belief without what no check of this cut asks for: other materials, machines, holding, instruments.

    A cutter of the same size and another material may be told instead.
    """
    sized: set[str] = {tool.material for tool in bench.shop.tools.values() if tool.diameter == bench.tool.diameter}
    named: dict[str, set[str]] = {
        "material": {wanted.material, *bench.material.one_of}, "machine": {bench.machine_name},
        "class": {bench.machine.like}, "tool_material": sized, "device": set(), "instrument": set(),
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
                               "width_of_cut": wanted.width, "direction": wanted.direction, "coolant": wanted.coolant}
    told = {key: value for key, value in told.items() if value is not None}
    if role == "slot":
        told |= {"direction": "slot", "width_of_cut": bench.tool.diameter}
    elif role == "chamfer":
        told |= {"depth_of_cut": block.depth, "width_of_cut": block.depth}
    if block.down > STRAIGHT_DOWN:
        told |= {"depth_of_cut": block.depth}
    cut = _by_outline(bench, wanted, cut.model_copy(update=told))
    if wanted.feed is not None:
        cut = cut.model_copy(update={"feed_per_tooth": _a_tooth(bench, wanted.feed, cut.spindle_speed or 0.0)})
    case = lone_case(_of_use(bench, wanted), bench.machine_name, wanted.tool, wanted.material, bench.collet, block,
                     cut, wanted.stickout)
    if wanted.feed is not None and bounded(case, cut) == TOO_FAST_A_FEED:
        raise InputError(f"{tell(wanted.feed, 'table_feed', bench.units)} is more than {TOO_FAST_A_FEED}",
                         where="--feed", right=f"{tell(most_feed(case), 'table_feed', bench.units)} at most, half of "
                                               f"its rapid speed")
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


def _by_outline(bench: Bench, wanted: Wanted, cut: Cut) -> Cut:
    """First values that a ball or a taper can take at once: a width of one's own as deep as it needs."""
    depth, width, tool = cut.depth_of_cut or 0.0, cut.width_of_cut or 0.0, bench.tool
    if takes(tool, depth, width):
        return cut
    if wanted.width is None:
        return cut.model_copy(update={"width_of_cut": millimetres(width_at(tool, depth))})
    deep = shallowest(tool, width)
    return cut.model_copy(update={"depth_of_cut": at_least(deep, settable(deep, bench.units), bench.units)})


def _block(bench: Bench, wanted: Wanted) -> Block:
    tool = bench.tool
    if tool.kind == "chamfer":
        side = wanted.depth or wanted.width or EDGE
        return Block(side, side)
    usual = FACE if tool.kind == "face_mill" or wanted.bow is not None else WIDE
    depth = min(tool.diameter, tool.flute_length)
    if wanted.bow is not None:
        depth = 2.0 * wanted.bow
    elif wanted.down:
        usual = 1.0
    elif wanted.within is not None or wanted.roughness is not None:
        usual = min(usual, LEFT / tool.diameter) if tool.kind in FINISHES else usual
        depth = LEFT if tool.kind == "ball" and wanted.roughness is not None else depth
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
        chooser = Chooser(with_cut(start, direction=way), thin, search)
        near = found[0][1].case.op.cut.model_copy(update={"direction": way}) if found else None
        best = chooser.cheapest(BUDGET * SHARE, near)
        if way != "climb" or wanted.direction == "climb" or way_of(best.case).direction == "climb":
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
    if way_of(start).direction == "climb":
        yield "climb"


def _why_direction(case: Case, gains: tuple[Gain, ...] = ()) -> str:
    """The reason for the direction; a direction that lost motion speaks against is told as such."""
    direction = case.op.cut.direction
    if case.op.down > STRAIGHT_DOWN:
        return "all of its end cuts, all round"
    if case.op.down > 0.0:
        return "down with its whole width, in a slot or along a helix: both ways at once"
    if direction == "slot":
        return "a slot: both ways at once"
    way = way_of(case)
    if direction == "climb" and way.direction != "climb":
        return f"climb, as you say, may snatch the table: {way.because}"
    if direction == "conventional" and way.direction == "climb":
        better = any(gain.cut.direction == "climb" for gain in gains)
        return f"conventional{'' if better else ': it costs no more here'}; lost motion would let it climb too"
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
    return [(check, evaluate(check, case, belief)) for check in checks_of(case)]


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


