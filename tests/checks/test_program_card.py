"""The program against the route card."""

from __future__ import annotations

from pathlib import Path

from firstoff.checks.program_card import CHECK
from tests.checks.builders import chance, found
from tests.dryrun import milled


def test_another_speed_bad_on_purpose(tmp_path: Path) -> None:
    finding = found(CHECK, milled.pocket(tmp_path, milled.SHALLOW.replace("S6000", "S9000")))
    assert finding.p_rows is None and "the card says 6000 rpm, the program 9000 rpm" in finding.because


def test_deeper_than_the_card_bad_on_purpose(tmp_path: Path) -> None:
    finding = found(CHECK, milled.pocket(tmp_path, milled.SHALLOW, ("cut.depth_of_cut", "0.5 mm")))
    assert finding.p_rows is None and "0.5 mm deep" in finding.because


def test_the_length_of_another_tool_bad_on_purpose(tmp_path: Path) -> None:
    other = milled.program(milled.rings(-2.0), ("G21 G17 G90 G94", "T3 M6", "S6000 M3", "G43 H4", "G0 Z5",
                                                "G0 X30 Y20"))
    finding = found(CHECK, milled.pocket(tmp_path, other))
    assert finding.p_rows is None and "H4 with tool 3" in finding.because


def test_what_the_card_says_just_good(tmp_path: Path) -> None:
    assert chance(CHECK, milled.pocket(tmp_path, milled.SHALLOW)) == 0.0
