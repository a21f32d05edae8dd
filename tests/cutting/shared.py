"""The folder of published tables that lies outside the project; tests that want one skip without it."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

SHARED = Path(os.environ.get("FIRSTOFF_SHARED", Path(__file__).resolve().parents[3] / "shared"))
FOLDER = SHARED / "reference"


def table(name: str) -> Any:
    """A table of the folder, or a skipped test."""
    path = FOLDER / name
    if not path.exists():
        pytest.skip(f"{name} is not there: set FIRSTOFF_SHARED to the folder of published tables")
    return json.loads(path.read_text(encoding="utf-8"))
