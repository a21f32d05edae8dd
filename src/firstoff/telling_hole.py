"""What `hole` says: the row of tools with what to set, what can go wrong and how likely, what to do instead."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Final

from .checks._drills import TABLED, oversize
from .dryrun.result import odds
from .route.cuts import coolant
from .route.hole_bench import Bench
from .route.quick_hole import HoleAnswer, Step
from .route.risk import Risk, verdict_of
from .route.tapped import LONGEST, WIDER, Tapped, long
from .shop.models import Figure, Shop
from .telling import sentence, wrapped
from .units import tell, tell_rounded

TURN: Final = 30.0 / math.pi
SHORT: Final = 5.0            #: [mm] nobody counts the seconds of a shorter way
CHART_BASE: Final = (5.0 / 8.0) / (3.0 / 4.0)     #: H1 over the height that charts of inch threads count on
EYES: Final = "Glasses on; sleeves, hair and gloves away from the spindle; chips by brush, spindle stopped."
HELD: Final = "The work in a vise or clamped, against a stop on the side towards which the drill turns it."
HEAD: Final = "That is for a socket screw (ISO 10642); slotted and cross heads differ: measure one."
MANUAL: Final = "The machine's manual and the rules where you work come before this."


def hole_lines(answer: HoleAnswer) -> Iterator[str]:
    """The answer for a person."""
    yield from wrapped(f"{_title(answer)}, {answer.bench.material.name}, {answer.bench.machine.name}.")
    yield from _meant(answer)
    yield from _own(answer)
    yield from _beyond(answer)
    yield ""
    for number, step in enumerate(answer.steps, start=1):
        yield from wrapped(f"{number}  {_step(answer, step)}", 2, 3)
    yield ""
    yield from _thread(answer)
    yield from _sunk(answer)
    yield from _comes_out(answer)
    if answer.tapped or answer.sunk or answer.limits or _drilled_last(answer):
        yield ""
    yield "What can go wrong, and how likely:"
    for risk in answer.risks:
        yield from _risk(risk, answer.shop)
    yield ""
    for text in (*answer.remarks, *answer.bench.material.cautions, HELD, EYES, MANUAL):
        yield from wrapped(sentence(text), 2)
    whose = "; ".join(f"{what} {value}, {spread}, {source}" for what, value, spread, source in _whose(answer))
    yield from wrapped(f"By {answer.figures_note}{f': {whose}' if whose else ''}. How far a point walks is judged.")


def _whose(answer: HoleAnswer) -> Iterator[tuple[str, str, str, str]]:
    """What each figure of this metal and machine is, how sure, and whose: a key of the bibliography."""
    bench, units = answer.bench, answer.shop.units
    book = answer.shop.classes[bench.machine.like]
    push = bench.machine.axis_thrust or book.axis_thrust
    metal = bench.material
    told: list[tuple[str, Figure | None, str]] = [("force of drilling", metal.drilling_force, "pressure")]
    if answer.tapped:
        told += [("of tapping", metal.tapping_force, "pressure"),
                 ("tensile strength", metal.tensile_strength, "pressure")]
    told += [("power at the drill", bench.machine.spindle.power if bench.machine.spindle else None, "power"),
             ("push of an arm" if bench.kind == "drill_press" else "push of the feed", push, "force")]
    for what, figure, quantity in told:
        if figure is not None:
            sure = f"× and ÷ {figure.factor:.3g}" if figure.factor else f"± {tell(figure.sd or 0.0, quantity, units)}"
            yield what, tell(figure.value, quantity, units), sure, figure.source


def _title(answer: HoleAnswer) -> str:
    hole, units = answer.hole, answer.shop.units
    deep = f", {tell(answer.depth, 'length', units)} {'long in full' if hole.kind == 'thread' else 'deep'}" \
        if answer.depth else ""
    name = hole.thread.name if hole.thread else f"Ø{answer.bench.size(hole.diameter)}"
    what = {"thread": f"Thread {name}", "plain": f"Hole {name}", "ream": f"Hole {name} H{hole.fit}, reamed",
            "clearance": f"Clearance hole for {name}", "countersink": f"Countersunk hole for {name}"}[hole.kind]
    return f"{what}{deep}{', through' if answer.through else ''}"


def _meant(answer: HoleAnswer) -> Iterator[str]:
    for word, meant in (("material", answer.material), ("machine", answer.machine)):
        if meant.others:
            yield from wrapped(f"{word} read as {meant.key}; it could be {', '.join(meant.others)} too", 2)


def _own(answer: HoleAnswer) -> Iterator[str]:
    own = answer.own
    given = [word for word, there in (("drills", bool(own.drills)), ("speed", own.turn is not None),
                                      ("feed", own.feed is not None or own.table_feed is not None)) if there]
    if given:
        yield from wrapped(f"Your own {', '.join(given)}, as given.", 2)


def _beyond(answer: HoleAnswer) -> Iterator[str]:
    """Said first: a drill that this machine does not hold or drive, and what makes the hole instead."""
    beyond = answer.beyond
    if beyond is not None:
        yield from wrapped(f"No drill of Ø{answer.bench.size(beyond.diameter)} here: {beyond.because}.", 2)
        for way in beyond.ways:
            yield from wrapped(f"instead: {way}", 2, 9)


def _step(answer: HoleAnswer, step: Step) -> str:
    if step.what == "widen":
        return f"bring it to Ø{answer.bench.size(step.diameter)} as said above"
    words = [f"{step.what} {_tool(answer, step)}"]
    if step.wide is not None:
        keyed = answer.bench.kind != "drill_press"       # 90 degrees: as deep as half its width, to a sharp tip
        deep = f", {_fine(step.wide / 2.0, answer.shop.units)} deep if its tip is sharp" if keyed else ""
        words.append(f"until it is {answer.bench.said(step.wide)} wide{deep}")
    if step.deep is not None:
        words.append(f"{answer.bench.said(step.deep)} deep at its full width")
    if step.tip is not None:
        words.append(f"its tip {_fine(step.tip, answer.shop.units)} below the face")
    if step.turn is not None:
        words.append(f"{tell(step.turn, 'rotation')}{_belt(answer.bench, step.turn)}")
    words += [text for text in (_feed(answer, step), _pecks(answer, step), _wet(answer, step), step.note) if text]
    return ", ".join(words)


def _tool(answer: HoleAnswer, step: Step) -> str:
    hole, size = answer.hole, answer.bench.size
    if step.what == "tap":
        return hole.thread.name if hole.thread else ""
    if step.what == "spot":
        return f"Ø{size(step.diameter)}, 90 degrees"
    if step.what == "countersink":
        return f"90 degrees to Ø{answer.bench.said(step.diameter)}"
    tenth = round(step.diameter, 1)
    near = step.what == "drill" and hole.thread and hole.thread.drill_name and answer.shop.units == "mm"
    return f"Ø{size(step.diameter)}{f' or {size(tenth)}' if near and abs(tenth - step.diameter) < WIDER else ''}"


def _belt(bench: Bench, turn: float) -> str:
    steps = sorted(bench.machine.spindle.steps) if bench.machine.spindle else []
    if not steps or turn not in steps:
        return ""
    return f" (step {steps.index(turn) + 1} of {len(steps)} from the slowest)"


def _feed(answer: HoleAnswer, step: Step) -> str:
    """By power a feed to key in, by arm how long the way takes."""
    if step.feed is None or step.turn is None:
        return ""
    units, down = answer.shop.units, step.feed * step.turn / (2.0 * math.pi)
    if answer.bench.kind != "drill_press":
        return f"feed {tell(down, 'table_feed', units)} ({answer.bench.fine(step.feed)} a turn)"
    if step.what in ("spot", "countersink"):
        return ""
    deep = step.deep or answer.depth or 0.0
    way = deep if deep >= SHORT else 10.0 if units == "mm" else 12.7
    return f"by hand so that {tell(way, 'length', units)} take about {_seconds(way / down)}"


def _seconds(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 90.0 else f"{seconds / 60.0:.0f} min"


def _pecks(answer: HoleAnswer, step: Step) -> str:
    units = answer.shop.units
    if step.pecks is not None:
        first, then = (tell(length, "length", units, 2 if units == "in" else None) for length in step.pecks)
        return f"{first} at once, then out for the chips every {then}"
    return ""


def _wet(answer: HoleAnswer, step: Step) -> str:
    if step.what == "spot" or step.what == "widen":
        return ""
    wet = coolant(answer.bench.material, step.what)
    return {"brushed": "oil brushed on", "dry": "dry"}.get(wet, wet)


def _thread(answer: HoleAnswer) -> Iterator[str]:
    tapped = answer.tapped
    if tapped is None:
        return
    bench = answer.bench
    yield from wrapped(f"The Ø{bench.size(tapped.drill)} hole leaves {100.0 * tapped.share:.0f} % of the height of "
                       f"thread (H1, 5/8 of the sharp V{_inch_base(tapped)}). {_tap(answer, tapped)}", 0, 0)
    if tapped.full_length is None:
        return
    full, screw = long(tapped.full_length, bench), f"a screw of class 8.8{_grade(tapped)}"
    if not tapped.long_enough:
        text = (f"{sentence(screw).rstrip('.')} would need {full} of full thread to break before the thread strips; "
                f"a hand tap cuts about {long(LONGEST * tapped.thread.nominal, bench)}. So here the thread strips "
                f"first: an insert of steel wire, a nut behind it, or less pull.")
    else:
        sure = f"; from {long(tapped.sure_length, bench)} with threads as they come out" if tapped.sure_length else ""
        text = (f"From {full} of full thread {screw} breaks before the thread strips, in all but one bar in "
                f"twenty{sure}. The first turn of a screw and the lead of the tap do not count.")
    yield from wrapped(text, 0, 0)


def _tap(answer: HoleAnswer, tapped: Tapped) -> str:
    units = answer.shop.units
    if tapped.torque is None:
        return f"What torque the tap takes in {answer.bench.material.name} is not known; it breaks at about " \
               f"{tell_rounded(tapped.breaks, 'torque', units)}."
    return (f"The tap takes about {tell_rounded(tapped.torque, 'torque', units)} and breaks at about "
            f"{tell_rounded(tapped.breaks, 'torque', units)}: {_by_how(tapped)}.")


def _grade(tapped: Tapped) -> str:
    """Class 8.8 is as strong as what inch screws are sold as."""
    return " (about grade 5)" if tapped.thread.system == "in" else ""


def _inch_base(tapped: Tapped) -> str:
    """Charts for inch threads count on 3/4 of the V, not 5/8: the same drill reads a sixth lower."""
    if tapped.thread.system != "in":
        return ""
    return f"; {100.0 * tapped.share * CHART_BASE:.0f} % on charts that count on 3/4 of it"


def _by_how(tapped: Tapped) -> str:
    names = {"hand": "turned by hand", "drill_press": "in a press", "mill": "rigid in a mill"}
    return ", ".join(f"{names[how]} {odds(p)}" for how, p in tapped.p_breaks.items())


def _sunk(answer: HoleAnswer) -> Iterator[str]:
    sunk, units, said = answer.sunk, answer.shop.units, answer.bench.said
    if answer.limits is not None:
        low, high = answer.limits
        yield from wrapped(f"H{answer.hole.fit}: {low:.0f} to +{high:.0f} um on the size: a pin of the size goes in, "
                           f"one {high:.0f} um larger does not.", 0, 0)
    if sunk is None:
        return
    yield from wrapped(
        f"To Ø{said(sunk.diameter)} at the surface, the cone {said(sunk.depth)} deep{_left(answer)}, the edge of the "
        f"head lies about {said(sum(sunk.below) / 2.0)} below it, give or take {_fine(sunk.spread_tried, units)} "
        f"with the stop set by a screw that was tried, {_fine(sunk.spread_by_size, units)} by the standard's size "
        f"alone. {HEAD}", 0, 0)


def _fine(length: float, units: str) -> str:
    """To a hundredth of a mm, or a thousandth of an inch."""
    return tell(length, "length", units, 3 if units == "in" else 2)


def _left(answer: HoleAnswer) -> str:
    """What stays of the hole below the cone."""
    left = answer.sunk.left if answer.sunk else None
    return f" with {answer.bench.said(left)} of the hole below it" if left is not None and left > 0.0 else ""


def _risk(risk: Risk, shop: Shop) -> Iterator[str]:
    word = verdict_of(risk, shop.good, shop.close)
    text = f"{word}: {risk.what}" if word else sentence(risk.what).rstrip(".")
    if risk.p is not None:
        text = f"{text}: {odds(risk.p)}"
    settle = f". To settle it: {risk.settle}" if word == "can't say" else ""
    yield from wrapped(f"{text}{f'; {risk.instead}' if risk.instead else ''}{settle}.", 2)


def hole_json(answer: HoleAnswer) -> dict[str, Any]:
    """The object that `hole --json` prints: mm, N, N m, turns a minute."""
    hole, tapped, sunk = answer.hole, answer.tapped, answer.sunk
    found: dict[str, Any] = {
        "hole": hole.thread.name if hole.thread else hole.said, "kind": hole.kind, "diameter_mm": hole.diameter,
        "material": answer.material.key, "machine": answer.machine.key, "depth_mm": answer.depth,
        "through": answer.through, "tap_drill_mm": tapped.drill if tapped else None,
        "engagement": round(tapped.share, 4) if tapped else None,
        "engagement_length_mm": _rounded(tapped.full_length, 2) if tapped else None,
        "torque_nm": _rounded(tapped.torque if tapped else _last_torque(answer), 3),
    }
    if tapped:
        found |= {"tap_breaks_nm": _rounded(tapped.breaks, 3), "p_tap_breaks": tapped.p_breaks,
                  "p_strips_first": tapped.p_strips, "sure_length_mm": _rounded(tapped.sure_length, 2)}
    if sunk:
        found["countersink"] = {"diameter_mm": sunk.diameter, "depth_mm": sunk.depth, "below_mm": list(sunk.below),
                                "spread_tried_mm": round(sunk.spread_tried, 3),
                                "spread_by_size_mm": round(sunk.spread_by_size, 3), "left_mm": sunk.left}
    if (plain := _drilled_last(answer)) is not None:
        found["comes_out_mm"] = [round(plain + more, 3) for more in oversize(plain)]
    if answer.limits:
        found["limits_um"] = [round(limit, 1) for limit in answer.limits]
    if hole.thread and hole.thread.clearance:
        found["clearance_mm"] = {"close": hole.thread.clearance[0], "medium": hole.thread.clearance[1]}
    return found | {
        "steps": [_step_json(answer, step) for step in answer.steps],
        "risks": [_risk_json(risk, answer.shop) for risk in answer.risks],
        "not_drilled": {"diameter_mm": answer.beyond.diameter, "because": answer.beyond.because,
                        "instead": list(answer.beyond.ways)} if answer.beyond else None,
        "remarks": list(answer.remarks), "cautions": [*answer.bench.material.cautions, HELD, EYES, MANUAL],
        "figures": answer.figures_note,
        "whose": [{"what": what, "value": value, "spread": spread, "source": source}
                  for what, value, spread, source in _whose(answer)],
    }


def _risk_json(risk: Risk, shop: Shop) -> dict[str, Any]:
    return {"what": risk.what, "p": risk.p, "instead": risk.instead,
            "verdict": verdict_of(risk, shop.good, shop.close) or None, "settle_by": risk.settle or None}


def _drilled_last(answer: HoleAnswer) -> float | None:
    """Diameter of the drill that leaves a plain hole as it is, of those whose size is tabled [mm]."""
    last = answer.steps[-1]
    plain = answer.hole.kind not in ("thread", "ream", "countersink") and last.what == "drill"
    return last.diameter if plain and TABLED[0] <= last.diameter <= TABLED[1] else None


def _comes_out(answer: HoleAnswer) -> Iterator[str]:
    """How wide a plain hole comes out; of one for a screw, the closer one."""
    thread, bench = answer.hole.thread, answer.bench
    if answer.hole.kind == "clearance" and thread and thread.clearance:
        row = "free one of the trade's table" if thread.system == "in" else "medium one of ISO 273"
        yield from wrapped(f"Ø{bench.size(answer.hole.diameter)} is the {row}; the close one is "
                           f"Ø{bench.size(thread.clearance[0])}.", 0, 0)
    size = _drilled_last(answer)
    if size is not None:
        usual, most = (tell(size + more, "length", answer.shop.units, 3 if answer.shop.units == "in" else 2)
                       for more in oversize(size))
        yield from wrapped(f"A drill cuts wide of its size: it comes out about {usual} wide, {most} at most; with "
                           "lips ground alike, a chuck that runs true and a pilot the least. Closer than that is "
                           "reamed or milled.", 0, 0)


def _last_torque(answer: HoleAnswer) -> float | None:
    """Of the last drill [N m]."""
    return next((s.drilled.load.torque for s in reversed(answer.steps) if s.drilled is not None), None)


def _step_json(answer: HoleAnswer, step: Step) -> dict[str, Any]:
    load = step.drilled.load if step.drilled else None
    first = load.first if load else None
    by = "power" if answer.bench.kind == "mill" and step.what != "tap" else "hand"
    down = step.feed * step.turn / (2.0 * math.pi) if step.feed and step.turn else None
    return {
        "what": step.what, "diameter_mm": round(step.diameter, 3), "depth_mm": _rounded(step.deep, 2),
        "wide_mm": step.wide, "tip_mm": _rounded(step.tip, 2),
        "spindle_speed_per_min": _rounded(step.turn * TURN if step.turn else None, 0),
        "feed_mm_rev": _rounded(step.feed, 4), "feed_by": by,
        "feed_mm_min": _rounded(down * 60.0 if down is not None else None, 1),
        "first_peck_mm": step.pecks[0] if step.pecks else None, "peck_mm": step.pecks[1] if step.pecks else None,
        "torque_nm": _rounded(load.torque if load else None, 3),
        "thrust_n": _rounded(load.thrust if load else None, 0),
        "limits": [{"what": way.name, "asked": _rounded(way.asked, 3), "bears": _rounded(way.bears, 3), "p": way.p}
                   for way in load.ways] if load else [],
        "p_fail": load.p if load else None, "limited_by": first.name if first else None, "note": step.note,
    }


def _rounded(number: float | None, digits: int) -> float | None:
    return None if number is None else round(number, digits)
