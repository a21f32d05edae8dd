"""What can't be said of a program."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_words import CHECK
from tests.checks.builders import chance, found
from tests.dryrun import milled


def test_a_word_that_is_not_understood_bad_on_purpose(tmp_path: Path) -> None:
    odd = milled.program([*milled.rings(-2.0), "G0 Z5", "G1 X[1/0] F100"])
    finding = found(CHECK, milled.pocket(tmp_path, odd))
    assert finding.p_rows is None and "can't be said" in finding.because


def test_no_unit_bad_on_purpose(tmp_path: Path) -> None:
    bare = milled.SHALLOW.replace("G21 ", "")
    finding = found(CHECK, milled.pocket(tmp_path, bare))
    assert finding.p_rows is None and "mm or inch" in finding.because


def test_no_unit_but_a_person_says_it_just_good(tmp_path: Path) -> None:
    bare = milled.SHALLOW.replace("G21 ", "")
    assert chance(CHECK, milled.pocket(tmp_path, bare, ("program_unit", "mm"))) == 0.0


def test_a_program_without_a_move_of_the_tool_is_told(tmp_path: Path) -> None:
    finding = found(CHECK, milled.pocket(tmp_path, milled.SHALLOW, ("program_tool", "7")))
    assert finding.p_rows is None and "is not run" in finding.because
