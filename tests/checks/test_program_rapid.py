"""A rapid through the work, and one that just stays clear."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_rapid import CHECK
from tests.checks.builders import chance, found
from tests.dryrun import milled


def test_rapid_through_the_pocket_s_wall_bad_on_purpose(tmp_path: Path) -> None:
    slip = milled.program([*milled.rings(-2.0), "G0 X-10 Y20"])
    finding = found(CHECK, milled.pocket(tmp_path, slip))
    line = slip.splitlines().index("G0 X-10 Y20") + 1
    assert finding.p_fail == 1.0 and f"line {line}:" in finding.because and "a rapid goes through" in finding.because


def test_rapid_that_was_posted_as_a_feed_bad_on_purpose(tmp_path: Path) -> None:
    slip = milled.program([*milled.rings(-2.0), "G1 X-10 Y20 F5000"])
    finding = found(CHECK, milled.pocket(tmp_path, slip))
    assert finding.p_fail == 1.0 and "as fast as a rapid" in finding.because


def test_rapids_over_the_work_and_along_a_wall_just_good(tmp_path: Path) -> None:
    body = [*milled.rings(-2.0), "G0 X18", "G0 X42", "G0 Y27", "G0 Z0", "G0 X-20 Y-20", "G1 X80 Y80 F5000"]
    assert chance(CHECK, milled.pocket(tmp_path, milled.program(body))) == 0.0
