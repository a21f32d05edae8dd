"""Limits and fits of ISO 286: standard tolerances IT5 to IT14, holes H, shafts f g h k p, up to 500 mm."""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np

from firstoff.errors import OutOfRange

MILLIMETRE, MICROMETRE = 1.0 / 1000, 1.0 / 1000000  # the standard's tables are printed in these

_BANDS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)  # upper ends, included [mm]

# iso286, part 1, table 1 [um]; grades 12 to 14 are printed there in mm.
_GRADES: dict[int, tuple[int, ...]] = {
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97),
    9: (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155),
    10: (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250),
    11: (60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400),
    12: (100, 120, 150, 180, 210, 250, 300, 350, 400, 460, 520, 570, 630),
    13: (140, 180, 220, 270, 330, 390, 460, 540, 630, 720, 810, 890, 970),
    14: (250, 300, 360, 430, 520, 620, 740, 870, 1000, 1150, 1300, 1400, 1550),
}

# iso286, part 1, tables of fundamental deviations of shafts [um]: f, g, h the upper, k and p the lower one.
_SHAFTS: dict[str, tuple[int, ...]] = {
    "f": (-6, -10, -13, -16, -20, -25, -30, -36, -43, -50, -56, -62, -68),
    "g": (-2, -4, -5, -6, -7, -9, -10, -12, -14, -15, -17, -18, -20),
    "h": (0,) * 13,
    "k": (0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5),
    "p": (6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68),
}
_FINEST_K_ONLY = 7  # from grade 8 on the lower deviation of k is nil
_CODE = re.compile(r"^([A-Za-z]+)(\d{1,2})$")


class Limits(NamedTuple):
    """Limits of size from a nominal size and a tolerance class.

    Fields:
        lower: lower deviation from nominal [m].
        upper: upper deviation from nominal [m].
    """

    lower: float
    upper: float


class Fit(NamedTuple):
    """What a shaft may do in its hole.

    Fields:
        least: least clearance [m], negative for interference.
        most: greatest clearance [m], negative for interference.
    """

    least: float
    most: float


def limits_of(code: str, size: float) -> Limits:
    """Deviations of a tolerance class such as H7 or g6 at a nominal size.

    Args:
        code: tolerance class, a capital letter for holes.
        size: nominal size [m].

    Returns:
        Lower and upper deviation from nominal.

    Raises:
        OutOfRange: for what the tables here don't hold, with what they do hold.

    Range: H, f, g, h, k, p; grades IT5 to IT14; up to 500 mm.
    Source: iso286, part 1, table 1 and the tables of fundamental deviations.
    """
    letter, grade = _parts(code)
    width = _standard_tolerance(grade, size)
    if letter == "H":
        return Limits(0.0, width)
    deviation = _SHAFTS[letter][_band(size)] * MICROMETRE
    if letter in "kp":
        lower = 0.0 if letter == "k" and grade > _FINEST_K_ONLY else deviation
        return Limits(lower, lower + width)
    return Limits(deviation - width, deviation)


def clearance(hole_lower: float, hole_upper: float, shaft_lower: float, shaft_upper: float) -> Fit:
    """Least and greatest clearance of a shaft in a hole.

    Args:
        hole_lower: smallest hole, or its deviation [m].
        hole_upper: largest hole, or its deviation [m].
        shaft_lower: smallest shaft, or its deviation [m].
        shaft_upper: largest shaft, or its deviation [m].

    Returns:
        Least and greatest clearance, negative for interference.

    Raises:
        OutOfRange: if limits are crossed or not finite.

    Range: all.
    Source: own, the definition of clearance.
    """
    for name, low, high in (("hole", hole_lower, hole_upper), ("shaft", shaft_lower, shaft_upper)):
        if not (np.isfinite(low) and np.isfinite(high) and low <= high):
            raise OutOfRange(f"{name} from {low:g} to {high:g} m", right="the smaller limit first")
    return Fit(hole_lower - shaft_upper, hole_upper - shaft_lower)


def fit_of(hole: str, shaft: str, size: float) -> Fit:
    """Least and greatest clearance of a fit such as H7/g6 at a nominal size.

    Args:
        hole: tolerance class of the hole.
        shaft: tolerance class of the shaft.
        size: nominal size [m].

    Returns:
        Least and greatest clearance, negative for interference.

    Raises:
        OutOfRange: for what the tables here don't hold, or two holes, or two shafts.

    Range: as limits_of.
    Source: iso286, part 1.
    """
    if not hole[:1].isupper() or not shaft[:1].islower():
        raise OutOfRange(f"fit {hole}/{shaft}", right="the hole (capital letter) first, then the shaft")
    return clearance(*limits_of(hole, size), *limits_of(shaft, size))


def _standard_tolerance(grade: int, size: float) -> float:
    """Width of the tolerance of a grade [m]; IT14 does not exist up to 1 mm in the standard."""
    if grade not in _GRADES:
        raise OutOfRange(f"grade IT{grade} is not in the table here", right="IT5 to IT14")
    if grade >= 14 and size <= MILLIMETRE:
        raise OutOfRange(f"IT{grade} at {size / MILLIMETRE:g} mm", right="IT14 only above 1 mm")
    return _GRADES[grade][_band(size)] * MICROMETRE


def _parts(code: str) -> tuple[str, int]:
    found = _CODE.match(code.strip())
    held = f"H, {', '.join(_SHAFTS)} with grades 5 to 14, such as H7 or g6"
    if found is None or (found[1] != "H" and found[1] not in _SHAFTS):
        raise OutOfRange(f"tolerance class {code!r} is not in the tables here", right=held)
    return found[1], int(found[2])


def _band(size: float) -> int:
    nominal = size / MILLIMETRE
    if not 0.0 < nominal <= _BANDS[-1] * (1.0 + 1e-12):
        raise OutOfRange(f"nominal size {nominal:g} mm", right=f"above 0 up to {_BANDS[-1]} mm")
    # Rounding of a size given in metres must not push it over the end of its band.
    return int(np.searchsorted(_BANDS, nominal * (1.0 - 1e-12)))
