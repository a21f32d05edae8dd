"""Where records are kept, what is said where they can't be, and that a kill loses none."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlalchemy import inspect, text

from firstoff.errors import FileError, FirstoffError, InputError, MissingPackage
from firstoff.records import database
from firstoff.records.database import engine_for, migrate, writing
from firstoff.records.store import open_store

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(("url", "message"), [
    ("here", "no URL of a database"), ("mysql://me@there/records", "cannot be kept in 'mysql'"), ("", "no URL"),
])
def test_a_url_that_cannot_be_used(url: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        engine_for(url)


def test_a_missing_driver_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "find_spec", lambda _name: None)
    with pytest.raises(MissingPackage) as caught:
        engine_for("postgresql://me@there/records")
    assert "firstoff[postgres]" in str(caught.value)


def test_a_server_that_is_not_there_is_said_without_its_password(tmp_path: Path) -> None:
    with pytest.raises(FirstoffError) as caught, open_store(tmp_path, f"postgresql://me:secret@/x?host={tmp_path}"):
        pass
    assert isinstance(caught.value, FileError) and "secret" not in str(caught.value)


def test_the_file_is_written_ahead_and_to_the_disk(tmp_path: Path) -> None:
    with open_store(tmp_path) as store, store.writing() as connection:
        assert connection.execute(text("PRAGMA journal_mode")).scalar() == "wal"
        assert connection.execute(text("PRAGMA synchronous")).scalar() == 2


def test_a_migration_that_breaks_off_leaves_nothing(tmp_path: Path, url: str | None) -> None:
    """The tables and the name of the version come together, or not at all."""
    where = url or f"sqlite:///{tmp_path / 'a.sqlite'}"
    engine = engine_for(where)
    with pytest.raises(ZeroDivisionError), writing(engine) as connection:
        connection.execute(text("CREATE TABLE records (id TEXT)"))
        _ = 1 / 0
    assert inspect(engine).get_table_names() == []
    migrate(engine)
    migrate(engine)
    assert {"records", "snapshots"} <= set(inspect(engine).get_table_names())
    engine.dispose()


def test_a_writer_who_has_read_before_waits_for_another(tmp_path: Path) -> None:
    """A transaction that turns from reading to writing could not wait: the lock is taken at once."""
    with open_store(tmp_path) as one, open_store(tmp_path) as two:
        assert one.texts() == {}
        two.keep("b")
        one.keep("a")
        assert set(two.texts().values()) == {"a", "b"}
    plain = sqlite3.connect(tmp_path / "records.sqlite")
    assert plain.execute("SELECT count(*) FROM snapshots").fetchone() == (2,)
    plain.close()


def test_those_that_open_a_new_database_together_are_all_heard(tmp_path: Path) -> None:
    """Where the journal is changed SQLite says 'locked' at once, so that two do not wait for each other for ever."""
    def start(file: Path, together: threading.Barrier) -> None:
        together.wait(30.0)
        with engine_for(f"sqlite:///{file}").connect() as connection:
            assert connection.execute(text("PRAGMA journal_mode")).scalar() == "wal"

    with ThreadPoolExecutor(4) as hands:
        for number in range(60):
            together = threading.Barrier(4)
            started = [hands.submit(start, tmp_path / f"{number}.sqlite", together) for _ in range(4)]
            assert [one.result(60.0) for one in started] == [None] * 4


@pytest.mark.skipif(os.name != "posix", reason="kills and forks")
@pytest.mark.parametrize("writers", [1, 2])
def test_killed_at_any_moment(tmp_path: Path, url: str | None, writers: int) -> None:
    """Even while the database is made: nothing confirmed is lost, nothing doubled."""
    kills = int(os.environ.get("FIRSTOFF_KILLS", "20"))
    asked = [sys.executable, "-m", "tests.records.writers", str(tmp_path), str(kills), str(writers)]
    done = subprocess.run(asked + ([url] if url else []), cwd=ROOT, capture_output=True, text=True, check=False,
                          env={**os.environ, "PYTHONPATH": "src", "FIRSTOFF_RECORDS": ""})
    assert done.returncode == 0, done.stderr
    words = done.stdout.split()
    assert int(words[0]) == kills and int(words[2]) > 0
