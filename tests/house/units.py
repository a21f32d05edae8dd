"""Units as the docstrings of physics write them, read into powers of length, mass, time, temperature.

Products stand with a space, powers as a digit: [N/m2], [N m], [1/s], [W/(m K)], [1]. Coherent SI only:
a mm, a minute or a degree is not known here.
"""

from __future__ import annotations

import re
from typing import NamedTuple


class UnitUnknown(ValueError):
    """A text in brackets is no coherent SI unit of the form above."""


class Dimensions(NamedTuple):
    """Powers of length, mass, time, temperature."""

    length: float = 0
    mass: float = 0
    time: float = 0
    temperature: float = 0

    def times(self, other: Dimensions, power: float = 1) -> Dimensions:
        """This times the other to a power."""
        return Dimensions(*(a + power * b for a, b in zip(self, other, strict=True)))


_BASE = {
    "1": Dimensions(), "rad": Dimensions(), "m": Dimensions(length=1), "kg": Dimensions(mass=1),
    "s": Dimensions(time=1), "K": Dimensions(temperature=1), "Hz": Dimensions(time=-1),
    "N": Dimensions(1, 1, -2), "Pa": Dimensions(-1, 1, -2), "J": Dimensions(2, 1, -2),
    "W": Dimensions(2, 1, -3),
}
_FACTOR = re.compile(r"(1|[A-Za-z]+)(-?\d+(?:\.\d+)?)?$")


def dimensions(text: str) -> Dimensions:
    """Dimensions of a unit; after a slash stands one factor, or several in parentheses."""
    total = Dimensions()
    for number, part in enumerate(text.split("/")):
        inner = part.strip().removeprefix("(").removesuffix(")") if number else part.strip()
        factors = inner.split()
        if not factors or (number and len(factors) > 1 and not part.strip().startswith("(")):
            raise UnitUnknown(f"[{text}]: after a slash stands one factor, or several in parentheses")
        for factor in factors:
            total = total.times(_factor(factor, text), -1 if number else 1)
    return total




def _factor(factor: str, text: str) -> Dimensions:
    found = _FACTOR.match(factor)
    if found is None or found[1] not in _BASE:
        raise UnitUnknown(f"[{text}]: {factor!r} is not one of {', '.join(_BASE)}")
    return Dimensions().times(_BASE[found[1]], float(found[2] or 1))
