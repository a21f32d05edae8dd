"""Text with units at the edges: parsed and printed here, and nowhere else.

Inside, lengths are mm in `part/`, `shop/`, `job/` and `route/`; everything else is coherent SI
(m/s, rad/s, N, N m, W, Pa, rad, s, K). Each quantity below names the unit that it is kept in.
A number without a unit is refused: 12 could be mm or inch, 20 could be m/min or mm/s.
"""

from __future__ import annotations

import math
import re
from functools import cache, lru_cache
from tokenize import TokenError
from typing import TYPE_CHECKING, Final

from .errors import UnitError

if TYPE_CHECKING:
    from pint import UnitRegistry

#: quantity -> (unit that it is kept in, an example that is right)
KEPT_IN: Final[dict[str, tuple[str, str]]] = {
    "length": ("mm", "0.02 mm or 1/8 in"),
    "area": ("mm^2", "120 mm2"),
    "angle": ("rad", "22 deg"),
    "time": ("s", "3 min"),
    "cutting_speed": ("m/s", "18 m/min"),
    "table_feed": ("mm/s", "300 mm/min"),
    "acceleration": ("mm/s^2", "300 mm/s2"),
    "rotation": ("rad/s", "2400 rpm"),
    "frequency": ("rad/s", "400 Hz"),
    "force": ("N", "120 N"),
    "torque": ("N*m", "2 N m"),
    "power": ("W", "350 W"),
    "pressure": ("Pa", "1700 N/mm2 or 210 GPa"),
    "edge_force": ("N/m", "20 N/mm"),
    "stiffness": ("N/m", "2 N/um"),
    "mass": ("kg", "85 kg"),
    "density": ("kg/m^3", "7850 kg/m3"),
    "temperature_difference": ("K", "10 K"),
    "specific_heat": ("J/(kg*K)", "490 J/kg/K"),
    "heat_capacity": ("J/(m^3*K)", "3.6 MJ/m3/K"),
    "conductivity": ("W/(m*K)", "50 W/m/K"),
    "film": ("W/(m^2*K)", "12 W/m2/K"),
    "expansion": ("1/K", "12e-6 /K"),
    "ratio": ("", "0.2 or 20 %"),
}

#: trade words that the library lacks or reads otherwise; pint's own `rpm` and `micron` are right
_WORDS: Final = (
    (re.compile(r"^\s*(?:1\s*/\s*min|/\s*min|min-1|min\^-1)$"), "rpm"),
    (re.compile(r"Hz\b"), "turn/s"),        # the library takes Hz for rad/s
    (re.compile(r"^%$"), "percent"),
    (re.compile(r'^"$'), "in"),
    (re.compile(r"^°$"), "deg"),
    (re.compile(r"µ|μ"), "u"),
    (re.compile(r"\bN\s+m\b|\bNm\b"), "N*m"),
    (re.compile(r"(?<=[a-z])([23])\b"), r"^\1"),
    (re.compile(r"^/"), "1/"),
)
_NUMBER: Final = re.compile(
    r"^\s*(?P<sign>[+-]?)\s*(?:(?:(?P<whole>\d+)[\s-]+)?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)(?![\d.,])|"
    r"(?P<decimal>\d*[.,]?\d+(?:[eE][+-]?\d+)?|\d+[.,]))\s*(?P<unit>(?:1\s*/\s*)?[^\d\s.,].*)?$"
)
#: the units that nearly every text has: read without the library, whose loading takes longer than an answer may.
#: quantity -> {unit: what it is in the unit that the quantity is kept in}; a test holds them to the library
PLAIN: Final[dict[str, dict[str, float]]] = {
    "ratio": {"%": 0.01},
    "length": {"mm": 1.0, "um": 1e-3, "m": 1e3, "in": 25.4},
    "angle": {"deg": math.pi / 180.0},
    "time": {"min": 60.0, "s": 1.0},
    "cutting_speed": {"m/min": 1.0 / 60.0},
    "table_feed": {"mm/min": 1.0 / 60.0, "in/min": 25.4 / 60.0},
    "acceleration": {"mm/s2": 1.0},
    "rotation": {"rpm": math.pi / 30.0},
    "frequency": {"Hz": 2.0 * math.pi},
    "force": {"N": 1.0},
    "torque": {"N m": 1.0},
    "power": {"W": 1.0},
    "pressure": {"N/mm2": 1e6, "GPa": 1e9},
    "edge_force": {"N/mm": 1e3},
    "stiffness": {"N/um": 1e6, "N/mm": 1e3},
    "density": {"kg/m3": 1.0}, "mass": {"kg": 1.0},
    "temperature_difference": {"K": 1.0},
    "heat_capacity": {"MJ/m3/K": 1e6},
    "conductivity": {"W/m/K": 1.0},
    "film": {"W/m2/K": 1.0},
    "expansion": {"/K": 1.0},
}
#: an angle is a pure number to the library: a turn is told from a share of something by its word
_TURNS: Final = re.compile(r"deg|rad|turn|rev|rpm|arc|cycle|gon")
#: letters: a number that is longer is told in powers of ten
_LONG: Final = 9
_TURNING: Final = frozenset({"angle", "rotation", "frequency"})


@cache
def _registry() -> UnitRegistry[float]:
    from pint import UnitRegistry

    registry: UnitRegistry[float] = UnitRegistry(cache_folder=None)
    return registry


def parse(text: str, quantity: str, *, where: str = "") -> float:
    """Read a text with a unit.

    Args:
        text: such as "1/8 in", "0.02 mm", "18 m/min", "2400 rpm"; a comma is read as a point.
        quantity: a key of `KEPT_IN`.
        where: file and key, for the message.

    Returns:
        The value in the unit that this quantity is kept in.

    Raises:
        UnitError: if there is no number, no unit, or a unit of another quantity.
    """
    try:
        return _parse(text, quantity)
    except UnitError as error:
        raise UnitError(error.what, where=where, right=error.right) from None


@lru_cache(maxsize=4096)
def _parse(text: str, quantity: str) -> float:
    right = f"write it like {KEPT_IN[quantity][1]}"
    found = _NUMBER.match(text)
    if not found:
        raise UnitError(f"{text!r} is not a number with a unit", right=right)
    number = _number(found, text, right)
    written = (found["unit"] or "").strip()
    if not written and quantity != "ratio":
        raise UnitError(f"{text!r} has no unit", right=right)
    if not written:
        return number
    plain = PLAIN.get(quantity, {}).get(written)
    value = number * plain if plain is not None else _by_library(text, quantity, number, written)
    if not math.isfinite(value):
        raise UnitError(f"{text!r} is too large a number", right=right)
    return value


def _by_library(text: str, quantity: str, number: float, written: str) -> float:
    """Any other unit, with the library."""
    import pint

    unit, right = KEPT_IN[quantity][0], f"write it like {KEPT_IN[quantity][1]}"
    unknown = written
    for pattern, word in _WORDS:
        written = pattern.sub(word, written)
    if bool(_TURNS.search(written)) != (quantity in _TURNING):
        raise UnitError(f"{text!r} is not a {quantity.replace('_', ' ')}", right=right)
    try:
        return float(_registry().Quantity(number, written).to(unit or "dimensionless").magnitude)
    except pint.DimensionalityError:
        raise UnitError(f"{text!r} is not a {quantity.replace('_', ' ')}", right=right) from None
    except _not_units():
        raise UnitError(f"{text!r}: the unit {unknown!r} is not known", right=right) from None


def _not_units() -> tuple[type[Exception], ...]:
    """What the library raises, in its wisdom, for a text that is no unit."""
    import pint

    return (pint.UndefinedUnitError, TokenError, AssertionError, AttributeError, ValueError, TypeError, KeyError)


def _number(found: re.Match[str], text: str, right: str) -> float:
    if found["top"]:
        if float(found["bottom"]) == 0.0:
            raise UnitError(f"{text!r} divides by nothing", right=right)
        number = float(found["top"]) / float(found["bottom"])
    else:
        number = float(found["decimal"].replace(",", "."))
    number += float(found["whole"] or 0)
    if not math.isfinite(number):
        raise UnitError(f"{text!r} is too large a number", right=right)
    return -number if found["sign"] == "-" else number


#: quantity -> how it is told in metric and in inch: (unit word, factor from kept unit, decimals)
_TOLD: Final[dict[str, dict[str, tuple[str, float, int]]]] = {
    "length": {"mm": ("mm", 1.0, 3), "in": ("in", 1 / 25.4, 4)},
    "angle": {"mm": ("deg", 180 / math.pi, 2), "in": ("deg", 180 / math.pi, 2)},
    "time": {"mm": ("min", 1 / 60, 1), "in": ("min", 1 / 60, 1)},
    "cutting_speed": {"mm": ("m/min", 60.0, 0), "in": ("ft/min", 60 / 0.3048, 0)},
    "table_feed": {"mm": ("mm/min", 60.0, 0), "in": ("in/min", 60 / 25.4, 1)},
    "acceleration": {"mm": ("mm/s2", 1.0, 0), "in": ("in/s2", 1 / 25.4, 1)},
    "rotation": {"mm": ("rpm", 30 / math.pi, 0), "in": ("rpm", 30 / math.pi, 0)},
    "frequency": {"mm": ("Hz", 0.5 / math.pi, 0), "in": ("Hz", 0.5 / math.pi, 0)},
    "force": {"mm": ("N", 1.0, 0), "in": ("lbf", 1 / 4.4482216152605, 0)},
    "torque": {"mm": ("N m", 1.0, 2), "in": ("lbf in", 8.850745791327185, 1)},
    "power": {"mm": ("W", 1.0, 0), "in": ("W", 1.0, 0)},
    "pressure": {"mm": ("N/mm2", 1e-6, 0), "in": ("N/mm2", 1e-6, 0)},
    "stiffness": {"mm": ("N/um", 1e-6, 2), "in": ("N/um", 1e-6, 2)},
    "mass": {"mm": ("kg", 1.0, 1), "in": ("lb", 1 / 0.45359237, 1)},
    "temperature_difference": {"mm": ("K", 1.0, 0), "in": ("K", 1.0, 0)},
    "heat_capacity": {"mm": ("MJ/m3/K", 1e-6, 2), "in": ("MJ/m3/K", 1e-6, 2)},
    "conductivity": {"mm": ("W/m/K", 1.0, 2), "in": ("W/m/K", 1.0, 2)},
    "film": {"mm": ("W/m2/K", 1.0, 0), "in": ("W/m2/K", 1.0, 0)},
    "expansion": {"mm": ("um/m/K", 1e6, 1), "in": ("um/m/K", 1e6, 1)},
    "ratio": {"mm": ("", 1.0, 3), "in": ("", 1.0, 3)},
}


def tell(value: float, quantity: str, system: str = "mm", decimals: int | None = None) -> str:
    """Print a value for people, with its unit; trailing zeros dropped.

    Args:
        value: in the unit that the quantity is kept in.
        quantity: a key of `KEPT_IN` that people are told.
        system: "mm" or "in".
        decimals: digits after the point; by default what the quantity deserves.

    Returns:
        Such as "0.02 mm", "2400 rpm".
    """
    word, factor, digits = _TOLD[quantity][system]
    text = f"{value * factor:.{digits if decimals is None else decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} {word}".strip()


def tell_rounded(value: float, quantity: str, system: str = "mm", figures: int = 2) -> str:
    """Print a value that is known roughly, with so many figures that count.

    Args:
        value: in the unit that the quantity is kept in.
        quantity: a key of `KEPT_IN` that people are told.
        system: "mm" or "in".
        figures: how many count.

    Returns:
        Such as "0.35 mm", "0.014 in", "640 Hz".
    """
    size = abs(value * _TOLD[quantity][system][1])
    if size == 0.0:
        return tell(value, quantity, system)
    after = figures - 1 - math.floor(math.log10(size))
    rounded = round(value * _TOLD[quantity][system][1], after) / _TOLD[quantity][system][1]
    return tell(rounded, quantity, system, max(0, after))


def tell_any(value: float, quantity: str, system: str = "mm") -> str:
    """Print a value that a person gave, however small or large, to tell them that it can't be.

    Args:
        value: in the unit that the quantity is kept in.
        quantity: a key of `KEPT_IN` that people are told.
        system: "mm" or "in".

    Returns:
        Such as "-1 mm", "1e-30 mm"; "that" of what is no number.
    """
    if not math.isfinite(value):
        return "that"
    number, _, unit = tell_rounded(value, quantity, system, 4).partition(" ")
    return f"{number if len(number) < _LONG else f'{float(number):.3g}'} {unit}"
