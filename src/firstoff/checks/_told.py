"""Lengths in words, as finely as they are worth: in inches a place more, so that nobody reads nothing."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Rows
from ..medians import median
from ..units import tell, tell_rounded
from ._chance import figure
from .si import micrometres, millimetres

#: [um] of a millionth of an inch, by which inch drawings say roughness
MICROINCH: Final = 0.0254


def coarse(size: float, units: str) -> str:
    """What a rule reads: to a tenth of a mm, a few thousandths of an inch [mm]."""
    return tell(size, "length", units, 1 if units == "mm" else 3)


def whole(size: float, units: str) -> str:
    """What the eye tells: to a mm, a hundredth of an inch [mm]."""
    return tell(size, "length", units, 0 if units == "mm" else 2)


def middling(size: float, units: str) -> str:
    """What a caliper reads: to a hundredth of a mm, a tenth of a thousandth of an inch [mm]."""
    return tell(size, "length", units, 2 if units == "mm" else 4)


def fine(size: float, units: str) -> str:
    """What an indicator reads: to a thousandth of a mm, a tenth of a thousandth of an inch [mm]."""
    return tell(size, "length", units, 3 if units == "mm" else 4)


def tiny(rows: Rows | float, units: str) -> str:
    """The middle of what no instrument of a small shop reads, with two figures: in um, or in inches [m]."""
    size = median(np.asarray(rows, dtype=np.float64).ravel())
    return tell_rounded(millimetres(size), "length", "in") if units == "in" else f"{_um(size)} um"


def roughness(rows: Rows | float, units: str) -> str:
    """The middle of a roughness with two figures: in um, or in millionths of an inch [m]."""
    size = median(np.asarray(rows, dtype=np.float64).ravel())
    if units == "in":
        return f"{figure(float(micrometres(np.asarray(size))) / MICROINCH)} uin"
    return f"{_um(size)} um"


def _um(size: float) -> str:
    return figure(float(micrometres(np.asarray(size))))
