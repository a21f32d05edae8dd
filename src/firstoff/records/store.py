"""The database of records: append-only, in the shop's folder (SQLite, WAL) or at a URL.

Nothing is changed or deleted; a correction is a new record that says what it replaces. What the
operation looked like is kept by its contents, so that a record can be read again in ten years.
"""

from __future__ import annotations

import hashlib
import json
import os
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Column, Connection, Engine, MetaData, String, Table, Text, create_engine, event, insert, select
from sqlalchemy.exc import IntegrityError, SQLAlchemyError

from .. import __version__
from ..errors import FileError, RecordError

FILE: Final = "records.sqlite"
LATEST: Final = "records.latest"       #: id of the newest record, readable without a database

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

    when: datetime
    kind: str                                    # word, watts, size
    job: str
    subject: str                                 # operation or limit
    snapshot: dict[str, str]                     # job, shop, route and parts by digest
    reading: dict[str, str]                      # word; or value, unit, instrument, idle
    conditions: dict[str, str] = field(default_factory=dict)
    replaces: str | None = None
    by: str = ""
    version: str = __version__
    id: str = field(default_factory=lambda: uuid.uuid4().hex)


class Store:
    """An open database of records."""

    def __init__(self, connection: Connection, folder: Path | None) -> None:
        self._connection, self._folder = connection, folder

    def add(self, record: Record) -> None:
        """Keep a record; it is on disk when this returns. The same id twice is one record.

        Raises:
            RecordError: if it replaces a record that is not there, or cannot be kept.
        """
        if record.replaces is not None and record.replaces not in {r.id for r in self.all()}:
            raise RecordError(f"there is no record {record.replaces!r} to replace", right="firstoff log without it")
        row = {
            "id": record.id, "moment": record.when.isoformat(), "kind": record.kind, "job": record.job,
            "subject": record.subject, "snapshot": json.dumps(record.snapshot),
            "reading": json.dumps(record.reading), "conditions": json.dumps(record.conditions),
            "replaces": record.replaces, "by": record.by, "version": record.version,
        }
        try:
            self._connection.execute(insert(RECORDS), [row])
            self._connection.commit()
        except IntegrityError:
            self._connection.rollback()
            if record.id not in {r.id for r in self.all()}:
                raise RecordError("the record could not be kept") from None
        if self._folder is not None:
            (self._folder / LATEST).write_text(record.id + "\n", encoding="utf-8")

    def all(self) -> tuple[Record, ...]:
        """Every record ever kept, oldest first."""
        rows = self._connection.execute(select(RECORDS).order_by(RECORDS.c.moment, RECORDS.c.id)).mappings()
        return tuple(_record(dict(row)) for row in rows)

    def valid(self) -> tuple[Record, ...]:
        """The records that no later one replaces."""
        records = self.all()
        replaced = {r.replaces for r in records if r.replaces}
        return tuple(r for r in records if r.id not in replaced)

    def keep(self, body: str) -> str:
        """Keep a text by its contents; returns its digest."""
        digest = hashlib.blake2b(body.encode(), digest_size=20).hexdigest()
        known = self._connection.execute(select(SNAPSHOTS.c.digest).where(SNAPSHOTS.c.digest == digest)).first()
        if known is None:
            self._connection.execute(insert(SNAPSHOTS), [{"digest": digest, "body": body}])
        return digest

    def kept(self, digest: str) -> str:
        """The text of that digest.

        Raises:
            RecordError: if it is not there.
        """
        row = self._connection.execute(select(SNAPSHOTS.c.body).where(SNAPSHOTS.c.digest == digest)).first()
        if row is None:
            raise RecordError(f"the snapshot {digest[:8]} is missing from the database")
        return str(row[0])


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
        folder: of the shop; holds `records.sqlite`.
        url: of another database; FIRSTOFF_RECORDS in the environment says so for good.

    Raises:
        FileError: if the database cannot be opened.
    """
    url = url or os.environ.get("FIRSTOFF_RECORDS") or f"sqlite:///{(folder / FILE).resolve()}"
    engine = create_engine(url)
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _sqlite_careful)
    try:
        _migrate(engine)
        with engine.connect() as connection:
            yield Store(connection, folder)
            connection.commit()
    except SQLAlchemyError as error:
        reason = str(getattr(error, "orig", None) or error).splitlines()[0]
        raise FileError(f"the records cannot be opened: {reason}", where=str(folder / FILE),
                        right="is it a database made by this program?") from None
    finally:
        engine.dispose()


def _sqlite_careful(connection: Any, _record: Any) -> None:
    cursor = connection.cursor()
    for line in ("journal_mode=WAL", "synchronous=FULL", "busy_timeout=10000"):
        cursor.execute(f"PRAGMA {line}")
    cursor.close()


def _migrate(engine: Engine) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.runtime.migration import MigrationContext
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    head = ScriptDirectory.from_config(config).get_current_head()
    with engine.connect() as connection:
        if MigrationContext.configure(connection).get_current_revision() == head:
            return
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def record_line(record: Record) -> str:
    """A record in one line, for the terminal."""
    reading = record.reading
    said = reading.get("word") or f"{reading.get('value', '')}"
    tool = f" with the {reading['instrument']}" if reading.get("instrument") else ""
    idle = f" ({reading['idle']} running free)" if reading.get("idle") else ""
    return f"{record.id[:8]}  {record.when.astimezone(UTC):%Y-%m-%d %H:%M}  {record.subject}: {said}{tool}{idle}"


def record_json(record: Record) -> dict[str, Any]:
    """A record as the interface prints it."""
    return {
        "id": record.id, "when": record.when.isoformat(), "kind": record.kind, "job": record.job,
        "subject": record.subject, "reading": record.reading, "conditions": record.conditions,
        "replaces": record.replaces, "by": record.by, "version": record.version,
    }
