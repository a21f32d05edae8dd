"""The database itself: opened, brought up to date, written by one at a time.

SQLite in the shop's folder by default (WAL, on disk before a write returns), PostgreSQL by URL.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError

from ..errors import InputError, MissingPackage

#: names the lock under which a shop's records are written in PostgreSQL
_LOCK: Final = 3_141_592
#: for another who writes a SQLite database [s]
_LONGEST_WAIT: Final = 30.0


def engine_for(url: str) -> Engine:
    """A database by its URL.

    Raises:
        InputError: if it is no URL of a database that can be used.
        MissingPackage: if PostgreSQL is asked for and its driver is not installed.
    """
    right = "sqlite:///FILE or postgresql://USER@HOST/NAME"
    try:
        place = make_url(url)
    except ArgumentError:
        raise InputError("that is no URL of a database", where="FIRSTOFF_RECORDS", right=right) from None
    kind = place.get_backend_name()
    if kind == "postgresql":
        if find_spec("psycopg") is None:
            raise MissingPackage("PostgreSQL needs its driver", right="pip install 'firstoff[postgres]'")
        return create_engine(place.set(drivername="postgresql+psycopg"))
    if kind != "sqlite":
        raise InputError(f"records cannot be kept in {kind!r}", where="FIRSTOFF_RECORDS", right=right)
    engine = create_engine(place)
    event.listen(engine, "connect", _sqlite_careful)
    event.listen(engine, "begin", _sqlite_begin)
    return engine


def _sqlite_careful(connection: Any, _record: Any) -> None:
    connection.isolation_level = None      # the driver would commit before each change of a table
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={_LONGEST_WAIT * 1000:.0f}")
    _write_ahead(cursor)
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.close()


def _write_ahead(cursor: Any) -> None:
    """Set the journal, waiting for others: two that open a new database at once collide here, and SQLite does not
    wait for its timeout then, lest both wait for each other."""
    end = time.monotonic() + _LONGEST_WAIT
    while True:
        try:
            cursor.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > end:
                raise
            time.sleep(0.01)


def _sqlite_begin(connection: Connection) -> None:
    """A writer takes its lock at once: one that had read before could not wait for another writer."""
    writing = connection.get_execution_options().get("writing")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that writes; others that write wait. All of it is kept, on disk, or nothing."""
    with engine.execution_options(writing=True).begin() as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text(f"SELECT pg_advisory_xact_lock({_LOCK})"))
        yield connection


def migrate(engine: Engine) -> None:
    """Bring the tables up to date; a kill in the midst leaves the database as it was."""
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
    with writing(engine) as connection:      # another may have done it meanwhile: then there is nothing to do
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
