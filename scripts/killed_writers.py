"""Writers killed at 200 random moments, on a file and on a server, for docs/validation.md.

    python scripts/killed_writers.py
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from validate import PAGE, place

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
KILLS = 200


def killed(url: str | None, writers: int) -> str:
    """What the run says: kills, records confirmed, records kept. It fails if one is lost or doubled."""
    with tempfile.TemporaryDirectory() as folder:
        asked = [sys.executable, "-m", "tests.records.writers", folder, str(KILLS), str(writers)]
        done = subprocess.run(asked + ([url] if url else []), cwd=ROOT, check=True, capture_output=True, text=True,
                              env={**os.environ, "FIRSTOFF_RECORDS": ""})
    return done.stdout.strip()


def row(name: str, url: str | None, writers: int) -> str:
    """A row of the table."""
    kills, confirmed, kept = (part.split()[0] for part in killed(url, writers).split(", "))
    return f"| {name} | {writers} | {kills} | {confirmed} | {kept} | 0 | 0 |"


def main() -> int:
    """Writes the table."""
    from tests.records import server

    rows = [row("file", None, writers) for writers in (1, 2)]
    if server.program("initdb") is not None:
        with server.running() as folder:
            rows += [row("server", server.database(folder, f"killed{n}"), n) for n in (1, 2)]
    place(PAGE, "killed writers", [
        "## Records: writers killed while they write", "",
        "Each writer is killed at a random moment, half of them while they open a database that may not be made yet;",
        "its successor sends again what was not confirmed. At most one more than was confirmed may be kept of each.",
        "", "| database | writers at once | kills | confirmed | kept | lost | doubled |",
        "|---|---:|---:|---:|---:|---:|---:|", *rows])
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
