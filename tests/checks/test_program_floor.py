"""Going below what the work rests on."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_floor import CHECK
from tests.checks.builders import chance, found
from tests.dryrun import milled, small

THROUGH = ["G0 X30 Y20", "G1 Z-22 F60"]


def test_two_below_where_nothing_is_free_bad_on_purpose(tmp_path: Path) -> None:
    finding = found(CHECK, milled.pocket(tmp_path, milled.program([*milled.rings(-2.0), *THROUGH])))
    assert finding.p_fail == 1.0 and "2 mm below the work" in finding.because


def test_two_below_over_high_parallels_just_good(tmp_path: Path) -> None:
    body = milled.program([*milled.rings(-2.0), *THROUGH])
    high = (("settings.block-1.holding.parallels", "10 mm"),)
    assert chance(CHECK, milled.cases(tmp_path, body, high)[small.POCKET]) == 0.0
