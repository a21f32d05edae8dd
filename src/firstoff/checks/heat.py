"""The edge gets so hot that its material gives way: the chip's heat against what the tool bears."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from ..belief import Belief, Rows, low_median_high
from ..cutting.heat import COLOURS, Temperatures, chip_colour, colour_chance
from ._chance import OPERATION_SCATTER, weighed
from ._forces import is_milling
from ._heat import SHOP_KELVIN, celsius, celsius_known, hot, untold
from ._knobs import COOLANT, HARDER_TOOL, SPEED_DOWN
from ._past import past_of
from .base import Case, Check, Finding, Observation, cannot
from .si import value

NAME = "heat"
#: What people call a colour -> the colours of the table that they mean.
CALLED: Final[Mapping[str, tuple[str, ...]]] = {
    "bright": ("bright",), "straw": ("pale yellow", "straw"), "brown": ("brown",), "purple": ("purple",),
    "blue": ("dark blue", "light blue"), "grey": ("grey",),
}
#: How far the heat of a chip of some colour lies from the table's, one standard deviation; judged: it is hot for less
#: than a second, which takes some tens of degrees more [K].
COLOUR_READ: Final = 40.0


def _applies(case: Case) -> bool:
    return is_milling(case) and past_of(case).mills and case.material.group not in ("plastic", "wood")


def _evaluate(case: Case, belief: Belief) -> Finding:
    lacks = untold(case, belief)
    if lacks:
        return cannot(NAME, case, "tool", *lacks)
    found = hot(past_of(case), belief)
    bears = value(belief, f"tool_material:{case.tool.material}", "hot_limit")
    return weighed(NAME, case, "tool", found.interface_rise, bears, OPERATION_SCATTER["force"], unit="K",
                   because=_because(case, found, bears) if belief.words else "",
                   settle_by="a minute of it in scrap: look at the chips and at the edge")


def _because(case: Case, found: Temperatures, bears: Rows) -> str:
    seen = _colour(case, found.chip_rise)
    return (f"the edge comes to about {celsius_known(found.interface_rise)} where the chip slides over it; "
            f"its material gives way at about {celsius(bears)}{f'; chips come off {seen}' if seen else ''}")


def chips_come_off(case: Case, belief: Belief) -> str:
    """The colour of the chips of a plain steel, dry, and between which it lies 90 times in 100; empty of others."""
    told = _applies(case) and untold(case, belief) is None
    return _colour(case, hot(past_of(case), belief).chip_rise) if told else ""


def _colour(case: Case, chip: np.typing.NDArray[np.float64]) -> str:
    if not _colours(case):
        return ""
    low, word, high = (COLOURS[int(chip_colour(rise + SHOP_KELVIN))][0] for rise in low_median_high(chip))
    if (low, high) == (COLOURS[0][0], COLOURS[-1][0]):
        return f"{word}, though any colour is left open"
    return word if low == high else f"{word}, anywhere from {low} to {high}"


def _colours(case: Case) -> bool:
    """Whether chips take on the colours of the table: plain steel, dry."""
    return case.material.group == "P" and case.op.cut.coolant in ("dry", "air")


def _loglik(case: Case, belief: Belief, seen: Observation) -> Rows | None:
    """Log likelihood by row of the colour of the chips; None where it tells nothing."""
    if (seen.kind != "colour" or seen.word not in CALLED or not _applies(case) or not _colours(case)
            or untold(case, belief)):
        return None
    heat = hot(past_of(case), belief).chip_rise + SHOP_KELVIN
    chance = np.sum([colour_chance(heat, colour, COLOUR_READ) for colour in CALLED[seen.word]], axis=0)
    return np.asarray(np.log(np.maximum(chance, 1e-300)), dtype=np.float64)


CHECK = Check(NAME, "edge gets too hot", "tool", "operation", _applies, _evaluate,
              knobs=(SPEED_DOWN, COOLANT, HARDER_TOOL), loglik=_loglik)
