"""Killed at any moment of writing, even while the database is made: nothing confirmed is lost, nothing doubled."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.skipif(os.name != "posix", reason="kills and forks")
@pytest.mark.parametrize("writers", [1, 2])
def test_killed_at_any_moment(tmp_path: Path, url: str | None, writers: int) -> None:
    kills = int(os.environ.get("FIRSTOFF_KILLS", "20"))
    asked = [sys.executable, "-m", "tests.records.writers", str(tmp_path), str(kills), str(writers)]
    done = subprocess.run(asked + ([url] if url else []), cwd=ROOT, capture_output=True, text=True, check=False,
                          env={**os.environ, "PYTHONPATH": "src", "FIRSTOFF_RECORDS": ""})
    assert done.returncode == 0, done.stderr
    words = done.stdout.split()
    assert int(words[0]) == kills and int(words[2]) > 0
