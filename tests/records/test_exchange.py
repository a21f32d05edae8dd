"""Out and in again, nothing is lost; what has been tampered with is refused, with its line."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.errors import FileError, FirstoffError, RecordError
from firstoff.records.exchange import export_records, import_records
from firstoff.records.reading import Reading
from firstoff.records.store import Record, Store, open_store

from . import made
from .made import ROUGH

TEXT = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=40)
NAMES = st.dictionaries(TEXT, TEXT, max_size=3)
ZONES = st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m)))
WHEN = st.builds(lambda seconds, zone: datetime.fromtimestamp(seconds / 1e3, zone),
                 st.integers(10**12, 10**12 * 3 // 2), ZONES)
RECORD = st.builds(
    Record, when=WHEN, kind=st.sampled_from(["word", "seen", "watts", "size", "note"]), job=TEXT, subject=TEXT,
    snapshot=st.just({}), reading=NAMES, conditions=NAMES, by=TEXT, version=TEXT.map(lambda t: t[:20]),
    id=st.uuids().map(lambda u: u.hex),
)


def filled(store: Store, folder: Path) -> None:
    """A shop with every kind of record."""
    picture = folder / "top.png"
    picture.write_bytes(bytes(range(256)))
    at = made.place()
    first, *_ = at.log(
        store, Reading(ROUGH, word="ok", chip_colour="blue", feed="80 %", note='he said "hm", twice;\nthen went'),
        Reading("height", size="20.01 mm"), Reading(ROUGH, watts="310 W", idle="190 W"),
        Reading("", note="Ø, µ and 件"), Reading(ROUGH, file=str(picture)),
    )
    at.log(store, Reading(ROUGH, word="sang", replaces=first.id))


@pytest.mark.parametrize("ending", ["jsonl", "csv"])
def test_a_whole_shop_comes_back(tmp_path: Path, url: str | None, ending: str) -> None:
    out = tmp_path / f"all.{ending}"
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
    with open_store(tmp_path / "a") as store:
        filled(store, tmp_path)
        records, texts = store.all(), store.texts()
        assert export_records(store, out) == 6
    with open_store(tmp_path / "b", url) as store:
        assert import_records(store, out) == (6, 0, 1)
        assert store.all() == records and store.texts() == texts
        assert import_records(store, out) == (0, 6, 1), "twice is once"
        again = tmp_path / f"again.{ending}"
        export_records(store, again)
    assert again.read_bytes() == out.read_bytes()
    (picture,) = (tmp_path / "b" / "records.files").iterdir()
    assert picture.read_bytes() == bytes(range(256))


@settings(max_examples=12)      # two databases each
@given(records=st.lists(RECORD, max_size=4, unique_by=lambda r: r.id), texts=st.lists(TEXT, max_size=3))
@pytest.mark.parametrize("ending", ["jsonl", "csv"])
def test_any_text_survives(
    tmp_path_factory: pytest.TempPathFactory, ending: str, records: list[Record], texts: list[str],
) -> None:
    folder = tmp_path_factory.mktemp("any")
    for name in ("a", "b"):
        (folder / name).mkdir()
    with open_store(folder / "a") as store:
        store.add_all(records)
        for text in texts:
            store.keep(text)
        before = store.all(), store.texts()
        export_records(store, folder / f"x.{ending}")
    with open_store(folder / "b") as store:
        import_records(store, folder / f"x.{ending}")
        assert (store.all(), store.texts()) == before


def _line(change: Callable[[dict[str, object]], object]) -> Callable[[str], str]:
    """Change the first record of a file of JSON lines."""
    def changed(text: str) -> str:
        items = [json.loads(line) for line in text.splitlines()]
        change(next(item for item in items if item["what"] == "record"))
        return "".join(json.dumps(item) + "\n" for item in items)
    return changed


@pytest.mark.parametrize(("spoil", "message"), [
    (lambda text: text.replace("block", "blick"), "not what its digest says"),
    (lambda text: text[:-20], "not a JSON object"),
    (lambda text: text + "[" * 100_000 + "\n", "not a JSON object"),
    (lambda text: text + "7\n", "not a JSON object"),
    (lambda text: text + '{"what": "recipe"}\n', "'recipe' is not kept"),
    (lambda text: "".join(x for x in text.splitlines(True) if '"snapshot", "digest"' not in x), "is missing"),
    (lambda text: text.replace("AAECAwQF", "AAECAwQG"), "not what its name says"),
    (lambda text: text.replace("AAECAwQF", "****"), "garbled"),
    (_line(lambda r: r.update(when="2026-13-41T00:00:00+00:00")), "is no date"),
    (_line(lambda r: r.update(when="2026-01-01T00:00:00")), "no zone"),
    (_line(lambda r: r.update(when=(datetime.now(UTC) + timedelta(days=2)).isoformat())), "not come yet"),
    (_line(lambda r: r.update(kind="guess")), "kind does not hold"),
    (_line(lambda r: r.update(id="1")), "id does not hold"),
    (_line(lambda r: r.update(reading={"word": 3})), "reading does not hold"),
    (_line(lambda r: r.update(subject="\ud800")), "subject does not hold"),
    (_line(lambda r: r.update(by="x" * 101)), "by does not hold"),
    (_line(lambda r: r.update(replaces="0" * 32)), "no record"),
    (_line(lambda r: r.update(replaces=r["id"])), "in a ring"),
    (_line(lambda r: r.pop("by")), "has not the fields of a record: by"),
])
def test_what_was_tampered_with_is_refused_whole(
    tmp_path: Path, spoil: Callable[[str], str], message: str
) -> None:
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
    out = tmp_path / "all.jsonl"
    with open_store(tmp_path / "a") as store:
        filled(store, tmp_path)
        export_records(store, out)
    out.write_text(spoil(out.read_text(encoding="utf-8")), encoding="utf-8")
    with open_store(tmp_path / "b") as store:
        with pytest.raises(RecordError, match=message):
            import_records(store, out)
        assert store.all() == () and store.texts() == {}


def test_another_record_of_the_same_id_is_refused(tmp_path: Path) -> None:
    out = tmp_path / "all.jsonl"
    with open_store(tmp_path) as store:
        filled(store, tmp_path)
        export_records(store, out)
        out.write_text(out.read_text().replace('"word": "ok"', '"word": "moved"'))
        with pytest.raises(RecordError, match="that of another record"):
            import_records(store, out)


def test_a_table_with_other_columns_or_cells_is_refused(tmp_path: Path) -> None:
    out = tmp_path / "all.csv"
    with open_store(tmp_path) as store:
        filled(store, tmp_path)
        export_records(store, out)
        with out.open(newline="") as file:
            rows = list(csv.reader(file))
        for change, message in (("gone", "other columns"), ("{", "a cell does not hold")):
            spoiled = [list(row) for row in rows]
            spoiled[0 if change == "gone" else -1][rows[0].index("reading")] = change
            with out.open("w", newline="") as file:
                csv.writer(file).writerows(spoiled)
            with pytest.raises(RecordError, match=message):
                import_records(store, out)


@pytest.mark.parametrize("name", ["all.txt", "nothing.jsonl", "bytes.csv"])
def test_a_file_that_cannot_be_read_is_said(tmp_path: Path, name: str) -> None:
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xfe\x00")
    with open_store(tmp_path) as store, pytest.raises(FileError):
        import_records(store, tmp_path / name)


def test_a_file_to_write_needs_a_known_ending(tmp_path: Path) -> None:
    with open_store(tmp_path) as store, pytest.raises(FirstoffError, match="ending"):
        export_records(store, tmp_path / "all.doc")
