"""Databases to keep records in: a file, and a server that the tests start."""

from __future__ import annotations

import uuid
from collections.abc import Iterator

import pytest

from . import server


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """A running server."""
    if server.program("initdb") is None:
        pytest.skip("no PostgreSQL server on this computer")
    with server.running() as folder:
        yield folder


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest) -> str | None:
    """Where to keep records: None for the file in the shop's folder."""
    if request.param == "sqlite":
        return None
    return server.database(request.getfixturevalue("postgres"), uuid.uuid4().hex)
