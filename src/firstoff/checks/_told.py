"""Lengths in words, as finely as they are worth: in inches a place more, so that nobody reads nothing."""

from __future__ import annotations

from ..units import tell


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
