"""What holds bear and cuts leave on is kept between runs, as long as nothing that it stands on was rewritten."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from firstoff.checks import _gives_way, _left_by, held
from firstoff.dryrun import tables as room
from firstoff.dryrun.keys import sources_digest
from firstoff.dryrun.tables import FILE, keep_tables, take_tables


def known() -> dict[str, Any]:
    """The tables of this process."""
    found: dict[str, Any] = vars(room)["tables"]
    return found


@pytest.fixture(autouse=True)
def empty(monkeypatch: pytest.MonkeyPatch) -> None:
    """No table is known yet."""
    for module in (_gives_way, room):
        monkeypatch.setattr(module, "tables", {})
    for module in (held, room):
        monkeypatch.setattr(module, "told", {})
    for module in (_left_by, room):
        monkeypatch.setattr(module, "found", {})


def test_what_was_kept_is_taken_up_to_the_last_bit(tmp_path: Path) -> None:
    rows = np.array([[0.1, 1.0 / 3.0], [2.0, 1e-9]])
    known()["a"] = rows, 3
    keep_tables(tmp_path / "new")
    known().clear()
    take_tables(tmp_path / "new")
    found, worst = known()["a"]
    assert np.array_equal(found, rows) and worst == 3


@pytest.mark.parametrize("text", [b"", b"7", b"{}", b'{"sources": "x", "tables": {"a": 1}}', b"\xe9\xff"])
def test_a_damaged_file_is_only_a_missing_one(text: bytes, tmp_path: Path) -> None:
    (tmp_path / FILE).write_bytes(text)
    take_tables(tmp_path)
    assert known() == {}
    (tmp_path / FILE).write_text(json.dumps({"sources": sources_digest(), "tables": {"a": [[["x"]], 2]}}))
    take_tables(tmp_path)
    assert known() == {}, "a row that is none"


def test_what_other_physics_computed_is_not_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    known()["a"] = np.ones((1, 1)), 0
    keep_tables(tmp_path)
    known().clear()
    monkeypatch.setattr(room, "sources_digest", lambda: "rewritten")
    take_tables(tmp_path)
    assert known() == {}


def test_without_a_folder_or_a_table_nothing_is_written(tmp_path: Path) -> None:
    keep_tables(None)
    keep_tables(tmp_path)
    take_tables(None)
    take_tables(tmp_path / "gone")
    assert list(tmp_path.iterdir()) == [] and known() == {}


def test_what_holds_lack_is_kept_beside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    vars(room)["told"]["a hold"] = "the moving jaw does not touch it"
    keep_tables(tmp_path)
    monkeypatch.setattr(room, "told", {})
    take_tables(tmp_path)
    assert vars(room)["told"] == {"a hold": "the moving jaw does not touch it"}


def left() -> dict[str, Any]:
    """What cuts left on, in this process."""
    found: dict[str, Any] = vars(room)["found"]
    return found


def test_what_cuts_leave_on_is_kept_with_the_figures_that_it_stands_on(tmp_path: Path) -> None:
    one, two = (("machine", "k"), ("tool", "d")), (("machine", "k"),)
    left().update({"wall:a": ((one, "x", np.linspace(0.0, 1.0 / 3.0, 7)), (two, "y", np.ones(2))),
                   "floor:b": ((one, "x", np.zeros(3)),)})
    keep_tables(tmp_path)
    before = {name: list(some) for name, some in left().items()}
    left().clear()
    for _ in range(2):                            # what is known already is not taken twice
        take_tables(tmp_path)
        assert set(left()) == set(before)
        for name, some in before.items():
            for (asked, digest, rows), known_by in zip(left()[name], some, strict=True):
                assert (asked, digest) == known_by[:2] and np.array_equal(rows, known_by[2])


@pytest.mark.parametrize("how", ["empty", "half", "text", "no list", "other"])
def test_a_damaged_file_of_what_is_left_on_is_only_a_missing_one(how: str, tmp_path: Path) -> None:
    left()["wall:a"] = ((("machine", "k"),), "x", np.ones(5)),
    keep_tables(tmp_path)
    raw = (tmp_path / room.LEFT).read_bytes()
    (tmp_path / room.LEFT).write_bytes({
        "empty": b"", "half": raw[:-9], "text": b"\xff\xfe", "no list": raw.replace(b'"left"', b'"right"'),
        "other": raw.replace(sources_digest().encode(), b"rewritten"),
    }[how])
    left().clear()
    take_tables(tmp_path)
    assert left() == {}
