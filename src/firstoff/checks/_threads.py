"""Threads by name: metric coarse and fine, unified coarse and fine; tap drills, clearance holes, heads."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from typing import Final, Literal

from ..cutting.thread import COARSE, Coarse
from ..cutting.thread_limits import metric_limits, unified_limits
from ..errors import NameUnknown
from .si import INCH, MM, metres, millimetres

#: Tap drills [mm] of coarse threads beyond the table of limits, and of fine ones: pitch, drill (iso2306).
MORE_COARSE: Final[Mapping[str, tuple[float, float]]] = {
    "M1.6": (0.35, 1.25), "M14": (2.0, 12.0), "M16": (2.0, 14.0), "M20": (2.5, 17.5),
}
FINE: Final[Mapping[str, tuple[float, float]]] = {
    "M3x0.35": (0.35, 2.65), "M4x0.5": (0.5, 3.5), "M5x0.5": (0.5, 4.5), "M6x0.75": (0.75, 5.25), "M8x1": (1.0, 7.0),
    "M8x0.75": (0.75, 7.25), "M10x1.25": (1.25, 8.75), "M10x1": (1.0, 9.0), "M12x1.5": (1.5, 10.5),
    "M12x1.25": (1.25, 10.75), "M12x1": (1.0, 11.0), "M14x1.5": (1.5, 12.5), "M16x1.5": (1.5, 14.5),
}
#: Unified threads: nominal [in], threads an inch, name and size [in] of the tap drill (machinery).
UNIFIED: Final[Mapping[str, tuple[float, int, str, float]]] = {
    "#2-56": (0.086, 56, "No. 50", 0.0700), "#4-40": (0.112, 40, "No. 43", 0.0890),
    "#6-32": (0.138, 32, "No. 36", 0.1065), "#8-32": (0.164, 32, "No. 29", 0.1360),
    "#10-24": (0.190, 24, "No. 25", 0.1495), "#10-32": (0.190, 32, "No. 21", 0.1590),
    "1/4-20": (0.250, 20, "No. 7", 0.2010), "1/4-28": (0.250, 28, "No. 3", 0.2130),
    "5/16-18": (0.3125, 18, "F", 0.2570), "5/16-24": (0.3125, 24, "I", 0.2720),
    "3/8-16": (0.375, 16, "5/16", 0.3125), "3/8-24": (0.375, 24, "Q", 0.3320),
    "7/16-14": (0.4375, 14, "U", 0.3680), "7/16-20": (0.4375, 20, "25/64", 0.3906),
    "1/2-13": (0.500, 13, "27/64", 0.4219), "1/2-20": (0.500, 20, "29/64", 0.4531),
}
#: Clearance holes for screws [mm], close and medium (iso273).
CLEARANCE: Final[Mapping[str, tuple[float, float]]] = {
    "M1.6": (1.7, 1.8), "M2": (2.2, 2.4), "M2.5": (2.7, 2.9), "M3": (3.2, 3.4), "M4": (4.3, 4.5), "M5": (5.3, 5.5),
    "M6": (6.4, 6.6), "M8": (8.4, 9.0), "M10": (10.5, 11.0), "M12": (13.0, 13.5), "M14": (15.0, 15.5),
    "M16": (17.0, 17.5), "M20": (21.0, 22.0),
}
#: The same for unified screws [in], close and free (machinery).
CLEARANCE_INCH: Final[Mapping[str, tuple[float, float]]] = {
    "#2": (0.0890, 0.0960), "#4": (0.1160, 0.1285), "#6": (0.1440, 0.1495), "#8": (0.1695, 0.1770),
    "#10": (0.1960, 0.2010), "1/4": (0.2570, 0.2660), "5/16": (0.3230, 0.3320), "3/8": (0.3860, 0.3970),
    "7/16": (0.4531, 0.4688), "1/2": (0.5156, 0.5312),
}
_METRIC: Final = re.compile(r"^M\s*(\d+(?:[.,]\d+)?)(?:\s*[x×*]\s*(\d+(?:[.,]\d+)?))?$", re.IGNORECASE)
_UNIFIED: Final = re.compile(r"^(?:#|No\.?\s*)?(\d+/\d+|\d+)\s*-\s*(\d+)(?:\s*UN[CF]?)?$", re.IGNORECASE)


@dataclass(frozen=True)
class Thread:
    """A thread by its name, with its limits in SI and its tap drill as people call it."""

    name: str
    system: Literal["mm", "in"]
    sizes: Coarse
    drill_name: str = ""

    @property
    def nominal(self) -> float:
        """Nominal diameter [mm]."""
        return millimetres(self.sizes.nominal)

    @property
    def pitch(self) -> float:
        """Pitch [mm]."""
        return millimetres(self.sizes.pitch)

    @property
    def tap_drill(self) -> float:
        """Tap drill of the standard [mm]."""
        return round(millimetres(self.sizes.tap_drill), 3)

    @property
    def clearance(self) -> tuple[float, float] | None:
        """Close and medium (free) hole for a screw of it [mm]; None where the table has none."""
        inch = CLEARANCE_INCH.get(self.name.partition("-")[0])
        return (round(millimetres(inch[0] * INCH), 2), round(millimetres(inch[1] * INCH), 2)) if inch else (
            CLEARANCE.get(self.name.partition("x")[0]))


def looks_like_thread(text: str) -> bool:
    """Whether a text is written as a thread is: "M5", "M8x1", "1/4-20", "#10-32 UNF"."""
    return bool(_METRIC.match(text.strip()) or _UNIFIED.match(text.strip()))


def thread_named(text: str, where: str = "") -> Thread:
    """The thread that a text means.

    Args:
        text: such as M5, M8x1, 1/4-20 or #10-32.
        where: it was said, for the message.

    Raises:
        NameUnknown: with what is near, if it is none that is known.
    """
    words = text.strip()
    metric, unified = _METRIC.match(words), _UNIFIED.match(words)
    name = _metric_name(metric) if metric else _unified_name(unified) if unified else words
    if name not in names():
        near = get_close_matches(name, names(), n=3, cutoff=0.5)
        right = f"did you mean {' or '.join(near)}?" if near else "like M5, M8x1, 1/4-20 or #10-32"
        raise NameUnknown(f"no thread {text!r} is known here", where=where, right=right)
    return _made(name)


@cache
def names() -> tuple[str, ...]:
    """All threads, by name."""
    return (*COARSE, *MORE_COARSE, *FINE, *UNIFIED)


def _metric_name(found: re.Match[str]) -> str:
    size = f"M{float(found[1].replace(',', '.')):g}"
    pitch = float(found[2].replace(",", ".")) if found[2] else None
    if pitch is None or (size in COARSE and abs(millimetres(COARSE[size].pitch) - pitch) < 1e-9):
        return size
    if size in MORE_COARSE and MORE_COARSE[size][0] == pitch:
        return size
    return f"{size}x{pitch:g}"


def _unified_name(found: re.Match[str]) -> str:
    return f"{found[1]}-{found[2]}" if "/" in found[1] else f"#{found[1]}-{found[2]}"


@cache
def _made(name: str) -> Thread:
    if name in COARSE:
        return Thread(name, "mm", COARSE[name])
    if name in UNIFIED:
        size, turns, drill, wide = UNIFIED[name]
        return Thread(name, "in", unified_limits(size * INCH, INCH / turns, INCH, wide * INCH), drill)
    pitch, drilled = MORE_COARSE.get(name) or FINE[name]
    nominal = metres(float(name.partition("x")[0][1:]))
    return Thread(name, "mm", metric_limits(nominal, metres(pitch), MM, metres(drilled)))


def fraction_of(inches: float) -> str:
    """A size in inches as the fraction that is on a drill, to a 64th; "" where it is none."""
    found = Fraction(inches).limit_denominator(64)
    near = abs(float(found) - inches) < 1e-4 and found.denominator in (2, 4, 8, 16, 32, 64)
    return f"{found.numerator}/{found.denominator}" if near and found.numerator < found.denominator else ""
