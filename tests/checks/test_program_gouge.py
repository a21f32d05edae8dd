"""Cutting into finished faces, by envelope."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_gouge import CHECK
from tests.checks.builders import chance, found
from tests.dryrun import milled


def test_below_the_pocket_s_floor_bad_on_purpose(tmp_path: Path) -> None:
    finding = found(CHECK, milled.pocket(tmp_path, milled.program(milled.rings(-8.1, 1.35))))
    assert finding.p_fail == 1.0 and "0.1 mm into face" in finding.because


def test_into_the_pocket_s_wall_bad_on_purpose(tmp_path: Path) -> None:
    finding = found(CHECK, milled.pocket(tmp_path, milled.program(milled.rings(-2.0, size=(24.0, 14.2)))))
    assert finding.p_fail == 1.0 and "0.1 mm into face" in finding.because


def test_to_floor_and_walls_and_no_further_just_good(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path)
    assert chance(CHECK, case) == 0.0
    assert case.run is not None and max((spot.size for spot in case.run.gouges), default=0.0) < 1e-9
