"""The database of records: append-only, a correction names what it replaces, nothing half-kept."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from firstoff.errors import FileError, RecordError
from firstoff.records.database import engine_for
from firstoff.records.places import LATEST
from firstoff.records.store import FILE, FILES, Record, open_store, record_json, record_line


def a_record(subject: str = "body-stock-1-face_rough", **changes: object) -> Record:
    fields: dict[str, object] = {
        "when": datetime(2026, 3, 1, 9, 30, tzinfo=UTC), "kind": "word", "job": "block plane", "subject": subject,
        "snapshot": {"job": "a", "route": "b"}, "reading": {"word": "ok"}, **changes,
    }
    return Record(**fields)  # type: ignore[arg-type]


def test_a_record_comes_back_as_it_was(tmp_path: Path, url: str | None) -> None:
    record = a_record(reading={"value": "5,02 mm", "instrument": "micrometer"}, conditions={"note": "Ø warm"},
                      when=datetime(2026, 3, 1, 9, 30, 0, 17, tzinfo=timezone(timedelta(hours=5, minutes=45))))
    with open_store(tmp_path, url) as store:
        store.add(record)
    with open_store(tmp_path, url) as store:
        assert store.all() == (record,) and store.get(record.id) == record
        assert store.all()[0].when.utcoffset() == record.when.utcoffset()
    assert (tmp_path / LATEST).read_text() == f"1 {record.id}\n"
    assert (tmp_path / FILE).exists() == (url is None)


def test_the_oldest_comes_first_whatever_its_zone(tmp_path: Path, url: str | None) -> None:
    early = a_record(when=datetime(2026, 3, 1, 9, 0, tzinfo=timezone(timedelta(hours=9))))
    late = a_record(when=datetime(2026, 3, 1, 1, 0, tzinfo=UTC))
    with open_store(tmp_path, url) as store:
        store.add_all([late, early])
        assert store.all() == (early, late)


def test_the_same_id_twice_is_one_record(tmp_path: Path, url: str | None) -> None:
    record = a_record()
    again = a_record(id=record.id, when=record.when + timedelta(hours=1))
    with open_store(tmp_path, url) as store:
        for one in (record, record, again):
            store.add(one)
        assert store.all() == (record,), "sent again, it is as it was kept first"
        with pytest.raises(RecordError, match="that of another record"):
            store.add(a_record(id=record.id, reading={"word": "sang"}))
        assert store.all() == (record,)


def test_all_or_none(tmp_path: Path, url: str | None) -> None:
    with open_store(tmp_path, url) as store:
        with pytest.raises(RecordError, match="no record"):
            store.add_all([a_record(), a_record(replaces="nothing")])
        assert store.all() == ()
        assert not (tmp_path / LATEST).exists()


def test_a_correction_replaces_and_both_stay(tmp_path: Path, url: str | None) -> None:
    first = a_record()
    second = a_record(reading={"word": "sang"}, replaces=first.id)
    with open_store(tmp_path, url) as store:
        store.add(first)
        store.add(second)
        assert store.valid() == (second,)
        assert len(store.all()) == 2
        with pytest.raises(RecordError, match="no record"):
            store.add(a_record(replaces="nothing"))


@pytest.mark.parametrize("statement", [
    "DELETE FROM records", "UPDATE records SET job = 'x'", "DELETE FROM snapshots",
])
def test_the_database_itself_refuses_to_forget(tmp_path: Path, url: str | None, statement: str) -> None:
    with open_store(tmp_path, url) as store:
        store.add(a_record())
        store.keep("something")
    engine = engine_for(url or f"sqlite:///{tmp_path / FILE}")
    with engine.connect() as connection, pytest.raises(DatabaseError, match="kept for ever"):
        connection.execute(text(statement))
    engine.dispose()


def test_a_text_is_kept_once_by_its_contents(tmp_path: Path, url: str | None) -> None:
    with open_store(tmp_path, url) as store:
        assert store.keep("abc") == store.keep("abc")
        assert store.kept(store.keep("abc")) == "abc"
        assert store.texts() == {store.keep("abc"): "abc"}
        with pytest.raises(RecordError, match="missing"):
            store.kept("0" * 40)


def test_a_file_is_kept_by_its_contents_and_watched(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        name = store.keep_file(b"sound", ".WAV")
        assert store.keep_file(b"sound", ".wav") == name and name.endswith(".wav")
        assert store.kept_file(name) == b"sound"
        (tmp_path / FILES / name).write_bytes(b"silence")
        with pytest.raises(RecordError, match="not what it was"):
            store.kept_file(name)
        with pytest.raises(RecordError, match="missing"):
            store.kept_file("0.wav")


def test_the_mark_is_mended_when_a_writer_was_killed_before_it(tmp_path: Path) -> None:
    with open_store(tmp_path) as store:
        store.add(a_record())
        mark = store.mark()
    (tmp_path / LATEST).unlink()
    with open_store(tmp_path):
        pass
    assert (tmp_path / LATEST).read_text() == f"{mark}\n"


def test_another_file_in_its_place_is_said(tmp_path: Path) -> None:
    (tmp_path / FILE).write_bytes(b"this is not a database, it is a letter" * 50)
    with pytest.raises(FileError, match="cannot be opened"), open_store(tmp_path) as store:
        store.all()


def test_told_in_one_line_and_as_json() -> None:
    record = a_record(kind="size", reading={"value": "5.02 mm", "instrument": "micrometer_25"})
    assert record_line(record).endswith("body-stock-1-face_rough: 5.02 mm with the micrometer_25")
    assert record_json(record)["reading"] == {"value": "5.02 mm", "instrument": "micrometer_25"}
    seen = a_record(reading={"word": "ok", "chip_colour": "blue"}, conditions={"feed": "80 %"})
    assert record_line(seen).endswith(": ok, chip colour blue at 80 % of the feed")
    lifted, tight = (a_record(kind="lift", reading=reading) for reading in ({"value": "0.02 mm"}, {"word": "tight"}))
    assert record_line(lifted).endswith(": lifted 0.02 mm") and record_line(tight).endswith(": parallels tight")
    scrap = a_record(reading={"word": "sang"}, conditions={"depth": "0.5 mm", "scrap": "yes"})
    assert record_line(scrap).endswith(": sang, 0.5 mm deep, in scrap")
    tested = replace(seen, kind="mill_test", subject="mill", conditions={}, reading={
        "test": "tap", "axis": "x", "recording": "tap.wav", "file": "0123.wav", "frequency": "812.0 Hz"})
    assert record_line(tested).endswith("mill: test tap, axis x, recording tap.wav, frequency 812.0 Hz")
    noted = replace(seen, conditions={"note": "new belt"}, by="the night shift", replaces="0123456789abcdef")
    assert record_line(noted).endswith(": ok, chip colour blue, new belt (by the night shift, instead of 01234567)")


def test_a_record_is_told_by_the_clock_of_the_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    """Kept in UTC; a person reads what their own clock had."""
    record = a_record(when=datetime(2026, 3, 1, 23, 30, tzinfo=UTC))
    try:
        monkeypatch.setenv("TZ", "UTC-2")
        time.tzset()
        assert "  2026-03-02 01:30  " in record_line(record)
    finally:
        monkeypatch.undo()
        time.tzset()
