"""Numbers that a person keys in: speeds in round figures, lengths not below what is needed."""

from __future__ import annotations

import math
from typing import Final

from ..units import parse
from .models import Spindle

#: unit of the shop -> what it is in mm, and the steps from which on a length is set coarsely and finely
STEPS: Final = {"mm": (1.0, 0.05, 0.01), "in": (25.4, 0.005, 0.001)}
COARSE: Final = {"mm": 1.0, "in": 0.05}     #: in that unit: from here on the coarse steps


def round_speed(speed: float, spindle: Spindle | None) -> float:
    """A speed that a person would set: whole hundreds (tens below 1000) a minute, not beyond the spindle's range."""
    turn = parse("1 rpm", "rotation")
    step = 100.0 if speed > 1000.0 * turn else 10.0
    told = math.floor(speed / turn / step + 1e-9) * step * turn
    return told if spindle is None else min(max(told, spindle.slowest), spindle.fastest)


def at_least(length: float, told: float, units: str) -> float:
    """The next length that can be set, where the one that is `told` lies below what is needed [mm]."""
    if told >= length * (1.0 - 1e-9):
        return told
    unit, coarse, fine = STEPS[units]
    step = coarse if length >= COARSE[units] * unit else fine
    return round(told / unit + step, 3) * unit


def round_feed(feed: float, units: str) -> float:
    """A table feed that a person keys in, not above this one [mm/s]: two figures, in the shop's unit a minute."""
    unit = parse(f"1 {units}/min", "table_feed")
    told = feed / unit
    step = 10.0 ** (math.floor(math.log10(told)) - 1) if told > 0.0 else 1.0
    return math.floor(told / step + 1e-9) * step * unit
