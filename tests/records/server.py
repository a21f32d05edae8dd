"""A PostgreSQL server of the tests' own, in a folder of its own, on a socket in it."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine, text
from sqlalchemy.exc import OperationalError
from sqlalchemy.pool import NullPool

USER = "firstoff"


def program(name: str) -> str | None:
    """A program of the server: on the path, or where Debian keeps it."""
    found = shutil.which(name) or next(map(str, sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))), None)
    return found if os.name == "posix" else None


def _somebody() -> dict[str, Any]:
    """The server refuses to run as root."""
    return {"user": "nobody", "group": "nogroup", "extra_groups": []} if os.getuid() == 0 else {}


@contextmanager
def running() -> Iterator[str]:
    """The address of a server, up to the name of the database."""
    initdb, postgres = program("initdb"), program("postgres")
    assert initdb is not None and postgres is not None
    with tempfile.TemporaryDirectory(prefix="firstoff-pg-", ignore_cleanup_errors=True) as folder:
        if os.getuid() == 0:
            shutil.chown(folder, "nobody", "nogroup")
        data = f"{folder}/data"
        subprocess.run([initdb, "-D", data, "-U", USER, "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"],
                       check=True, capture_output=True, cwd=folder, **_somebody())
        settings = [f"unix_socket_directories={folder}", "listen_addresses=", "fsync=off"]
        with Path(folder, "log").open("wb") as log, subprocess.Popen(
            [postgres, "-D", data, *(part for one in settings for part in ("-c", one))],
            stdout=log, stderr=log, cwd=folder, **_somebody(),
        ) as server:
            try:
                _wait(folder)
                yield folder
            finally:
                server.send_signal(signal.SIGINT)      # fast: it does not wait for clients
                server.wait(60)


def url(folder: str, name: str) -> str:
    """The URL of a database of that server."""
    return f"postgresql://{USER}@/{name}?host={folder}"


def database(folder: str, name: str) -> str:
    """A new database; returns its URL."""
    engine = create_engine(url(folder, "postgres").replace("postgresql:", "postgresql+psycopg:"),
                           isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with engine.connect() as connection:
        connection.execute(text(f'CREATE DATABASE "{name}"'))
    return url(folder, name)


def _wait(folder: str) -> None:
    engine = create_engine(url(folder, "postgres").replace("postgresql:", "postgresql+psycopg:"), poolclass=NullPool)
    for _ in range(600):
        try:
            with engine.connect():
                return
        except OperationalError:
            time.sleep(0.1)
    raise RuntimeError("the server did not start")
