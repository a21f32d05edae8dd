"""Stock that stays on a face which is to be finished."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_left import CHECK
from tests.checks.builders import chance, found
from tests.dryrun import milled


def test_a_tenth_left_on_the_floor_bad_on_purpose(tmp_path: Path) -> None:
    finding = found(CHECK, milled.pocket(tmp_path, milled.program(milled.rings(-7.9)), ("leaves", "0 mm")))
    assert finding.p_fail == 1.0 and "0.1 mm is left on face" in finding.because


def test_all_of_it_just_good(tmp_path: Path) -> None:
    assert chance(CHECK, milled.pocket(tmp_path, milled.GOOD, ("leaves", "0 mm"))) == 0.0


def test_roughing_may_leave_some(tmp_path: Path) -> None:
    assert not CHECK.applies(milled.pocket(tmp_path, milled.program(milled.rings(-2.0)), ("leaves", "0.2 mm")))
