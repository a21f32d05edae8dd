"""Own figures: the last learned rows of some columns, a cache beside the records. Only `learn` writes it."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from ..belief import Belief, Key, Rows
from ..dryrun.findings import write_atomically
from ..dryrun.keys import sources_digest
from .places import LATEST, OWN_FIGURES

if TYPE_CHECKING:
    from .learn import Learned

FILE: Final = OWN_FIGURES
_UNLEARNED: Final = "book figures only; there are records: run firstoff learn"


@dataclass(frozen=True)
class Figures:
    """Own figures as they were learned, with a note for the person."""

    moved: Mapping[Key, Rows]
    note: str
    spoken: Mapping[Key, int] = field(default_factory=dict)     # how many records speak of each


def book_digest(belief: Belief, keys: list[Key]) -> str:
    """A name for the book figures under these columns: when they change, what was learned is older."""
    hasher = hashlib.blake2b(digest_size=12)
    for key in keys:
        hasher.update(repr(belief.columns.get(key)).encode())
    return hasher.hexdigest()


def write_figures(folder: Path, learned: Learned) -> None:
    """Keep what was learned."""
    keys = sorted(learned.moved)
    head = {
        "keys": keys, "records": learned.records, "latest": learned.latest, "rows": learned.rows,
        "seed": learned.seed, "sources": sources_digest(), "book": learned.book,
        "spoken": [learned.spoken.get(key, 0) for key in keys],
    }
    rows = np.stack([learned.moved[key] for key in keys]) if keys else np.zeros((0, learned.rows))
    buffer = io.BytesIO()
    np.savez_compressed(buffer, head=np.frombuffer(json.dumps(head).encode(), dtype=np.uint8), rows=rows)
    write_atomically(folder / FILE, buffer.getvalue())


def read_figures(folder: Path, belief: Belief) -> Figures | None:
    """The last learned figures, or None; the note says whether records or program are newer."""
    path = folder / FILE
    if not path.is_file():
        return Figures({}, _UNLEARNED) if (folder / LATEST).is_file() else None
    from zipfile import BadZipFile  # only where figures were learned

    try:
        head, rows = _read(path.read_bytes())
    except (ValueError, KeyError, EOFError, OSError, BadZipFile):
        return Figures({}, "the own figures cannot be read, book figures only: run firstoff learn again")
    if (head["rows"], head["seed"]) != (belief.rows, belief.seed):
        return Figures({}, "own figures were learned with other rows: run firstoff learn again")
    keys: list[Key] = [(a, b) for a, b in head["keys"]]
    moved = {key: rows[i] for i, key in enumerate(keys) if key in belief.columns}
    spoken = dict(zip(keys, head.get("spoken", []), strict=False))
    return Figures(moved, _note(head, folder, belief, keys), {key: many for key, many in spoken.items() if many})


def _read(raw: bytes) -> tuple[dict[str, Any], Rows]:
    """What `write_figures` wrote; the file must hold no code."""
    with np.load(io.BytesIO(raw), allow_pickle=False) as file:
        head: dict[str, Any] = json.loads(file["head"].tobytes())
        rows = np.asarray(file["rows"], dtype=np.float64)
    if rows.shape != (len(head["keys"]), head["rows"]):
        raise ValueError(f"{rows.shape} rows for {len(head['keys'])} figures")
    return head, rows


def _note(head: dict[str, object], folder: Path, belief: Belief, keys: list[Key]) -> str:
    note = f"own figures from {head['records']} records, book figures else"
    latest = folder / LATEST
    if latest.is_file() and latest.read_text(encoding="utf-8").strip() != head["latest"]:
        note += "; there are newer records: run firstoff learn"
    elif head["sources"] != sources_digest() or head["book"] != book_digest(belief, keys):
        note += "; the program or the book figures are newer: run firstoff learn"
    return note
