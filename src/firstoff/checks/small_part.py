"""A part that is too short for a hand to stay clear of the drill goes into a vise or clamp."""

from __future__ import annotations

from typing import Final

from ..units import tell
from .base import Case, Rule

#: a hand's width from the drill [mm]; judged
HAND: Final = 80.0


def _longest(case: Case) -> float:
    return max(high - low for low, high in zip(case.part.low, case.part.high, strict=True))


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.machine_kind != "hand"
            and case.shop.devices[case.setting.holding.device].kind == "hand")


def _because(case: Case) -> str:
    units = case.job.units
    size, least = tell(_longest(case), "length", units), tell(HAND, "length", units)
    if _longest(case) < HAND:
        return f"a part of {size} leaves less than a hand's width to the drill: hold it in a vise or clamp"
    return f"at {size} it is longer than {least}: the hand stays clear of the drill"


RULE = Rule("fingers clear of the drill", _applies, lambda case: _longest(case) >= HAND, _because)
