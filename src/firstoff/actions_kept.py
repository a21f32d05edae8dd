"""What a user can ask of records as a whole: what worked before, out to a file, and in from one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from .errors import RecordError
from .work import kept_records, place_of_records

if TYPE_CHECKING:
    from .records.exchange import Came
    from .records.history import Tried


def history(folder: Path, *, shop: Path | None = None) -> tuple[Tried, ...]:
    """What was cut with what in this shop, and how it went."""
    from .records.history import tried

    with kept_records(folder, shop) as store:
        return () if store is None else tried(store)


def export_records(folder: Path, path: Path, *, shop: Path | None = None) -> int:
    """Write every record of the shop, and all that it was made of, to one file; returns how many.

    Raises:
        InputError: if there are none, or the file is neither JSON lines nor CSV by its ending.
    """
    from .records.exchange import export_records as write

    with kept_records(folder, shop) as store:
        if store is None:
            raise RecordError("there are no records yet", right="firstoff log JOB OPERATION ok")
        return write(store, path)


def import_records(folder: Path, path: Path, *, shop: Path | None = None) -> Came:
    """Take in a file of records, whole or not at all.

    Raises:
        InputError: if the file, or a line of it, cannot be used.
    """
    from .records.exchange import import_records as read
    from .records.store import open_store

    with open_store(place_of_records(folder, shop)) as store:
        return read(store, path)
