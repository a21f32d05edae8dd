"""Where records leave their marks in a folder; loads nothing, so that a quick answer may look there."""

from __future__ import annotations

from pathlib import Path
from typing import Final

OWN_FIGURES: Final = "own-figures.npz"    #: the last learned set
LATEST: Final = "records.latest"          #: mark of the newest records, readable without a database


def kept_here(folder: Path) -> bool:
    """Whether there are records or own figures in a folder."""
    return any((folder / name).is_file() for name in (OWN_FIGURES, LATEST))
