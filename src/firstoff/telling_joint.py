"""What `joint` says: how tight, what it holds, what gives way first and how likely, what to do instead."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, Final

from .checks._clamped import Wide
from .dryrun.result import odds
from .route.asked_joint import LeverAsked, Tight
from .route.quick_joint import JointAnswer, Other
from .route.quick_press import PressAnswer
from .telling import sentence, wrapped
from .units import tell

TRY: Final = "Try it before it is relied on: pull with a luggage scale, from the side, nothing and nobody below it."
NOT_FOR: Final = ("Nothing here is for lifting, for people, for pressure or for what turns fast: those have rules "
                  "and people with a licence for it.")
SHAKES: Final = "Shaking loosens what holds at rest: look again after the first use."
EYES: Final = "Glasses on where a screw may snap. The rules where you work come before this."
CAUTIONS: Final = (TRY, SHAKES, EYES, NOT_FOR)


def joint_lines(answer: JointAnswer | PressAnswer) -> Iterator[str]:
    """The answer for a person."""
    yield from _screw_lines(answer) if isinstance(answer, JointAnswer) else _press_lines(answer)
    yield ""
    for text in CAUTIONS:
        yield from wrapped(text, 2)
    yield from wrapped(f"By {answer.figures_note}.")


def joint_json(answer: JointAnswer | PressAnswer) -> dict[str, Any]:
    """The object that `joint --json` prints: N, N m, mm."""
    found = _screw_json(answer) if isinstance(answer, JointAnswer) else _press_json(answer)
    return found | {"cautions": list(CAUTIONS), "figures": answer.figures_note}


# --- a screw that clamps ---------------------------------------------------------------------------


def _screw_lines(answer: JointAnswer) -> Iterator[str]:
    asked, units = answer.asked, answer.shop.units
    yield from wrapped(f"{_title(answer)}.")
    for word, meant in (("into", asked.into), ("through", asked.through)):
        if meant.others and (word == "into" or asked.through != asked.into):
            yield from wrapped(f"{word} read as {meant.key}; it could be {', '.join(meant.others)} too", 2)
    if answer.assumed:
        yield from wrapped(f"Taken, since nobody says: {'; '.join(answer.assumed)}.")
    yield ""
    yield from wrapped(_tighten(answer))
    yield from _holds(answer)
    first = answer.first
    at = f" at about {_force(first.at.middle, units)} of pull" if first.at else ""
    yield from wrapped(f"Gives way first: {first.what}{at}. The screw breaks at "
                       f"{_force(answer.clamp.breaks, units)}, if it is pulled alone.")
    yield ""
    yield "What can go wrong, and how likely:"
    for way in answer.ways:
        yield from wrapped(f"{sentence(way.what).rstrip('.')}: {odds(way.p)}.", 2)
    if answer.p_load is not None and asked.tight.load is not None:
        moves = "slips" if asked.way == "across" else "opens"
        yield from wrapped(f"It {moves} under {_force(asked.tight.load, units)}: {odds(answer.p_load)}.", 2)
    yield from _instead(answer)


def _title(answer: JointAnswer) -> str:
    asked, clamp = answer.asked, answer.clamp
    number = f"{asked.number} × " if asked.number > 1 else ""
    greased = ", greased" if asked.tight.lubricated else ""
    return (f"{number}{asked.said}, {_class(asked.grade)}, {asked.head} head{greased}, "
            f"through {clamp.plate.name} into {clamp.into.name}")


def _class(grade: str) -> str:
    return grade if grade in ("brass", "A2-70") else f"class {grade}"


def _tighten(answer: JointAnswer) -> str:
    units, tight = answer.shop.units, answer.asked.tight
    best = _torque(answer.best, units)
    if tight.torque is None and tight.by is None:
        return f"Tighten to {best}, by a torque wrench."
    turned = Wide(*answer.turn)
    how = f"Tightened to {_torque(turned.middle, units)}" if tight.by in (None, "wrench") else (
        f"By {_by(tight)} it gets about {_torque(turned.middle, units)}, of nine in ten people between "
        f"{_torque(turned.low, units)} and {_torque(turned.high, units)}")
    more = "more than" if turned.middle > 1.02 * answer.best else "less than" if (
        turned.middle < 0.98 * answer.best) else "just"
    return f"{how}: {more} the {best} that this joint takes by a torque wrench."


def _by(tight: Tight) -> str:
    return {"fingers": "fingers", "thumbscrew": "a thumbscrew's wings", "key": "a key"}.get(str(tight.by), "hand")


def _holds(answer: JointAnswer) -> Iterator[str]:
    asked, units = answer.asked, answer.shop.units
    tried = ", by your load test" if asked.tight.held or asked.tight.slipped else ""
    if answer.kept.middle <= 0.0:
        yield from wrapped("It feels tight, and clamps nothing: the parts slip and open under any load.")
        return
    yield from wrapped(f"It then pulls with {_range(answer.pull, units)}; once the faces have bedded in, with "
                       f"{_range(answer.kept, units)}.")
    across, along = (tried if asked.way == way else "" for way in ("across", "along"))
    yield from wrapped(f"Holds {_force(answer.slips.low, units)} across the screw before the parts slip (19 in 20; "
                       f"half of such joints hold {_force(answer.slips.middle, units)}), faces clean and "
                       f"dry{across}.")
    yield from wrapped(f"Pulled apart along the screw it opens at {_force(answer.opens.low, units)} or more "
                       f"(19 in 20){along}; of a load along it the screw feels {100.0 * answer.clamp.share:.0f} %.")


def _instead(answer: JointAnswer) -> Iterator[str]:
    for number, other in enumerate(answer.instead):
        if number == 0:
            yield ""
            yield "Instead:"
        yield from wrapped(_other(answer, other), 2)


def _other(answer: JointAnswer, other: Other) -> str:
    units = answer.shop.units
    way = "before it slips" if answer.asked.way == "across" else "before it opens"
    wrong = f"; anything goes wrong {odds(other.p)}, not {odds(answer.p)}" if odds(other.p) != odds(answer.p) else ""
    return (f"{sentence(other.text).rstrip('.')}, to {_torque(other.torque, units)}: holds "
            f"{_force(other.holds, units)} {way}, not {_force(answer.holds.low, units)} (19 in 20){wrong}.")


def _screw_json(answer: JointAnswer) -> dict[str, Any]:
    asked, clamp = answer.asked, answer.clamp
    chances = {way.name: _round(way.p, 5) for way in answer.ways}
    if answer.p_load is not None:
        chances["slips" if asked.way == "across" else "opens"] = _round(answer.p_load, 5)
    return {
        "joint": "screw", "screw": asked.said, "thread": clamp.thread.name, "grade": asked.grade, "head": asked.head,
        "into": asked.into.key, "through": asked.through.key, "screws": asked.number,
        "lubricated": asked.tight.lubricated, "engaged_mm": _round(clamp.engaged, 2),
        "clamped_mm": _round(clamp.thick, 2),
        "torque_nm": _round(answer.turn.torque, 3), "best_torque_nm": answer.best,
        "preload_n": _spread(answer.pull), "kept_n": _spread(answer.kept), "slips_at_n": _spread(answer.slips),
        "opens_at_n": _spread(answer.opens), "strips_at_n": _spread(clamp.strips),
        "crushes_at_n": _spread(clamp.crushes), "stretches_at_n": _spread(clamp.stretches),
        "breaks_at_n": _round(clamp.breaks, 0), "gives_first": answer.first.what, "chances": chances,
        "p_load": _round(answer.p_load, 5), "assumed": list(answer.assumed),
        "instead": [{"text": other.text, "torque_nm": _round(other.torque, 3), "holds_n": _round(other.holds, 1),
                     "p": _round(other.p, 5)} for other in answer.instead],
    }


# --- wedges and levers -----------------------------------------------------------------------------


def _press_lines(answer: PressAnswer) -> Iterator[str]:
    asked, units = answer.asked, answer.shop.units
    tight = asked.tight
    if isinstance(asked, LeverAsked):
        what = f"Lever of {tell(asked.arms[0], 'length', units)} to {tell(asked.arms[1], 'length', units)}"
    else:
        what = f"Wedge of {math.degrees(asked.angle):.3g} degrees"
    turned = _torque(answer.turn.torque, units)
    how = f"to {turned}" if tight.by in (None, "wrench") else f"by {_by(tight)}, about {turned}"
    yield from wrapped(f"{what}, {asked.thread.name} tightened {how}{', greased' if tight.lubricated else ''}.")
    yield ""
    yield from wrapped(f"The screw pushes with {_range(answer.screw, units)}.")
    tried = ", by your load test" if tight.held or tight.slipped else ""
    if answer.out.middle > 0.0:
        yield from wrapped(f"It presses with {_force(answer.out.low, units)} or more (19 in 20; half of such with "
                           f"{_force(answer.out.middle, units)}){tried}.")
    else:
        yield "It presses with nothing."
    yield from _way(answer)
    yield ""
    yield from _press_risks(answer)
    for text, torque, holds in answer.instead:
        if holds == answer.out.low:
            yield from wrapped(f"Instead: {text}.", 2)
            continue
        yield from wrapped(f"Instead: {text}, at about {_torque(torque, units)}: "
                           f"{_force(holds, units)} or more, not {_force(answer.out.low, units)}.", 2)


def _way(answer: PressAnswer) -> Iterator[str]:
    units = answer.shop.units
    if answer.efficiency is not None:
        yield from wrapped(f"Of the work at the screw {100.0 * answer.efficiency:.0f} % arrive; the rest rubs.")
    if answer.rise is not None:
        short = ": less than the gap, so that it feels tight and clamps nothing" if answer.short else ""
        yield from wrapped(f"The way of the screw lifts {tell(answer.rise, 'length', units)}{short}.")


def _press_risks(answer: PressAnswer) -> Iterator[str]:
    units, load = answer.shop.units, answer.asked.tight.load
    if answer.p_less is not None and load is not None:
        yield from wrapped(f"It presses less than the {_force(load, units)} wanted: {odds(answer.p_less)}.", 2)
    if answer.p_slides is not None:
        yield from wrapped(f"With the screw slack the wedge slides out by itself: {odds(answer.p_slides)}.", 2)
    if answer.p_bends is not None and answer.bends is not None:
        yield from wrapped(f"The bar stays bent, from about {_force(answer.bends.middle, units)} of the screw on: "
                           f"{odds(answer.p_bends)}.", 2)


def _press_json(answer: PressAnswer) -> dict[str, Any]:
    asked = answer.asked
    chances: Mapping[str, float | None] = {
        "presses_less": answer.p_less, "slides_out": answer.p_slides, "bends": answer.p_bends}
    words = {"presses_less": "it presses less than wanted", "slides_out": "the wedge slides out",
             "bends": "the bar stays bent"}
    likely = [name for name, p in chances.items() if p]
    return {
        "joint": "lever" if isinstance(asked, LeverAsked) else "wedge", "thread": asked.thread.name,
        "lubricated": asked.tight.lubricated, "torque_nm": _round(answer.turn.torque, 3),
        "preload_n": _spread(answer.screw), "presses_n": _spread(answer.out),
        "efficiency": _round(answer.efficiency, 4), "rise_mm": _round(answer.rise, 3), "too_short": answer.short,
        "bends_at_n": None if answer.bends is None else _spread(answer.bends),
        "gives_first": words.get(max(likely, key=lambda name: chances[name] or 0.0, default=""), ""),
        "chances": {name: _round(p, 5) for name, p in chances.items() if p is not None},
        "instead": [{"text": text, "torque_nm": _round(torque, 3), "presses_n": _round(holds, 1)}
                    for text, torque, holds in answer.instead],
    }


# --- numbers ---------------------------------------------------------------------------------------


def _force(newtons: float, units: str) -> str:
    """A force with two figures that count."""
    rough = float(f"{newtons:.2g}")
    return tell(rough, "force", units)


def _torque(torque: float, units: str) -> str:
    """A torque with two figures that count."""
    return tell(float(f"{torque:.2g}"), "torque", units)


def _range(wide: Wide, units: str) -> str:
    return (f"about {_force(wide.middle, units)} (nine in ten between {_force(wide.low, units)} and "
            f"{_force(wide.high, units)})")


def _spread(wide: Wide) -> dict[str, float]:
    return {"low": round(wide.low, 1), "median": round(wide.middle, 1), "high": round(wide.high, 1)}


def _round(number: float | None, digits: int) -> float | None:
    return None if number is None else round(number, digits)
