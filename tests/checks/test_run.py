"""What is kept of a program's run, and how its lines are said."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.checks._run import Run, Spot, deep, lines_of, worst_first
from tests.dryrun import milled

SPOTS = tuple(Spot(line, "", size) for line, size in ((40, 1.0), (12, 3.0), (7, 0.5), (30, 2.0), (31, 0.1)))


def test_a_run_is_read_back_as_it_was(tmp_path: Path) -> None:
    run = milled.pocket(tmp_path, milled.SHALLOW, ("stickout", "6 mm")).run
    assert run is not None and Run.from_text(run.as_text()) == run


@pytest.mark.parametrize("text", ["{}", "[1]", "", '{"file": 3}'])
def test_what_is_no_run_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        Run.from_text(text)


def test_lines_are_said_worst_first_in_their_order() -> None:
    assert lines_of(SPOTS) == "lines 12, 30, 40 and 2 more"
    assert lines_of(SPOTS[:1]) == "line 40"
    assert [spot.line for spot in worst_first(SPOTS)] == [12, 30, 40, 7, 31]
    assert deep(0.25, "mm") == "0.25 mm"
