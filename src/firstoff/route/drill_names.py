"""Drills by what stands on them: fractions of an inch, numbers and letters, and sizes in mm."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Final

from ..checks._threads import fraction_of
from ..checks.si import INCH, millimetres
from ..units import tell

#: Diameters of drills No. 1 to No. 60 [in] (machinery).
NUMBERS: Final[tuple[float, ...]] = (
    0.2280, 0.2210, 0.2130, 0.2090, 0.2055, 0.2040, 0.2010, 0.1990, 0.1960, 0.1935, 0.1910, 0.1890, 0.1850, 0.1820,
    0.1800, 0.1770, 0.1730, 0.1695, 0.1660, 0.1610, 0.1590, 0.1570, 0.1540, 0.1520, 0.1495, 0.1470, 0.1440, 0.1405,
    0.1360, 0.1285, 0.1200, 0.1160, 0.1130, 0.1110, 0.1100, 0.1065, 0.1040, 0.1015, 0.0995, 0.0980, 0.0960, 0.0935,
    0.0890, 0.0860, 0.0820, 0.0810, 0.0785, 0.0760, 0.0730, 0.0700, 0.0670, 0.0635, 0.0595, 0.0550, 0.0520, 0.0465,
    0.0430, 0.0420, 0.0410, 0.0400,
)
#: Diameters of drills A to Z [in] (machinery).
LETTERS: Final[tuple[float, ...]] = (
    0.234, 0.238, 0.242, 0.246, 0.250, 0.257, 0.261, 0.266, 0.272, 0.277, 0.281, 0.290, 0.295, 0.302, 0.316, 0.323,
    0.332, 0.339, 0.348, 0.358, 0.368, 0.377, 0.386, 0.397, 0.404, 0.413,
)
ALIKE: Final = 0.0004            #: [in] within which two drills are one: half the step between two of a list
_NUMBER: Final = re.compile(r"^(?:drill\s*)?(?:#|no\.?\s*|number\s+)(\d+)$", re.IGNORECASE)
_LETTER: Final = re.compile(r"^(?:drill\s+|letter\s+)?([A-Z])$")


@cache
def named() -> Mapping[str, float]:
    """Numbers and letters with their diameters [mm]."""
    numbers = {f"No. {i}": size for i, size in enumerate(NUMBERS, start=1)}
    letters = {chr(ord("A") + i): size for i, size in enumerate(LETTERS)}
    return {name: round(millimetres(size * INCH), 3) for name, size in (numbers | letters).items()}


def size_named(text: str) -> float | None:
    """Diameter of the drill that a number or letter names [mm]: "#7", "No. 7", "F"; None where none does."""
    words = text.strip()
    number, letter = _NUMBER.match(words), _LETTER.match(words)
    return named().get(f"No. {int(number[1])}" if number else letter[1] if letter else "")


@cache
def inch_drills() -> tuple[float, ...]:
    """All that a drawer of inch drills holds: by 64ths to half an inch, numbers and letters [mm]."""
    return tuple(sorted({round(millimetres(i / 64.0 * INCH), 3) for i in range(3, 33)} | set(named().values())))


def in_mm(diameter: float) -> str:
    """A diameter [mm] as people with mm tell it; one that no drill by mm has with its name: "5.105 mm (No. 7)"."""
    told = tell(diameter, "length", "mm")
    if abs(20.0 * diameter - round(20.0 * diameter)) < 1e-6:
        return told
    sold = as_sold(diameter)
    if "(" in sold:
        return f"{told} {sold[sold.index('('):]}"
    return f"{told} ({sold})" if "/" in sold else told


def as_sold(diameter: float) -> str:
    """A diameter [mm] as it stands on the drill in a shop of inches: "1/4 in", "0.201 in (No. 7)", "4.5 mm"."""
    inches = diameter / millimetres(INCH)
    fraction = fraction_of(inches)
    if fraction:
        return f"{fraction} in"
    told = tell(diameter, "length", "in", 4)
    name = min(named(), key=lambda one: abs(named()[one] - diameter))
    if abs(named()[name] - diameter) <= millimetres(ALIKE * INCH):
        return f"{told} ({name})"
    metric = abs(diameter - round(diameter, 1)) < 1e-6
    return f"{told} ({tell(diameter, 'length', 'mm')})" if metric else told
