"""Records, all that they were made of, and their recordings and pictures as one file, and back: nothing is lost.

JSON lines or CSV, one item a line: what it is (record, snapshot, file) and its fields. What comes in is checked
against its digests and taken whole or not at all; what is there already stays one.
"""

from __future__ import annotations

import base64
import binascii
import csv
import io
import json
import re
from collections.abc import Iterator
from dataclasses import asdict, fields
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final, NamedTuple

from ..errors import FileError, RecordError
from .logging import AHEAD, PICTURES, RECORDINGS
from .store import Record, Store, digest_of, file_digest

#: fields of a record that hold several values: JSON in a cell of CSV
_NESTED: Final = ("snapshot", "reading", "conditions")
_NAMES: Final = tuple(field.name for field in fields(Record))
_COLUMNS: Final = ("what", *_NAMES, "digest", "body")
_KINDS: Final = ("word", "seen", "watts", "size", "pull", "lift", "file", "note", "mill_test")
#: longest texts that the database's columns hold
_LONGEST: Final = {"id": 32, "kind": 16, "job": 200, "subject": 200, "by": 100, "version": 20}

Item = dict[str, Any]


class Came(NamedTuple):
    """How much came in, and how much of it was there already."""

    records: int
    known: int
    files: int


def export_records(store: Store, path: Path) -> int:
    """Write everything to a file, JSON lines or CSV by its ending; returns how many records.

    Raises:
        FileError: if the ending is neither.
    """
    writer = {".jsonl": _as_lines, ".csv": _as_csv}.get(path.suffix.lower())
    if writer is None:
        raise FileError("the ending does not tell what to write", where=str(path), right="FILE.jsonl or FILE.csv")
    items = list(_items(store))
    path.write_bytes(writer(items).encode())
    return sum(item["what"] == "record" for item in items)


def _items(store: Store) -> Iterator[Item]:
    """Texts and files first, then the records that speak of them."""
    for digest, body in store.texts().items():
        yield {"what": "snapshot", "digest": digest, "body": body}
    records = store.all()
    for name in sorted({r.reading["file"] for r in records if "file" in r.reading}):
        yield {"what": "file", "digest": name, "body": base64.b64encode(store.kept_file(name)).decode()}
    for record in records:
        yield {"what": "record", **asdict(record), "when": record.when.isoformat()}


def _as_lines(items: list[Item]) -> str:
    return "".join(json.dumps(item) + "\n" for item in items)


def _as_csv(items: list[Item]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, _COLUMNS, lineterminator="\n")
    writer.writeheader()
    for item in items:
        writer.writerow({k: json.dumps(v) if k in _NESTED else v for k, v in item.items()})
    return out.getvalue()


def import_records(store: Store, path: Path) -> Came:
    """Take in a file that `export_records` wrote, here or elsewhere: all of it, or nothing.

    Raises:
        FileError: if it is not there, or of another kind.
        RecordError: if a line of it cannot be true; the message names the line.
    """
    reader = {".jsonl": _from_lines, ".csv": _from_csv}.get(path.suffix.lower())
    if reader is None or not path.is_file():
        raise FileError("there is no such file" if reader else "is neither JSON lines nor CSV", where=str(path),
                        right="FILE.jsonl or FILE.csv, written by --export")
    try:
        text = path.read_bytes().decode()
    except UnicodeDecodeError:
        raise FileError("is not text in UTF-8", where=str(path)) from None
    items = list(reader(text, path))
    before = {r.id for r in store.all()}
    with store.writing():
        records = [_take(item, store, f"{path}, item {i}") for i, item in enumerate(items, 1)]
        found = _in_turn([r for r in records if r is not None])
        _nothing_missing(found, store)
        store.add_all(found)
    files = sum(item["what"] == "file" for item in items)
    return Came(len({r.id for r in found} - before), len({r.id for r in found} & before), files)


def _nothing_missing(records: list[Record], store: Store) -> None:
    """Every text and file that a record speaks of came with it, or was there."""
    known = store.texts().keys()
    for record in records:
        for what, digest in record.snapshot.items():
            if digest not in known:
                raise RecordError(f"its {what} ({digest[:8]}) is missing", where=f"record {record.id}")
        if "file" in record.reading:
            store.kept_file(record.reading["file"])


def _from_lines(text: str, path: Path) -> Iterator[Item]:
    for number, line in enumerate(text.split("\n"), 1):
        if not line.strip():
            continue
        try:
            item = json.loads(line)
        except (ValueError, RecursionError):
            item = None
        if not isinstance(item, dict):
            raise RecordError("is not a JSON object", where=f"{path}, line {number}")
        yield item


def _from_csv(text: str, path: Path) -> Iterator[Item]:
    longest = csv.field_size_limit(2**31 - 1)
    try:
        reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
        if tuple(reader.fieldnames or ()) != _COLUMNS:
            raise RecordError("has other columns", where=str(path), right=",".join(_COLUMNS))
        for row in reader:
            yield _item(row, f"{path}, line {reader.line_num}")
    except csv.Error as error:
        raise RecordError(f"is no table: {error}", where=str(path)) from None
    finally:
        csv.field_size_limit(longest)


def _item(row: dict[str, Any], where: str) -> Item:
    """A row of a table as an item: cells of several values read, those that belong to another kind left out."""
    names = _NAMES if row["what"] == "record" else ("digest", "body")
    try:
        item = {name: json.loads(row[name]) if name in _NESTED else row[name] for name in names}
    except (ValueError, TypeError):
        raise RecordError("a cell does not hold what it should", where=where, right=", ".join(_NESTED)) from None
    if "replaces" in item:
        item["replaces"] = item["replaces"] or None
    return {"what": row["what"], **item}


def _take(item: Item, store: Store, where: str) -> Record | None:
    """Keep a text or a file; a record is only read."""
    what = item.get("what")
    if what == "record":
        return _record(item, where)
    if what not in ("snapshot", "file") or not all(isinstance(item.get(k), str) for k in ("digest", "body")):
        raise RecordError(f"{what!r} is not kept", where=where, right="record, snapshot or file, with its fields")
    if what == "snapshot":
        if digest_of(item["body"]) != item["digest"]:
            raise RecordError("this text is not what its digest says", where=where)
        store.keep(item["body"])
        return None
    _take_file(item, store, where)
    return None


def _take_file(item: Item, store: Store, where: str) -> None:
    try:
        body = base64.b64decode(item["body"], validate=True)
    except (binascii.Error, ValueError):
        raise RecordError("this file is garbled", where=where) from None
    digest, dot, ending = item["digest"].partition(".")
    if file_digest(body) != digest or dot + ending not in (*RECORDINGS, *PICTURES):
        raise RecordError("this file is not what its name says", where=where)
    store.keep_file(body, dot + ending)


def _record(item: Item, where: str) -> Record:
    """A record as it was exported.

    Raises:
        RecordError: if a field is missing, too long, of another kind, or a time that cannot be.
    """
    plain = {k: v for k, v in item.items() if k != "what"}
    if set(plain) != set(_NAMES):
        wrong = sorted(set(plain) ^ set(_NAMES))
        raise RecordError(f"has not the fields of a record: {', '.join(wrong)}", where=where, right=", ".join(_NAMES))
    for name, value in plain.items():
        _holds(name, value, where)
    when = _time(plain["when"], where)
    return Record(**{**plain, "when": when})


def _holds(name: str, value: Any, where: str) -> None:
    if name in _NESTED:
        right = isinstance(value, dict) and all(isinstance(v, str) and _text(v) for v in (*value, *value.values()))
    elif name == "replaces" and value is None:
        right = True
    else:
        right = isinstance(value, str) and _text(value) and len(value) <= _LONGEST.get(name, 40)
    if name == "id":
        right = right and re.fullmatch(r"[0-9a-f]{32}", value) is not None
    if name == "kind":
        right = right and value in _KINDS
    if not right:
        raise RecordError(f"{name} does not hold what it should: {str(value)[:60]!r}", where=where)


def _text(value: str) -> bool:
    """Whether any database can hold it."""
    return "\0" not in value and not any(0xD800 <= ord(c) < 0xE000 for c in value)


def _time(text: str, where: str) -> datetime:
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        raise RecordError(f"{text!r} is no date", where=where) from None
    if when.tzinfo is None or when > datetime.now(UTC) + AHEAD:
        raise RecordError(f"{text} has no zone, or has not come yet", where=where)
    return when


def _in_turn(records: list[Record]) -> list[Record]:
    """What is replaced comes before what replaces it."""
    left, out, there = list(records), [], {r.id for r in records}
    done: set[str] = set()
    while left:
        ready = [r for r in left if r.replaces is None or r.replaces in done or r.replaces not in there]
        if not ready:
            raise RecordError("records replace each other in a ring", right="a correction is newer than its record")
        out += ready
        done |= {r.id for r in ready}
        left = [r for r in left if r.id not in done]
    return out
