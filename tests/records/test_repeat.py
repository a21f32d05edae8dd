"""What worked here before is offered again, where it is quicker or less likely to fail; and only then."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.records.history import tried
from firstoff.records.reading import Reading
from firstoff.records.repeat import Again, again, again_json, again_lines
from firstoff.records.store import open_store

from . import made
from .made import FINISH, OTHER, ROUGH


def offered(folder: Path, depth: str, planned: str, *words: str) -> tuple[Again, ...]:
    """Cuts of one depth were recorded with these words; the job is planned with another."""
    with open_store(folder) as store:
        made.place(depth).log(store, *[Reading(ROUGH, word=word) for word in words])
        return again(tried(store), made.place(planned).cases().values(), made.book(discrepancy_chatter__factor=1.5))


def test_a_shallower_cut_that_worked_is_less_likely_to_fail(tmp_path: Path) -> None:
    found = {item.operation: item for item in offered(tmp_path, "0.25 mm", "1 mm", "ok", "ok", "ok")}
    item = found[ROUGH]
    assert item.then < 0.8 * item.now and item.times == 3
    assert (f"operations.{ROUGH}.cut.depth_of_cut", "0.25 mm") in item.edits
    assert FINISH not in found, "another role was not tried"


def test_its_like_in_another_setting_has_it_too(tmp_path: Path) -> None:
    """The other face is roughed alike: same metal, tool, machine and role."""
    names = {item.operation for item in offered(tmp_path, "0.25 mm", "1 mm", "ok")}
    assert ROUGH in names and names <= {ROUGH, OTHER}


@pytest.mark.parametrize("words", [("sang",), ("ok", "sang"), ()])
def test_what_failed_or_was_not_tried_is_not_offered(tmp_path: Path, words: tuple[str, ...]) -> None:
    assert offered(tmp_path, "0.25 mm", "1 mm", *words) == ()


def test_the_same_cut_is_no_change(tmp_path: Path) -> None:
    assert ROUGH not in {item.operation for item in offered(tmp_path, "1 mm", "1 mm", "ok")}


def test_told_in_lines_and_as_json(tmp_path: Path) -> None:
    found = offered(tmp_path, "0.25 mm", "1 mm", "ok", "ok")
    line = next(line for line in again_lines(found) if ROUGH in line)
    assert line.startswith(f"20 {ROUGH}: 0.25 mm ") and "as was ok 2 times, last 2026-03-02" in line
    assert "about 1 in" in line
    assert "inked into route.toml" in list(again_lines(found))[-1]
    assert {item["operation"] for item in again_json(found)} == {item.operation for item in found}
    assert list(again_lines(())) == ["Nothing that worked here before is better than what is planned."]
