"""Nut, shank and cutter against work and vise."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_hits import CHECK
from tests.checks.builders import chance, found
from tests.dryrun import milled


def test_short_stickout_puts_the_nut_on_the_work_bad_on_purpose(tmp_path: Path) -> None:
    finding = found(CHECK, milled.pocket(tmp_path, milled.GOOD, ("stickout", "6 mm")))
    assert finding.p_fail == 1.0 and "nut in the work, 2 mm deep" in finding.because


def test_cutter_in_the_jaw_bad_on_purpose(tmp_path: Path) -> None:
    jaw = milled.program(["G0 X30 Y-10", "G0 Z-9", "G1 Z-12 F60", "G1 X40 F360"])
    finding = found(CHECK, milled.pocket(tmp_path, jaw))
    assert finding.p_fail == 1.0 and "cutter in the fixed jaw" in finding.because


def test_nut_a_millimetre_above_the_work_just_good(tmp_path: Path) -> None:
    assert chance(CHECK, milled.pocket(tmp_path, milled.GOOD, ("stickout", "9 mm"))) == 0.0


def test_beside_the_work_above_the_jaws_just_good(tmp_path: Path) -> None:
    beside = milled.program(["G0 X30 Y-5", "G1 Z-9.5 F60", "G1 X40 F360"])
    assert chance(CHECK, milled.pocket(tmp_path, beside)) == 0.0
