"""The database of records: append-only, a correction names what it replaces, nothing half-kept."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from firstoff.errors import FileError, RecordError
from firstoff.records.store import LATEST, Record, open_store, record_json, record_line


def a_record(subject: str = "body-stock-1-face_rough", **changes: object) -> Record:
    fields: dict[str, object] = {
        "when": datetime(2026, 3, 1, 9, 30, tzinfo=UTC), "kind": "word", "job": "block plane", "subject": subject,
        "snapshot": {"job": "a", "route": "b"}, "reading": {"word": "ok"}, **changes,
    }
    return Record(**fields)  # type: ignore[arg-type]


def test_a_record_comes_back_as_it_was(tmp_path: Path) -> None:
    record = a_record(reading={"value": "5,02 mm", "instrument": "micrometer"}, conditions={"note": "Ø warm"})
    with open_store(tmp_path) as store:
        store.add(record)
    with open_store(tmp_path) as store:
        assert store.all() == (record,)
    assert (tmp_path / LATEST).read_text() == record.id + "\n"


def test_the_same_id_twice_is_one_record(tmp_path: Path) -> None:
    record = a_record()
    with open_store(tmp_path) as store:
        store.add(record)
        store.add(record)
        assert len(store.all()) == 1


def test_a_correction_replaces_and_both_stay(tmp_path: Path) -> None:
    first = a_record()
    second = a_record(reading={"word": "sang"}, replaces=first.id)
    with open_store(tmp_path) as store:
        store.add(first)
        store.add(second)
        assert store.valid() == (second,)
        assert len(store.all()) == 2
        with pytest.raises(RecordError, match="no record"):
            store.add(a_record(replaces="nothing"))


@pytest.mark.parametrize("statement", [
    "DELETE FROM records", "UPDATE records SET job = 'x'", "DELETE FROM snapshots",
])
def test_the_database_itself_refuses_to_forget(tmp_path: Path, statement: str) -> None:
    from sqlalchemy import create_engine

    with open_store(tmp_path) as store:
        store.add(a_record())
        store.keep("something")
    engine = create_engine(f"sqlite:///{tmp_path / 'records.sqlite'}")
    with engine.connect() as connection, pytest.raises(DatabaseError, match="kept for ever"):
        connection.execute(text(statement))
    engine.dispose()


def test_a_text_is_kept_once_by_its_contents(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        assert store.keep("abc") == store.keep("abc")
        assert store.kept(store.keep("abc")) == "abc"
        with pytest.raises(RecordError, match="missing"):
            store.kept("0" * 40)


def test_another_file_in_its_place_is_said(tmp_path: Path) -> None:
    (tmp_path / "records.sqlite").write_bytes(b"this is not a database, it is a letter" * 50)
    with pytest.raises(FileError, match="cannot be opened"), open_store(tmp_path) as store:
        store.all()


def test_told_in_one_line_and_as_json() -> None:
    record = a_record(kind="size", reading={"value": "5.02 mm", "instrument": "micrometer_25"})
    assert record_line(record).endswith("body-stock-1-face_rough: 5.02 mm with the micrometer_25")
    assert record_json(record)["reading"] == {"value": "5.02 mm", "instrument": "micrometer_25"}
