"""The edge gets so hot that its material gives way: the chip's heat against what the tool bears."""

from __future__ import annotations

import numpy as np

from ..belief import Belief
from ..cutting.heat import COLOURS, chip_colour
from ._chance import OPERATION_SCATTER, weighed
from ._forces import is_milling
from ._heat import SHOP_KELVIN, celsius, hot
from ._knobs import COOLANT, SPEED_DOWN
from ._past import past_of
from .base import Case, Check, Finding
from .si import value

NAME = "heat"


def _applies(case: Case) -> bool:
    return is_milling(case) and past_of(case).mills and case.material.group not in ("plastic", "wood")


def _evaluate(case: Case, belief: Belief) -> Finding:
    found = hot(past_of(case), belief)
    bears = value(belief, f"tool_material:{case.tool.material}", "hot_limit")
    seen = _colour(case, found.chip_rise)
    because = (f"the edge comes to about {celsius(found.interface_rise)} C where the chip slides over it; "
               f"its material gives way at about {celsius(bears)}{f'; chips come off {seen}' if seen else ''}")
    return weighed(NAME, case, "tool", found.interface_rise, bears, OPERATION_SCATTER["force"], unit="K",
                   because=because, settle_by="a minute of it in scrap: look at the chips and at the edge")


def chips_come_off(case: Case, belief: Belief) -> str:
    """The colour of the chips of a plain steel, dry; empty of others."""
    return _colour(case, hot(past_of(case), belief).chip_rise) if _applies(case) else ""


def _colour(case: Case, chip: np.typing.NDArray[np.float64]) -> str:
    if case.material.group != "P" or case.op.cut.coolant not in ("dry", "air"):
        return ""
    word, _ = COLOURS[int(chip_colour(float(np.median(chip)) + SHOP_KELVIN))]
    return word


CHECK = Check(NAME, "edge gets too hot", "tool", "operation", _applies, _evaluate, knobs=(SPEED_DOWN, COOLANT))
