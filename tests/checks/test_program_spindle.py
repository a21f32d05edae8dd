"""Cutting with the spindle off."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_spindle import CHECK
from tests.checks.builders import chance, found
from tests.dryrun import milled


def test_no_m3_bad_on_purpose(tmp_path: Path) -> None:
    slip = milled.program(milled.rings(-2.0), ("G21 G17 G90 G94", "S6000", "G0 Z5", "G0 X30 Y20"))
    finding = found(CHECK, milled.pocket(tmp_path, slip))
    assert finding.p_fail == 1.0 and "M3 is missing" in finding.because


def test_spindle_that_starts_before_the_cut_just_good(tmp_path: Path) -> None:
    late = milled.program(milled.rings(-2.0), ("G21 G17 G90 G94", "S6000", "G0 Z5", "G0 X30 Y20", "M3"))
    assert chance(CHECK, milled.pocket(tmp_path, late)) == 0.0


def test_a_spindle_that_is_set_by_hand_turns(tmp_path: Path) -> None:
    silent = milled.program(milled.rings(-2.0), ("G21 G17 G90 G94 (S by hand)", "G0 Z5", "G0 X30 Y20"))
    by_hand = milled.pocket(tmp_path, silent)
    assert chance(CHECK, by_hand) == 0.0
    assert by_hand.op.cut.spindle_speed == by_hand.route.operations[by_hand.name].cut.spindle_speed
