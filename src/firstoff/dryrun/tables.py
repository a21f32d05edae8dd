"""What each hold bears and lacks, kept between runs: by where a part is touched and cut, whatever its cut is."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final

import numpy as np

from ..checks._gives_way import tables
from ..checks.held import told
from .findings import sources_digest, write_atomically

FILE: Final = "holds.json"


def take_tables(folder: Path | None) -> None:
    """Take up the tables that earlier runs have computed, as long as nothing that they stand on was rewritten.

    Args:
        folder: of the cache; None for none.
    """
    file = folder / FILE if folder is not None else None
    if file is None or not file.is_file():
        return
    try:
        kept = json.loads(file.read_bytes())
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
    if folder is None or not (tables or told):
        return
    folder.mkdir(parents=True, exist_ok=True)
    said = {key: (rows.tolist(), worst) for key, (rows, worst) in tables.items()}
    raw = json.dumps({"sources": sources_digest(), "tables": said, "missing": told}).encode()
    file = folder / FILE
    if not file.is_file() or file.read_bytes() != raw:
        write_atomically(file, raw)
