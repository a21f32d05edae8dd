"""Limits and fits of ISO 286: standard tolerances IT1 to IT18, all letters of holes and shafts, up to 3150 mm."""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np

from firstoff.errors import OutOfRange
from firstoff.stack import _iso286 as tables

MILLIMETRE, MICROMETRE = 1.0 / 1000, 1.0 / 1000000  # the standard's tables are printed in these

_DELTA_GRADES = range(3, 9)     # of which finer holes come nearer to nominal by a part of their grade
_FINEST_K_ONLY = 7              # from grade 8 on the lower deviation of k is nil
#: the two finest grades as the tables number them
_FINEST = {"01": -1, "0": 0}
_CODE = re.compile(r"^([A-Z]{1,2}|[a-z]{1,2})(\d{1,2})$")


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

    Range: all letters and IT1 to IT18, H and JS in IT01 and IT0, too; up to 500 mm, from d to u without j up to
        3150 mm. IT14 and coarser, a, b and N9 and coarser only above 1 mm.
    Source: iso286, part 1, table 1 and the tables of fundamental deviations, recalled; deviations of holes by its
        rules from those of shafts.
    """
    letter, grade = _parts(code)
    width = _standard_tolerance(grade, size)
    shaft = letter.lower()
    if grade < 1 and shaft not in ("h", "js"):
        raise OutOfRange(f"tolerance class {code}", right="H, h, JS or js in the grades 01 and 0")
    if shaft == "js":
        return Limits(-width / 2.0, width / 2.0)
    if shaft == "j":
        return _about_nominal(letter, grade, size, width)
    if shaft in "ab" and size <= MILLIMETRE:
        raise OutOfRange(f"{letter}{grade} at {size / MILLIMETRE:g} mm", right=f"{letter} only above 1 mm")
    away = _deviation(shaft, size)
    if shaft in tables.BELOW:
        return Limits(away, away + width) if letter.isupper() else Limits(-away - width, -away)
    if letter.isupper():
        upper = _hole_above(letter, grade, size, away, width)
        return Limits(upper - width, upper)
    lower = 0.0 if letter == "k" and not 4 <= grade <= _FINEST_K_ONLY else away
    return Limits(lower, lower + width)


def _deviation(shaft: str, size: float) -> float:
    """Size of the fundamental deviation of a shaft [m]."""
    split = shaft in tables.SPLIT
    found = tables.SPLIT[shaft] if split else tables.PLAIN[shaft]
    at = _band(size, tables.FINE if split else tables.BANDS)
    if at >= len(found) or (split and found[at] == 0):
        bands = tables.FINE if split else tables.BANDS
        first = next(k for k, value in enumerate(found) if value or not split)
        below = f"above {bands[first - 1]:g} " if first else ""
        raise OutOfRange(f"{shaft} at {size / MILLIMETRE:g} mm", right=f"{shaft} only {below}up to "
                         f"{bands[len(found) - 1]:g} mm")
    return found[at] * MICROMETRE


def _hole_above(letter: str, grade: int, size: float, away: float, width: float) -> float:
    """Upper deviation of a hole K to ZC: a shaft's mirrored, finer grades nearer to nominal."""
    small, large = size <= 3.0 * MILLIMETRE * (1.0 + 1e-12), size > 500.0 * MILLIMETRE * (1.0 + 1e-12)
    if letter == "N" and grade > 8 and not large:
        if size <= MILLIMETRE:
            raise OutOfRange(f"N{grade} at {size / MILLIMETRE:g} mm", right="N9 and coarser only above 1 mm")
        return -away if small else 0.0
    if letter == "K" and grade > 8:
        if not small:
            raise OutOfRange(f"K{grade} at {size / MILLIMETRE:g} mm", right="K9 and coarser only up to 3 mm")
        return 0.0
    finest = 8 if letter in ("K", "M", "N") else 7
    if small or large or grade > finest or grade not in _DELTA_GRADES:
        return -away
    nearer = width - _standard_tolerance(grade - 1, size)
    if letter == "M" and grade == 6 and tables.BANDS[_band(size)] == 315:
        return -9.0 * MICROMETRE        # printed so in the standard, not the -11 of its rule
    return nearer - away


def _about_nominal(letter: str, grade: int, size: float, width: float) -> Limits:
    found = (tables.J_HOLE if letter == "J" else tables.J_SHAFT).get(grade, ())
    at = _band(size)
    if at >= len(found):
        raise OutOfRange(f"{letter}{grade} at {size / MILLIMETRE:g} mm",
                         right="J6 to J8, j5 to j7, up to 500 mm; else JS or js")
    edge = found[at] * MICROMETRE
    return Limits(edge - width, edge) if letter == "J" else Limits(edge, edge + width)


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
    """Width of the tolerance of a grade [m]; IT14 and coarser do not exist up to 1 mm in the standard."""
    if grade not in tables.GRADES:
        raise OutOfRange(f"grade IT{grade} is not in the table here", right="IT01, IT0, IT1 to IT18")
    if _band(size) >= len(tables.GRADES[grade]):
        raise OutOfRange(f"IT{'01' if grade < 0 else grade} at {size / MILLIMETRE:g} mm", right="up to 500 mm")
    if grade >= 14 and size <= MILLIMETRE:
        raise OutOfRange(f"IT{grade} at {size / MILLIMETRE:g} mm", right="IT14 and coarser only above 1 mm")
    return tables.GRADES[grade][_band(size)] * MICROMETRE


def _parts(code: str) -> tuple[str, int]:
    found = _CODE.match(code.strip())
    held = sorted({*tables.PLAIN, *tables.SPLIT, "j", "js"})
    if found is None or found[1].lower() not in held or (found[2][0] == "0" and found[2] not in _FINEST):
        raise OutOfRange(f"tolerance class {code!r} is not in the tables here",
                         right=f"{', '.join(held)}, or capitals for holes, with grades 01 to 18, such as H7 or g6")
    return found[1], _FINEST.get(found[2], int(found[2]))


def _band(size: float, bands: tuple[int, ...] = tables.BANDS) -> int:
    nominal = size / MILLIMETRE
    if not 0.0 < nominal <= bands[-1] * (1.0 + 1e-12):
        raise OutOfRange(f"nominal size {nominal:g} mm", right=f"above 0 up to {bands[-1]} mm")
    # Rounding of a size given in metres must not push it over the end of its band.
    return int(np.searchsorted(bands, nominal * (1.0 - 1e-12)))
