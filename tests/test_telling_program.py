"""What is said of the feeds of a program in a job."""

from __future__ import annotations

from pathlib import Path

from firstoff.actions import Fed
from firstoff.dryrun.stretches import Stretch
from firstoff.telling_program import fed_json, fed_lines

FOUND = Fed("op", (Stretch(3, 9, 400.0, 0.55, True), Stretch(10, 20, 60.0, 1.0, True),
                   Stretch(21, 30, 900.0, 0.2, False), Stretch(31, 40, 90.0, 1.0, False)), 2.5, (), Path("new.nc"))


def test_each_change_is_told_with_its_line() -> None:
    said = list(fed_lines(FOUND, "a.nc"))
    assert said[0] == "a.nc for op: 2.5 min, 4 stretches that cut, 2 of them better slower."
    assert said[1].strip() == "line 3: F220, not F400"
    assert said[2].strip() == "line 21: F180, not F900 (better, though not good)"
    assert "line 31" in said[3] and "2 F words changed" in said[4]


def test_a_program_that_was_not_run_says_why() -> None:
    said = list(fed_lines(Fed("op", (), 0.0, ("it is tilted",)), "a.nc"))
    assert said == ["a.nc: no stretch of it cuts in op; it is tilted"]


def test_a_copy_in_which_nothing_changed_is_told_as_that() -> None:
    said = list(fed_lines(Fed("op", FOUND.stretches[1:2], 2.5, (), Path("new.nc")), "a.nc"))
    assert said == ["a.nc for op: 2.5 min, 1 stretch that cuts, none of them better slower.",
                    "new.nc is written, and nothing in it is changed."]


def test_json_has_every_stretch() -> None:
    table = fed_json(FOUND)
    assert [s["line"] for s in table["stretches"]] == [3, 10, 21, 31]
    assert round(table["stretches"][0]["better"], 9) == 220.0
    assert table["written"] == "new.nc"
