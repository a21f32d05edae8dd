"""The records of a shop: append-only, in the shop's folder or at a URL.

Nothing is changed or deleted; a correction is a new record that says what it replaces. What the
operation looked like is kept by its contents, so that a record can be read again in ten years.
"""

from __future__ import annotations

import hashlib
import json
import os
import uuid
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Column, Connection, Engine, MetaData, String, Table, Text, func, select
from sqlalchemy.exc import SQLAlchemyError

from .. import __version__
from ..dryrun.findings import write_atomically
from ..errors import FileError, RecordError
from .database import engine_for, migrate, writing
from .places import LATEST
from .reading import SEEN

CALLED: Final = "chance"               #: in the conditions of a word: what was called its chance of failing then
FILE: Final = "records.sqlite"
FILES: Final = "records.files"         #: folder of recordings and pictures, each named by its contents

METADATA: Final = MetaData()
RECORDS: Final = Table(
    "records", METADATA,
    Column("id", String(32), primary_key=True),
    Column("moment", String(40), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("job", String(200), nullable=False),
    Column("subject", String(200), nullable=False),
    Column("snapshot", Text, nullable=False),
    Column("reading", Text, nullable=False),
    Column("conditions", Text, nullable=False),
    Column("replaces", String(32), nullable=True),
    Column("by", String(100), nullable=False),
    Column("version", String(20), nullable=False),
)
SNAPSHOTS: Final = Table(
    "snapshots", METADATA,
    Column("digest", String(40), primary_key=True),
    Column("body", Text, nullable=False),
)


@dataclass(frozen=True)
class Record:
    """What was seen, heard or measured, kept for ever. `reading` is raw: as it was read, with its unit."""

    when: datetime                               # with its zone
    kind: str                                    # word, seen, watts, size, file, note
    job: str
    subject: str                                 # operation, limit, or empty for the job as a whole
    snapshot: dict[str, str]                     # job, shop, route and parts by digest
    reading: dict[str, str]                      # word, chips, burr; value, unit, instrument, idle; file, digest
    conditions: dict[str, str] = field(default_factory=dict)      # feed override, note, chance as it was called
    replaces: str | None = None
    by: str = ""
    version: str = __version__
    id: str = field(default_factory=lambda: uuid.uuid4().hex)

    @property
    def says(self) -> tuple[str, str, str, dict[str, str], dict[str, str], str | None]:
        """What it says; the same id must not say two things. What the cut was called then is not of the person."""
        conditions = {name: text for name, text in self.conditions.items() if name != CALLED}
        return self.kind, self.job, self.subject, self.reading, conditions, self.replaces


class Store:
    """An open database of records."""

    def __init__(self, engine: Engine, folder: Path) -> None:
        self._engine, self.folder = engine, folder
        self._open: Connection | None = None

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """All that is kept within is on disk when this ends, or nothing of it is; others that write wait."""
        if self._open is not None:
            yield self._open
            return
        with writing(self._engine) as connection:
            self._open = connection
            try:
                yield connection
            finally:
                self._open = None
        self._mark()

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        if self._open is not None:
            yield self._open
            return
        with self._engine.connect() as connection:
            yield connection

    def add(self, record: Record) -> None:
        """Keep a record; it is on disk when this returns. The same id twice is one record.

        Raises:
            RecordError: if it replaces a record that is not there, or its id is that of another one.
        """
        self.add_all([record])

    def add_all(self, records: Iterable[Record]) -> None:
        """Keep records, all of them or none.

        Raises:
            RecordError: as for `add`.
        """
        with self.writing() as connection:
            for record in records:
                self._add(record, connection)

    def _add(self, record: Record, connection: Connection) -> None:
        if record.replaces is not None and self.get(record.replaces) is None:
            raise RecordError(f"there is no record {record.replaces!r} to replace", right="firstoff log without it")
        known = self.get(record.id)
        if known is None:
            connection.execute(RECORDS.insert(), [_row(record)])
        elif known.says != record.says:
            raise RecordError(f"the id {record.id!r} is that of another record", where=record.subject,
                              right="a new id, and --replaces if it corrects that one")

    def get(self, name: str) -> Record | None:
        """The record of that id, or None."""
        with self._reading() as connection:
            row = connection.execute(select(RECORDS).where(RECORDS.c.id == name)).mappings().first()
        return None if row is None else _record(dict(row))

    def all(self) -> tuple[Record, ...]:
        """Every record ever kept, oldest first."""
        with self._reading() as connection:
            rows = connection.execute(select(RECORDS)).mappings().all()
        return tuple(sorted((_record(dict(row)) for row in rows), key=lambda r: (r.when, r.id)))

    def valid(self) -> tuple[Record, ...]:
        """The records that no other one replaces."""
        records = self.all()
        replaced = {r.replaces for r in records if r.replaces}
        return tuple(r for r in records if r.id not in replaced)

    def mark(self) -> str:
        """A short name for which records there are: another one with every new record."""
        with self._reading() as connection:
            many, last = connection.execute(select(func.count(), func.max(RECORDS.c.id)).select_from(RECORDS)).one()
        return f"{many} {last or ''}".strip()

    def _mark(self) -> None:
        """Write down which records there are, for those who don't open the database."""
        mark, file = self.mark(), self.folder / LATEST
        if mark != "0" and (not file.is_file() or file.read_text(encoding="utf-8").strip() != mark):
            write_atomically(file, f"{mark}\n".encode())

    def keep(self, body: str) -> str:
        """Keep a text by its contents; returns its digest."""
        digest = digest_of(body)
        with self.writing() as connection:
            known = connection.execute(select(SNAPSHOTS.c.digest).where(SNAPSHOTS.c.digest == digest)).first()
            if known is None:
                connection.execute(SNAPSHOTS.insert(), [{"digest": digest, "body": body}])
        return digest

    def kept(self, digest: str) -> str:
        """The text of that digest.

        Raises:
            RecordError: if it is not there.
        """
        with self._reading() as connection:
            row = connection.execute(select(SNAPSHOTS.c.body).where(SNAPSHOTS.c.digest == digest)).first()
        if row is None:
            raise RecordError(f"the snapshot {digest[:8]} is missing from the database")
        return str(row[0])

    def texts(self) -> dict[str, str]:
        """Every text that is kept, by digest."""
        with self._reading() as connection:
            rows = connection.execute(select(SNAPSHOTS).order_by(SNAPSHOTS.c.digest)).all()
        return {str(digest): str(body) for digest, body in rows}

    def keep_file(self, body: bytes, ending: str) -> str:
        """Keep a recording or picture by its contents; returns its name in the folder of files."""
        name = f"{file_digest(body)}{ending.lower()}"
        place = self.folder / FILES
        if not (place / name).is_file():
            place.mkdir(exist_ok=True)
            write_atomically(place / name, body)
        return name

    def kept_file(self, name: str) -> bytes:
        """A recording or picture by its name.

        Raises:
            RecordError: if it is not there, or no longer what it was.
        """
        path = self.folder / FILES / name
        if not path.is_file():
            raise RecordError(f"the file {name} is missing", where=str(self.folder / FILES))
        body = path.read_bytes()
        if file_digest(body) != path.stem:
            raise RecordError(f"the file {name} is not what it was", where=str(self.folder / FILES))
        return body


def digest_of(body: str) -> str:
    """The name of a text by its contents."""
    return file_digest(body.encode())


def file_digest(body: bytes) -> str:
    """The name of bytes by their contents."""
    return hashlib.blake2b(body, digest_size=20).hexdigest()


def _row(record: Record) -> dict[str, str | None]:
    return {
        "id": record.id, "moment": record.when.isoformat(), "kind": record.kind, "job": record.job,
        "subject": record.subject, "snapshot": json.dumps(record.snapshot), "reading": json.dumps(record.reading),
        "conditions": json.dumps(record.conditions), "replaces": record.replaces, "by": record.by,
        "version": record.version,
    }


def _record(row: dict[str, Any]) -> Record:
    return Record(
        id=row["id"], when=datetime.fromisoformat(row["moment"]), kind=row["kind"], job=row["job"],
        subject=row["subject"], snapshot=json.loads(row["snapshot"]), reading=json.loads(row["reading"]),
        conditions=json.loads(row["conditions"]), replaces=row["replaces"], by=row["by"], version=row["version"],
    )


@contextmanager
def open_store(folder: Path, url: str | None = None) -> Iterator[Store]:
    """Open the records of a shop, making or migrating the database as needed.

    Args:
        folder: of the shop; holds `records.sqlite`, and recordings and pictures wherever the database is.
        url: of another database; FIRSTOFF_RECORDS in the environment says so for good.

    Raises:
        FileError: if the database cannot be opened.
    """
    url = url or os.environ.get("FIRSTOFF_RECORDS") or f"sqlite:///{(folder / FILE).resolve()}"
    engine = engine_for(url)
    try:
        migrate(engine)
        store = Store(engine, folder)
        store._mark()                  # one that was killed may have written a record, and no mark
        yield store
    except SQLAlchemyError as error:
        reason = str(getattr(error, "orig", None) or error).splitlines()[0]
        where = str(folder / FILE) if engine.dialect.name == "sqlite" else engine.url.render_as_string()
        raise FileError(f"the records cannot be opened: {reason}", where=where,
                        right="is it a database made by this program?") from None
    finally:
        engine.dispose()


def _of_lift(record: Record) -> str:
    """What was tried while the part was tightened: "lifted 0.02 mm", "parallels tight"."""
    if record.kind != "lift":
        return ""
    return f"lifted {record.reading['value']}" if "value" in record.reading else f"parallels {record.reading['word']}"


def record_says(record: Record) -> str:
    """What a record says, without who, when and of what: "sang, chip colour blue at 80 % of the feed, in scrap"."""
    reading = record.reading
    tried = f"{reading['word']} at {reading['value']}" if {"word", "value"} <= reading.keys() else ""
    tried = tried or _of_lift(record)
    what = tried or reading.get("word") or reading.get("value") or reading.get("recording") or reading.get("picture")
    seen = [f"{name.replace('_', ' ')} {reading[name]}" for name in SEEN if name in reading]
    note = record.conditions.get("note", "")
    read = [f"{key.replace('_', ' ')} {text}" for key, text in reading.items() if key != "file"]
    said = ", ".join(read if "test" in reading else [*([what] if what else []), *seen, *([note] if note else [])])
    tool = f" with the {reading['instrument']}" if reading.get("instrument") else ""
    idle = f" ({reading['idle']} running free)" if reading.get("idle") else ""
    fed = f" at {record.conditions['feed']} of the feed" if record.conditions.get("feed") else ""
    fed += f", {record.conditions['depth']} deep" if record.conditions.get("depth") else ""
    fed += ", in scrap" if record.conditions.get("scrap") else ""
    return f"{said}{tool}{idle}{fed}"


def record_line(record: Record) -> str:
    """A record in one line, for the terminal."""
    when = f"{record.when.astimezone():%Y-%m-%d %H:%M}"
    more = [word for word, there in ((f"by {record.by}", record.by),
                                     (f"instead of {(record.replaces or '')[:8]}", record.replaces)) if there]
    tail = f" ({', '.join(more)})" if more else ""
    return f"{record.id[:8]}  {when}  {record.subject or record.job}: {record_says(record)}{tail}"


def record_json(record: Record) -> dict[str, Any]:
    """A record as the interface prints it."""
    return {
        "id": record.id, "when": record.when.isoformat(), "kind": record.kind, "job": record.job,
        "subject": record.subject, "reading": record.reading, "conditions": record.conditions,
        "replaces": record.replaces, "by": record.by, "version": record.version,
    }
