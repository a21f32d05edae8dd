"""What `cut` says: numbers as they are keyed in, how likely each thing is to go wrong, what would be better."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, Final

from .checks._chance import figure
from .checks._past import time_in_cut
from .checks.base import Case
from .checks.scale import beneath
from .dryrun.nominal import table_feed
from .dryrun.result import Checked, check_json, odds
from .job.route import STRAIGHT_DOWN, Cut
from .route.asked_cut import FINEST, NUMBERS
from .route.cut_answer import Answer, Gain
from .route.cut_gains import HOPELESS, removal_rate
from .telling import sentence, wrapped
from .units import tell, tell_rounded

#: what a person hears or sees, and what to do then
LISTEN: Final = {
    "chatter": "a howl and a rippled wall: stop the feed and take half the depth",
    "rubbing": "a squeal and dust instead of chips: feed harder",
    "power": "the spindle slowing: take less depth",
}

#: Lives of a cutter: at a speed that uses up more the law of life is no figure any more; judged.
COUNTED: Final = 20.0
#: the same where a shallower pass would run in the scale
IN_SCALE: Final = {
    "chatter": "a howl and a rippled wall: stop the feed and take half the width, no less depth: the scale blunts",
    "power": "the spindle slowing: take less width",
}


def cut_lines(answer: Answer) -> Iterator[str]:
    """The answer for a person."""
    bench, case = answer.bench, answer.case
    units, cut = bench.units, answer.cut
    yield from wrapped(f"{bench.tool.name}, {bench.material.name}, {bench.machine.name}, {_held(answer)}.")
    for word, key, others in answer.could_be:
        yield from wrapped(f"{word} read as {key}; it could be {', '.join(others)} too", 2)
    yield from _own_numbers(answer)
    yield ""
    yield (f"  {tell(cut.spindle_speed or 0.0, 'rotation')}   feed {tell(table_feed(case), 'table_feed', units)}   "
           f"{_taken(case, units)}")
    yield from wrapped(answer.why_direction, 2)
    yield (f"  {tell(cut.feed_per_tooth or 0.0, 'length', units)} a tooth, "
           f"{case.shop.coolants[cut.coolant].name}; takes off {_removal(removal_rate(case), units)}")
    yield from _finish_takes(answer)
    if beneath(case) > 0.0:
        yield from wrapped("start it where the edge meets clean metal, at a sawn end or one that is filed bright: an "
                           "edge that goes in through the scale is notched at once", 2)
    if answer.chips:
        yield from wrapped(f"chips come off {answer.chips}; darker ones tell of a blunt edge or too much speed", 2)
    yield ""
    yield from wrapped(f"Limited by: {answer.limited_by}.")
    yield from _careful(answer)
    yield from _likely(answer)
    for gain in answer.gains:
        yield from wrapped(f"instead: {gain.text}: {_gained(answer, gain)}", 2, 9)
    yield from _closing(answer)


def _finish_takes(answer: Answer) -> Iterator[str]:
    """Of passes that leave ridges, how long a face takes for the finish that is asked."""
    from .checks.finish import ridged, step_over

    case, units = answer.case, answer.bench.units
    if case.wanted.roughness is None or not ridged(case):
        return
    side, name = (4.0 * 25.4, "4 x 4 in") if units == "in" else (100.0, "100 x 100 mm")
    minutes = side * side / (step_over(case) * table_feed(case)) / 60.0
    yield (f"  passes {tell(step_over(case), 'length', units)} apart for the finish: {name} of face take about "
           f"{float(f'{minutes:.2g}'):g} min")


def _held(answer: Answer) -> str:
    from .checks._forces import stickout

    units = answer.bench.units
    out = tell(stickout(answer.case), "length", units, 2 if units == "in" else None)
    return f"{out} out of the {answer.bench.shop.collets[answer.bench.collet].name}"


def _own_numbers(answer: Answer) -> Iterator[str]:
    if answer.settled:
        own = ", ".join(said for name, said in NUMBERS.items() if name in answer.settled)
        yield f"Your own {own} as you gave {'it' if len(answer.settled) == 1 else 'them'}."


def _taken(case: Case, units: str) -> str:
    """How deep and how wide, level or on the way down."""
    cut, down = case.op.cut, case.op.down
    deep = tell(cut.depth_of_cut or 0.0, "length", units)
    if case.op.role == "chamfer":
        return f"the edge broken {deep}   {cut.direction}"
    if down > STRAIGHT_DOWN:
        return f"straight down   {deep} at once"
    if down > 0.0:
        along = 1.0 / math.tan(down)
        return f"down at {tell(down, 'angle')}, 1 in {along:.2g}   {deep} with each turn or run"
    return f"{deep} deep   {_wide(cut, units)}"


def _wide(cut: Cut, units: str) -> str:
    width = tell(cut.width_of_cut or 0.0, "length", units)
    return f"a slot {width} wide" if cut.direction == "slot" else f"{width} wide   {cut.direction}"


def _removal(rate: float, units: str) -> str:
    """Metal a minute: cubic centimetres, or cubic inches."""
    each, word = (25.4**3, "in3") if units == "in" else (10.0**3, "cm3")
    return f"{float(f'{60.0 * rate / each:.2g}'):g} {word} a minute"


def _careful(answer: Answer) -> Iterator[str]:
    """Of an unknown machine: how careful this is, and what to listen for."""
    if not answer.careful:
        return
    likely = f"that something is spoiled is {odds(answer.p_spoil)}"
    if answer.p_spoil <= 1.02 * answer.bench.shop.close:
        held = f"so this is a careful first value: {likely}"
    else:
        numbers = "with what you settled no numbers bring" if answer.settled else "no numbers that are of use bring"
        close = _bare(odds(answer.bench.shop.close))
        # what is told as the same chance is not within it all the same
        likely = likely if _bare(odds(answer.p_spoil)) != close else "that something is spoiled is a little likelier"
        held = f"and {numbers} the risk to {close}: {likely}"
    measured = "Little is known yet" if "own figures" in answer.figures_note else "Nothing was measured"
    yield from wrapped(f"{measured} of this machine, {held}, over all machines of its class.")
    known = {c.finding.check for c in answer.checked if c.finding.p_rows is not None}
    heard = LISTEN | IN_SCALE if beneath(answer.case) > 0.0 else LISTEN
    first = "; ".join(text for check, text in heard.items() if check in known)
    yield from wrapped(f"Listen for {first}.{_deepen(answer)}")


def _deepen(answer: Answer) -> str:
    """How deep to go on while it is quiet."""
    if not answer.deepens or answer.p_spoil > HOPELESS:
        return ""
    go_on = " While it is quiet go a quarter deeper each pass"
    if answer.deeper is None:
        return f"{go_on}."
    deep = tell_rounded(answer.deeper.depth, "length", answer.bench.units)
    if not answer.deeper.stops:
        every = "all of the " if answer.deeper.depth >= answer.case.wanted.stock.size[2] else ""
        return f"{go_on}: the middle machine of its class bears {every}{deep}."
    close = _bare(odds(answer.bench.shop.close))
    stops = f"'{answer.deeper.stops}' is likelier than {close}, and nothing warns of it"
    if answer.deeper.depth <= (answer.cut.depth_of_cut or 0.0):
        return f" Go no deeper, however quiet it is: from there {stops}."
    return f"{go_on}, to {deep} and no deeper: from there {stops}."


def _likely(answer: Answer) -> Iterator[str]:
    known = [c for c in answer.checked if c.finding.p_rows is not None]
    known.sort(key=lambda c: -(c.finding.p_fail or 0.0))
    good = [c for c in known if c.verdict == "good"]
    for checked in known:
        if checked.verdict != "good":
            yield from wrapped(f"{checked.verdict}: {checked.title}, {odds(checked.finding.p_fail)}. "
                               f"{sentence(checked.finding.because)}{_settle(checked)}", 2)
    if good:
        yield from wrapped(f"good: {', '.join(f'{c.title} {_odds(c)}' for c in good)}", 2)


def _odds(checked: Checked) -> str:
    return odds(checked.finding.p_fail).removeprefix("about ")


def _settle(checked: Checked) -> str:
    return f" To settle it: {checked.finding.settle_by}." if checked.verdict == "can't say" else ""


def _gained(answer: Answer, gain: Gain) -> str:
    """What a change brings: metal in a minute, and how likely anything is spoiled."""
    more = gain.removal / max(removal_rate(answer.case), 1e-12)
    words = []
    if more >= 1.05:
        words.append(f"takes off {more:.1f} times as much" if more >= 1.5 else f"takes off {more - 1.0:.0%} more")
    elif more <= 0.95:
        words.append(f"takes off {max(more, 0.01):.0%} of that in the same time")
    after, before = odds(gain.p_after), odds(answer.p_spoil)
    return ", ".join([*words, f"anything spoiled {after}, {'as now' if after == before else f'not {_bare(before)}'}"])


def _bare(text: str) -> str:
    return text.removeprefix("about ")


def _closing(answer: Answer) -> Iterator[str]:
    unknown = [c.title for c in answer.checked if c.finding.p_rows is None]
    if answer.case.op.down > STRAIGHT_DOWN:
        yield from wrapped("Only a cutter whose teeth meet in its middle goes straight down; out again every "
                           "diameter or so, so that its chips come out.")
    asked = answer.case.wanted.roughness
    if asked is not None and asked < FINEST:
        yield from wrapped("Milling hardly leaves a face finer than Ra 0.2 um: mill it as fine as it goes, then lap "
                           "or polish it.")
    for text in answer.rules:
        yield from wrapped(f"Don't start: {text}.")
    if answer.bench.material.scale_thickness is not None and answer.case.wanted.stock.bow == 0.0:
        yield from wrapped("Rolled stock: on a face that still has its scale the first pass goes beneath it: "
                           "ask again with --raw and how uneven the face is.")
    yield from wrapped(_amount(answer))
    yield from wrapped(f"Not counted: {', '.join(unknown)}. By {answer.figures_note or 'book figures only'}.")
    if answer.cut.coolant == "mist":
        yield from wrapped("Mist is breathed in and may burn: draw it off, no flame near.")
    yield from wrapped(f"Clamp it, guard and glasses on; the machine's manual comes first. "
                       f"{' '.join(answer.bench.material.cautions)}")


def _amount(answer: Answer) -> str:
    """What all of it is reckoned for, how long that is in the cut and what it wears off the cutter."""
    case, units = answer.case, answer.bench.units
    long, wide, deep = (tell(side, "length", units) for side in case.wanted.stock.size)
    what = f"{long} of edge" if case.op.role == "chamfer" else f"{long} long, {wide} wide and {deep} deep in all"
    return f"Reckoned for {what}: {tell_rounded(_in_cut(case), 'time', units)} in the cut{_wears_off(answer)}."


def _wears_off(answer: Answer) -> str:
    """What it wears off the cutter in money, or how many cutters it takes."""
    lives, price, words = _lives(answer), answer.case.tool.price, answer.case.shop.rates.money
    if lives is None or lives * price < 0.01:
        return ""
    if lives > COUNTED:
        return ", and more cutters than are worth counting"
    if lives > 1.05:
        return f", and {figure(lives)} cutters of {price:g} {words} each"
    return f", and {figure(lives * price)} {words} of the cutter's {price:g}"


def _in_cut(case: Case) -> float:
    """Time in the cut of all that is reckoned for [s]."""
    return float(time_in_cut(case).sum())


def _lives(answer: Answer) -> float | None:
    """Lives of the cutter that it uses up in the middle row; None where none is known."""
    used = next((c.finding.demand for c in answer.checked if c.finding.check == "wear"), None)
    return None if used is None else used.median


def _tool_money(answer: Answer) -> float | None:
    """What that is in the shop's money; None too where so many lives are no figure any more."""
    lives = _lives(answer)
    return None if lives is None or lives > COUNTED else lives * answer.case.tool.price


def cut_json(answer: Answer) -> dict[str, Any]:
    """The object that `cut --json` prints."""
    cut, case = answer.cut, answer.case
    return {
        **_numbers(cut), "table_feed_mm_min": round(table_feed(case) * 60.0, 4),
        "direction": cut.direction, "removal_rate_mm3_s": removal_rate(case), "limited_by": answer.limited_by,
        "checks": [check_json(c) for c in answer.checked],
        "machine": answer.bench.machine_name, "tool": case.op.tool, "material": case.material_name,
        "down_deg": math.degrees(case.op.down),
        "collet": answer.bench.collet, "role": case.op.role, "direction_because": answer.why_direction,
        "careful": answer.careful, "given": sorted(NUMBERS[name] for name in answer.settled),
        "first_to_go": None if answer.first is None else answer.first.finding.check, "p_spoil": answer.p_spoil,
        "deepen_to_mm": None if answer.deeper is None else answer.deeper.depth,
        "deeper_stops": None if answer.deeper is None else answer.deeper.stops,
        "instead": [_gain_json(gain) for gain in answer.gains], "dont_start": list(answer.rules),
        "reckoned_for_mm": list(case.wanted.stock.size), "minutes_in_cut": round(_in_cut(case) / 60.0, 3),
        "tool_money": _tool_money(answer), "cautions": list(answer.bench.material.cautions),
        "figures": answer.figures_note or "book figures only",
    }


def _numbers(cut: Cut) -> Mapping[str, float | None]:
    return {
        "spindle_speed_per_min": round((cut.spindle_speed or 0.0) * 30.0 / math.pi, 4),
        "feed_per_tooth_mm": cut.feed_per_tooth, "depth_of_cut_mm": cut.depth_of_cut,
        "width_of_cut_mm": cut.width_of_cut,
    }


def _gain_json(gain: Gain) -> dict[str, Any]:
    return {"text": gain.text, **_numbers(gain.cut), "removal_rate_mm3_s": gain.removal, "p_after": gain.p_after,
            "minutes": gain.minutes}
