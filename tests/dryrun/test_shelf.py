"""What was computed once stands on the shelf; what cannot be read or written there is never an error."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from firstoff.dryrun.shelf import Shelf


def test_what_was_put_is_there_for_the_next_the_latest_first(tmp_path: Path) -> None:
    file = tmp_path / "deep" / "shelf.sqlite"
    with closing(Shelf(file)) as shelf:
        assert list(shelf.under("a")) == [] and not file.exists(), "to look makes no file"
        for variant, data in (("1", b"one"), ("2", b"two"), ("1", b"one more")):
            shelf.put("a", variant, data)
        shelf.put("b", "", b"")
        assert list(shelf.under("a")) == [b"one more", b"two"]
    with closing(Shelf(file)) as again:
        assert list(again.under("a")) == [b"one more", b"two"] and list(again.under("b")) == [b""]


def test_the_latest_of_several_keys_are_looked_up_at_one_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("firstoff.dryrun.shelf._AT_ONCE", 2)
    with closing(Shelf(tmp_path / "shelf.sqlite")) as shelf:
        assert dict(shelf.latest(["a"])) == {} and dict(Shelf(None).latest(["a"])) == {}
        for key, variant, data in (("a", "1", b"one"), ("a", "2", b"two"), ("b", "", b"b"), ("c", "", b"c")):
            shelf.put(key, variant, data)
        assert dict(shelf.latest(["a", "b", "else", "c"])) == {"a": b"two", "b": b"b", "c": b"c"}
        assert dict(shelf.latest([])) == {}


def test_without_a_file_nothing_is_kept() -> None:
    shelf = Shelf(None)
    shelf.put("a", "", b"one")
    shelf.prune(0, 0, ())
    assert list(shelf.under("a")) == []


def test_the_oldest_go_first_but_for_those_in_use(tmp_path: Path) -> None:
    with closing(Shelf(tmp_path / "shelf.sqlite")) as shelf:
        for key in "abcde":
            shelf.put(key, "", key.encode())
        there = [key for key in "abcde" if list(shelf.under(key))]
        shelf.prune(3, 2, ())
        assert there == [key for key in "abcde" if list(shelf.under(key))], "a few more than asked are let be"
        shelf.prune(3, 0, {("a", "")})
        assert [key for key in "abcde" if list(shelf.under(key))] == ["a", "d", "e"]


@pytest.mark.parametrize("how", ["empty", "no database", "half", "another table"])
def test_a_damaged_file_is_only_a_missing_one(how: str, tmp_path: Path) -> None:
    file = tmp_path / "shelf.sqlite"
    with closing(Shelf(file)) as shelf:
        shelf.put("a", "", b"x" * 200_000)
    raw = file.read_bytes()
    file.write_bytes({"empty": b"", "no database": b"hello " * 1000, "half": raw[:len(raw) // 2]}.get(how, raw))
    if how == "another table":
        with closing(sqlite3.connect(file)) as other:
            other.execute("DROP TABLE kept")
            other.execute("CREATE TABLE kept (something TEXT)")
            other.commit()
    for _ in range(2):                  # the first finds out; the next has a shelf again
        with closing(Shelf(file)) as shelf:
            assert dict(shelf.latest(["a"])) == {} and list(shelf.under("a")) == []
            shelf.put("a", "", b"one")
            shelf.prune(0, 0, ())
    with closing(Shelf(file)) as shelf:
        shelf.put("a", "", b"one")
        assert list(shelf.under("a")) == [b"one"]


def test_where_nothing_can_be_written_it_goes_on_without(tmp_path: Path) -> None:
    (tmp_path / "here").write_bytes(b"a file where the folder should be")
    with closing(Shelf(tmp_path / "here" / "shelf.sqlite")) as shelf:
        shelf.put("a", "", b"one")
        assert list(shelf.under("a")) == []


def test_another_who_writes_is_waited_for_and_never_a_reason_to_throw_the_shelf_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("firstoff.dryrun.shelf._WAIT", 0.05)
    file = tmp_path / "shelf.sqlite"
    with closing(Shelf(file)) as shelf, closing(sqlite3.connect(file, isolation_level=None)) as other:
        shelf.put("a", "", b"one")
        shelf.close()
        other.execute("BEGIN EXCLUSIVE")
        shelf.put("b", "", b"two")
        assert list(shelf.under("a")) == []
        other.execute("ROLLBACK")
    with closing(Shelf(file)) as again:
        assert list(again.under("a")) == [b"one"]
