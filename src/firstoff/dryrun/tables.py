"""What holds bear and lack, and what cuts leave on, kept between runs: sizes and settings stand on many cuts."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final

import numpy as np
from pydantic_core import from_json

from ..checks._gives_way import tables
from ..checks._left_by import found
from ..checks.held import told
from .findings import write_atomically
from .keys import sources_digest

FILE: Final = "holds.json"
LEFT: Final = "left.bin"


def take_tables(folder: Path | None) -> None:
    """Take up the tables that earlier runs have computed, as long as nothing that they stand on was rewritten.

    Args:
        folder: of the cache; None for none.
    """
    if folder is None:
        return
    _take_left(folder / LEFT)
    file = folder / FILE
    if not file.is_file():
        return
    try:
        kept = from_json(file.read_bytes())
        if kept["sources"] == sources_digest():
            told.update(kept["missing"])
            tables.update({key: (np.array(rows, dtype=np.float64).reshape(len(rows), -1), int(worst))
                           for key, (rows, worst) in kept["tables"].items()})
    except (ValueError, TypeError, KeyError, AttributeError):
        return      # a damaged file is only a missing one


def keep_tables(folder: Path | None) -> None:
    """Keep the tables for later runs.

    Args:
        folder: of the cache; None for none.
    """
    if folder is None:
        return
    _keep_left(folder / LEFT)
    if not (tables or told):
        return
    folder.mkdir(parents=True, exist_ok=True)
    said = {key: (rows.tolist(), worst) for key, (rows, worst) in tables.items()}
    raw = json.dumps({"sources": sources_digest(), "tables": said, "missing": told}).encode()
    file = folder / FILE
    if not file.is_file() or file.read_bytes() != raw:
        write_atomically(file, raw)


def _take_left(file: Path) -> None:
    """Each with the figures that it stands on, their digest and its rows."""
    if not file.is_file():
        return
    head, _, body = file.read_bytes().partition(b"\n")
    try:
        kept = from_json(head)
        if kept["sources"] != sources_digest():
            return
        asked = [tuple(map(tuple, keys)) for keys in kept["asked"]]
        rows, at = np.frombuffer(body, dtype="<f8"), 0
        for name, which, digest, many in kept["left"]:
            one = asked[which], digest, rows[at:at + many]
            at += many
            if at <= len(rows) and all(known[:2] != one[:2] for known in found.get(name, ())):
                found[name] = (*found.get(name, ()), one)
    except (ValueError, TypeError, KeyError, IndexError, AttributeError):
        return      # a damaged file is only a missing one


def _keep_left(file: Path) -> None:
    each = [(name, *one) for name, some in tuple(found.items()) for one in some]
    asked = list(dict.fromkeys(keys for _, keys, _, _ in each))       # alike for many: one machine, tool and metal
    left = [(name, asked.index(keys), digest, len(rows)) for name, keys, digest, rows in each]
    raw = json.dumps({"sources": sources_digest(), "asked": asked, "left": left}).encode()
    if not each or (file.is_file() and _head(file) == raw):
        return
    file.parent.mkdir(parents=True, exist_ok=True)
    write_atomically(file, b"\n".join([raw, b"".join(rows.astype("<f8").tobytes() for *_, rows in each)]))


def _head(file: Path) -> bytes:
    with file.open("rb") as opened:
        return opened.readline().rstrip(b"\n")
