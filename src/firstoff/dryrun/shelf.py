"""A shelf on disk for what was computed once: by key, in one file, the oldest put away first.

Nothing on it is worth an error: what cannot be read is computed again, what cannot be written is not kept.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterator, Sequence
from contextlib import closing, suppress
from pathlib import Path
from typing import Final

#: how long another that writes on it is waited for [s]
_WAIT: Final = 5.0
#: rows of chances fit into a page, three of them
_PAGE: Final = 65536
#: keys that are looked up in one question; no build of SQLite takes fewer than 999
_AT_ONCE: Final = 900
#: what a file says that is whole, and no shelf, or no longer whole
_NO_SHELF: Final = (sqlite3.SQLITE_ERROR, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
_TABLE: Final = ("CREATE TABLE IF NOT EXISTS kept (place INTEGER PRIMARY KEY, key TEXT NOT NULL,"
                 " variant TEXT NOT NULL, data BLOB NOT NULL, UNIQUE (key, variant))")


class Shelf:
    """Bytes by key, several variants under one, in the file of that name; without one it keeps nothing."""

    def __init__(self, file: Path | None) -> None:
        self._file = file
        self._open: sqlite3.Connection | None = None

    def under(self, key: str) -> Iterator[bytes]:
        """All that stands under a key, the latest first."""
        try:
            shelf = self._opened(new=False)
            if shelf is not None:
                for data, in shelf.execute("SELECT data FROM kept WHERE key = ? ORDER BY place DESC", (key,)):
                    yield data
        except (sqlite3.Error, OSError):
            self._damaged()

    def latest(self, keys: Sequence[str]) -> Iterator[tuple[str, bytes]]:
        """What was put last under each of some keys, looked up at one go; a key is left out where nothing is."""
        try:
            shelf = self._opened(new=False)
            for start in range(0, len(keys) if shelf is not None else 0, _AT_ONCE):
                some = keys[start:start + _AT_ONCE]
                last = f"SELECT max(place) FROM kept WHERE key IN ({','.join('?' * len(some))}) GROUP BY key"
                assert shelf is not None
                yield from shelf.execute(f"SELECT key, data FROM kept WHERE place IN ({last})", some)
        except (sqlite3.Error, OSError):
            self._damaged()

    def put(self, key: str, variant: str, data: bytes) -> None:
        """Keep it, instead of what stood there."""
        try:
            shelf = self._opened(new=True)
            if shelf is not None:
                shelf.execute("INSERT OR REPLACE INTO kept (key, variant, data) VALUES (?, ?, ?)",
                              (key, variant, data))
        except (sqlite3.Error, OSError):
            self._damaged()

    def prune(self, most: int, spare: int, used: Collection[tuple[str, str]]) -> None:
        """Put the oldest away beyond so many, but for those in use, once there are `spare` more than that."""
        try:
            shelf = self._opened(new=False)
            if shelf is None or shelf.execute("SELECT count(*) FROM kept").fetchone()[0] <= most + spare:
                return
            old = [(key, variant) for key, variant in
                   shelf.execute("SELECT key, variant FROM kept ORDER BY place DESC") if (key, variant) not in used]
            shelf.execute("BEGIN IMMEDIATE")
            shelf.executemany("DELETE FROM kept WHERE key = ? AND variant = ?", old[max(0, most - len(used)):])
            shelf.execute("COMMIT")
        except (sqlite3.Error, OSError):
            self._damaged()

    def close(self) -> None:
        """Let go of the file; it is opened again when it is asked for."""
        if self._open is not None:
            self._open.close()
        self._open = None

    def _opened(self, *, new: bool) -> sqlite3.Connection | None:
        if self._open is None and self._file is not None and (new or self._file.is_file()):
            self._file.parent.mkdir(parents=True, exist_ok=True)
            self._open = sqlite3.connect(self._file, timeout=_WAIT, isolation_level=None, check_same_thread=False)
            self._open.execute(f"PRAGMA page_size={_PAGE}")
            self._open.execute("PRAGMA synchronous=OFF")        # all of it can be computed again
            self._open.execute("PRAGMA journal_mode=TRUNCATE")
            self._open.execute(_TABLE)
        return self._open

    def _damaged(self) -> None:
        """Go on without it; a file that is no shelf any more makes room for a new one next time."""
        file = self._file
        self.close()
        self._file = None
        if file is not None and file.is_file() and not _is_shelf(file):
            with suppress(OSError):
                file.unlink()


def _is_shelf(file: Path) -> bool:
    """Whether the file is whole, or only somebody or something keeps us from it."""
    try:
        with closing(sqlite3.connect(file, timeout=_WAIT)) as shelf:
            shelf.execute("SELECT key, variant, data FROM kept ORDER BY place LIMIT 1").fetchall()
            return bool(shelf.execute("PRAGMA quick_check").fetchone() == ("ok",))
    except sqlite3.Error as error:
        return error.sqlite_errorcode & 0xFF not in _NO_SHELF
