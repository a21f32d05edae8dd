"""The tables of ISO 286 against the standard's own formulas."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pytest

from firstoff.stack import _iso286 as tables


def it(grade: int, d: float) -> float:
    """The grade by the standard's formula, of the geometric mean of the band [mm] -> [um]."""
    unit = 0.45 * d ** (1 / 3) + 0.001 * d if d <= 500 else 0.004 * d + 2.1
    return float({6: 10, 7: 16, 8: 25, 9: 40, 10: 64}[grade] * unit)


#: annex A of iso286: fundamental deviation [um] of the geometric mean of the band [mm]
FORMULAS: dict[str, Callable[[float], float]] = {
    "a": lambda d: 265 + 1.3 * d if d <= 120 else 3.5 * d, "b": lambda d: 140 + 0.85 * d if d <= 160 else 1.8 * d,
    "c": lambda d: 52 * d**0.2 if d <= 40 else 95 + 0.8 * d, "d": lambda d: 16 * d**0.44, "e": lambda d: 11 * d**0.41,
    "f": lambda d: 5.5 * d**0.41, "g": lambda d: 2.5 * d**0.34,
    "n": lambda d: 5 * d**0.34 if d <= 500 else 0.04 * d + 21,
    "p": lambda d: it(7, d) + 2.5 if d <= 500 else 0.072 * d + 37.8,
    "s": lambda d: it(8, d) + 2.5 if d <= 50 else it(7, d) + 0.4 * d, "t": lambda d: it(7, d) + 0.63 * d,
    "u": lambda d: it(7, d) + d, "v": lambda d: it(7, d) + 1.25 * d, "x": lambda d: it(7, d) + 1.6 * d,
    "y": lambda d: it(7, d) + 2 * d, "z": lambda d: it(7, d) + 2.5 * d, "za": lambda d: it(8, d) + 3.15 * d,
    "zb": lambda d: it(9, d) + 4 * d, "zc": lambda d: it(10, d) + 5 * d,
}


@pytest.mark.parametrize("letter", sorted(FORMULAS))
def test_deviations_follow_the_formulas_of_the_standard(letter: str) -> None:
    bands = tables.FINE if letter in tables.SPLIT else tables.BANDS
    table = tables.SPLIT.get(letter) or tables.PLAIN[letter]
    each = zip(itertools.pairwise((0, *bands)), table, strict=False)
    for value, same in itertools.groupby(each, key=lambda item: item[1]):      # bands that share a value are one
        group = [band for band, _ in same]
        low, high = group[0][0], group[-1][1]
        if low < 10 or value == 0:     # the smallest bands are printed apart from the formula
            continue
        formula = FORMULAS[letter]((low * high) ** 0.5)
        share = 0.15 if letter == "c" else 0.07
        assert abs(value - formula) <= max(5.0, share * formula), (letter, high, value, formula)


@pytest.mark.parametrize("grade", range(1, 19))
def test_coarser_and_larger_is_wider(grade: int) -> None:
    row = tables.GRADES[grade]
    assert len(row) == len(tables.BANDS) and list(row) == sorted(row)
    if grade > 1:
        assert all(a > b for a, b in zip(row, tables.GRADES[grade - 1], strict=True))
