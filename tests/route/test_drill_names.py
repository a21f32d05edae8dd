"""Drills by number, letter, fraction and mm."""

from __future__ import annotations

from itertools import pairwise

import pytest

from firstoff.checks._threads import UNIFIED
from firstoff.route.drill_names import LETTERS, NUMBERS, as_sold, in_mm, inch_drills, named, size_named


def test_numbers_get_thinner_and_letters_wider() -> None:
    assert len(NUMBERS) == 60 and len(LETTERS) == 26
    assert all(wide > thin for wide, thin in pairwise(NUMBERS))
    assert all(thin < wide for thin, wide in pairwise(LETTERS)) and NUMBERS[0] < LETTERS[0]


def test_tap_drills_of_the_other_table_have_these_names() -> None:
    """Two tables of one handbook: what a tap drill is called and how wide it is agree."""
    for name, (_, _, drill, inches) in UNIFIED.items():
        if "/" not in drill:
            assert named()[drill] == pytest.approx(25.4 * inches, abs=2e-3), name


@pytest.mark.parametrize(("text", "inches"), [("#7", 0.2010), ("No. 7", 0.2010), ("no 29", 0.1360), ("F", 0.257),
                                              ("letter Q", 0.332), ("drill #43", 0.0890)])
def test_a_name_is_a_size(text: str, inches: float) -> None:
    assert size_named(text) == pytest.approx(25.4 * inches, abs=1e-3)


@pytest.mark.parametrize("text", ["#0", "#81", "f", "AB", "7", "M5", "H7"])
def test_what_is_no_name(text: str) -> None:
    assert size_named(text) is None


def test_as_it_stands_on_the_drill() -> None:
    assert as_sold(6.35) == "1/4 in"
    assert as_sold(25.4 * 0.201) == "0.201 in (No. 7)"
    assert as_sold(4.9) == "0.1929 in (4.9 mm)"
    assert as_sold(4.87) == "0.1917 in"


def test_a_drawer_is_close_enough_for_any_reamer() -> None:
    drills = [size for size in inch_drills() if size > 2.5]
    assert max(b - a for a, b in pairwise(drills)) < 0.45


def test_in_a_shop_of_mm_an_inch_drill_keeps_its_name() -> None:
    assert in_mm(5.105) == "5.105 mm (No. 7)" and in_mm(9.525) == "9.525 mm (3/8 in)"
    assert in_mm(4.2) == "4.2 mm" and in_mm(2.05) == "2.05 mm"
