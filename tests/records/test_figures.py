"""Own figures: kept beside the records, used only while they fit, and honest about what is newer."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.records import figures
from firstoff.records.figures import FILE, book_digest, read_figures, write_figures
from firstoff.records.learn import Learned
from firstoff.records.places import LATEST

from ..checks import builders

KEYS = [("machine:mill", "mode_damping"), ("material:steel", "tangential")]


def book(rows: int = builders.ROWS) -> Belief:
    return Belief.of(builders.columns(), rows=rows)


def learned(**changed: object) -> Learned:
    by = book()
    moved = {key: by.z(key) * 0.5 + 0.3 for key in KEYS}
    made = Learned(moved, ("more force",), 3, "abc", by.rows, by.seed, book_digest(by, sorted(moved)), True, (),
                   {KEYS[0]: 3})
    return replace(made, **changed)  # type: ignore[arg-type]


def test_they_come_back_to_the_last_bit(tmp_path: Path) -> None:
    write_figures(tmp_path, learned())
    (tmp_path / LATEST).write_text("abc\n")
    found = read_figures(tmp_path, book())
    assert found is not None and found.note == "own figures from 3 records, book figures else"
    assert set(found.moved) == set(KEYS)
    assert found.spoken == {KEYS[0]: 3}, "of the other nobody kept how many"
    for key in KEYS:
        assert np.array_equal(found.moved[key], learned().moved[key])


def test_nothing_learned_and_nothing_recorded(tmp_path: Path) -> None:
    assert read_figures(tmp_path, book()) is None


def test_records_but_nothing_learned_yet(tmp_path: Path) -> None:
    (tmp_path / LATEST).write_text("abc\n")
    found = read_figures(tmp_path, book())
    assert found is not None and found.moved == {}
    assert "run firstoff learn" in found.note


def test_newer_records_are_said_and_the_figures_still_used(tmp_path: Path) -> None:
    write_figures(tmp_path, learned())
    (tmp_path / LATEST).write_text("def\n")
    found = read_figures(tmp_path, book())
    assert found is not None and found.moved and "newer records" in found.note


def test_a_newer_book_or_program_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_figures(tmp_path, learned(book="another"))
    found = read_figures(tmp_path, book())
    assert found is not None and "program or the book figures are newer" in found.note
    write_figures(tmp_path, learned())
    monkeypatch.setattr(figures, "sources_digest", lambda: "other sources")
    found = read_figures(tmp_path, book())
    assert found is not None and "program or the book figures are newer" in found.note


def test_figures_on_other_rows_are_not_used(tmp_path: Path) -> None:
    write_figures(tmp_path, learned())
    found = read_figures(tmp_path, book(rows=64))
    assert found is not None and found.moved == {} and "other rows" in found.note


def test_a_column_that_is_gone_is_left_out(tmp_path: Path) -> None:
    write_figures(tmp_path, learned())
    fewer = Belief.of([c for c in builders.columns() if c.key != KEYS[0]], rows=builders.ROWS)
    found = read_figures(tmp_path, fewer)
    assert found is not None and set(found.moved) == {KEYS[1]}


def test_nothing_learned_is_kept_too(tmp_path: Path) -> None:
    write_figures(tmp_path, learned(moved={}, book=book_digest(book(), [])))
    found = read_figures(tmp_path, book())
    assert found is not None and found.moved == {} and "3 records" in found.note


@pytest.mark.parametrize("content", [b"", b"nonsense", b"PK\x03\x04 cut off"])
def test_a_damaged_file_is_only_a_missing_one(tmp_path: Path, content: bytes) -> None:
    (tmp_path / FILE).write_bytes(content)
    (tmp_path / LATEST).write_text("abc\n")
    found = read_figures(tmp_path, book())
    assert found is not None and found.moved == {} and "run firstoff learn" in found.note


def test_the_name_of_the_book_follows_its_figures() -> None:
    other = builders.belief(machine_mill__mode_damping=0.05)
    assert book_digest(book(), KEYS) != book_digest(other, KEYS)
    assert book_digest(book(), KEYS[1:]) == book_digest(other, KEYS[1:])


def test_it_is_written_whole_and_holds_no_code(tmp_path: Path) -> None:
    write_figures(tmp_path, learned())
    assert [path.name for path in tmp_path.iterdir()] == [FILE]
    with np.load(tmp_path / FILE, allow_pickle=False) as file:
        assert json.loads(file["head"].tobytes())["records"] == 3
