"""What a test of a machine changed, a sentence for each figure."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Final

import numpy as np

from ..belief import Belief, Key, LogNormal, Rows
from ..checks.si import millimetres
from ..shop.models import Shop
from ..units import tell
from .mill_answers import Answers, mirrored
from .words import known_by, name_of, quantities, quantity_of, tell_figure

#: a figure is told when so much of its spread went, or it moved by so many of its spreads
NARROWED: Final = 0.1
MOVED: Final = 0.25
#: a spread of the logarithm up to which it is told in per cent
PER_CENT: Final = 0.4
#: a drift of so many uncertainties is no reading error: steps are lost
DRIFT: Final = 4.0


def figure_lines(keys: Iterable[Key], book: Belief, after: Belief, shop: Shop) -> list[str]:
    """Sentences on these figures, by the book and now; those that hardly changed are left out."""
    heads = [key for key in dict.fromkeys(keys) if not key[0].startswith("class:") and key in after.moved]
    told = [line for key in heads if (line := _line(key, book, after, shop))]
    return told or ["that changed no figure worth telling: it agrees with what was known, and is no finer"]


def _line(key: Key, book: Belief, after: Belief, shop: Shop) -> str:
    before, now = book.value(*key), after.value(*key)
    positive = isinstance(book.columns[key].transform, LogNormal)
    if positive:
        before, now = np.log(before), np.log(now)
    moved = abs(float(np.median(now) - np.median(before))) / float(before.std())
    if 1.0 - float(now.std() / before.std()) < NARROWED and moved < MOVED:
        return ""
    quantity = quantity_of(key, quantities(shop))
    was, is_now = (tell_figure(_middle(rows, positive), quantity, shop) for rows in (before, now))
    was = f"{known_by(key, book)} {was} ({_spread(before, positive, quantity, shop)})"
    return (f"{name_of(key, shop)}: {is_now}, {was}; "
            f"now known to {_spread(now, positive, quantity, shop)}")


def _middle(rows: Rows, positive: bool) -> float:
    """Of a figure that may be nothing no more digits than its spread has."""
    middle, sd = float(np.median(rows)), float(rows.std())
    if positive:
        return float(np.exp(middle))
    return round(middle, 1 - math.floor(math.log10(sd))) if sd > 0.0 else middle


def _spread(rows: Rows, positive: bool, quantity: str, shop: Shop) -> str:
    """One standard deviation as people say it."""
    sd = float(rows.std())
    if not positive:
        return f"± {tell_figure(float(f'{sd:.2g}'), quantity, shop)}"
    return f"{sd:.0%}".replace("%", " %") if sd < PER_CENT else f"a factor of {np.exp(sd):.1f}"


def seen_lines(found: Answers) -> list[str]:
    """What the readings of one test tell by themselves, without any belief."""
    say = _SEEN.get(found.test.name)
    return [] if say is None else say(found)


def _length(found: Answers, metres: float) -> str:
    return tell(float(millimetres(metres)), "length", found.shop.units)


def _other_side(found: Answers) -> list[str]:
    return ["the indicator stood on the other side: its signs were turned"] if mirrored(found) else []


def _steps(found: Answers) -> list[str]:
    readings = found.numbers("readings")
    drift = readings[-1] - found.number("start")
    if abs(drift) > DRIFT * found.uncertainty():
        return [f"it came back {_length(found, abs(drift))} off: steps are lost. Set rapids slower, look at "
                "couplings and gibs, and do the test again before anything is cut"]
    return ["no step was lost that the indicator shows", *_all_alike(found)]


def _all_alike(found: Answers) -> list[str]:
    alike = len(set(found.numbers("readings"))) == 1
    return ["all readings are the same: is the indicator free, and fine enough?"] if alike else []


def _sizes(found: Answers) -> list[str]:
    off = (found.number("x") + found.number("y")) / 2.0 - found.number("nominal")
    apart = found.number("x") - found.number("y")
    way = "large" if off > 0.0 else "small"
    said = [f"the square is {_length(found, abs(off))} too {way}: cutter, push-off and scale together, both walls"]
    if abs(apart) > DRIFT * found.uncertainty("sized_with"):
        said.append(f"X and Y differ by {_length(found, abs(apart))}: their scales do, or a wall was pushed off more")
    return said


def _leans(found: Answers) -> list[str]:
    swing = found.number("swing")
    tilts = {"left to right": found.number("right") - found.number("left"),
             "front to back": found.number("back") - found.number("front")}
    return [f"over {_length(found, swing)} the table {'falls' if off < 0.0 else 'rises'} "
            f"{_length(found, abs(off))} {way}" for way, off in tilts.items()]


_SEEN: Final[dict[str, Callable[[Answers], list[str]]]] = {
    "pull": _other_side, "returns": _steps, "touch_off": _all_alike, "square": _sizes, "circle": _leans,
}
