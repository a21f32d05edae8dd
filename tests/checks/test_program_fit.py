"""A program for another zero, or in the other unit."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_fit import CHECK
from tests.checks.builders import chance, found
from tests.dryrun import milled


def test_inches_read_as_mm_bad_on_purpose(tmp_path: Path) -> None:
    inch = milled.GOOD.replace("G21", "G20")
    finding = found(CHECK, milled.pocket(tmp_path, inch))
    assert finding.p_fail == 1.0 and "mm that were read as inches" in finding.because


def test_zero_in_the_middle_of_the_stock_bad_on_purpose(tmp_path: Path) -> None:
    middle = milled.program(["G1 Z-1 F60", "G1 X-28 Y-18 F360", "X28", "Y18", "X-28"],
                            (*milled.HEAD[:-1], "G0 X0 Y0"))
    finding = found(CHECK, milled.pocket(tmp_path, middle))
    assert finding.p_fail == 1.0 and "zero at the middle, middle, top of the stock" in finding.because


def test_zero_at_the_foot_bad_on_purpose(tmp_path: Path) -> None:
    foot = milled.program([f"G1 Z{20 + z} F60\nG1 X{x} F360" for z, x in ((-1, 18), (-2, 42))],
                          ("G21 G17 G90 G94", "S6000 M3", "G0 Z40", "G0 X30 Y20"))
    finding = found(CHECK, milled.pocket(tmp_path, foot))
    assert finding.p_fail == 1.0 and "takes nothing off" in finding.because
    assert "bottom of the stock" in finding.because


def test_a_cut_that_comes_in_from_beside_the_stock_just_good(tmp_path: Path) -> None:
    wide = milled.program(["G0 X-8 Y5", "G1 Z-1 F60", "G1 X68 F360", "Y45", "X-8"])
    assert chance(CHECK, milled.pocket(tmp_path, wide)) == 0.0
