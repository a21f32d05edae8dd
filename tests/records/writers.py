"""Writers that are killed while they write: `python -m tests.records.writers FOLDER KILLS WRITERS [URL]`.

Each writer sends records with ids of its own and says which are confirmed; a killed one's successor sends again what
was not. One process is the nursery of all, so that a kill costs a fork and not a start of Python.
"""

from __future__ import annotations

import os
import random
import select
import signal
import sys
import time
import traceback
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from firstoff.records.store import Record, open_store

WHEN = datetime(2026, 3, 1, tzinfo=UTC)
#: a writer is killed at a random moment before it [s]
LONGEST = 0.06


def a_record(writer: int, number: int) -> Record:
    """The record of that writer and number."""
    return Record(WHEN, "word", "job", f"operation {number}", {}, {"word": "ok"}, by=f"{writer}",
                  id=f"{writer:08x}{number:024x}")


def write(folder: Path, url: str | None, writer: int, first: int, out: int) -> None:
    """Keep records until killed; each is confirmed in a line once it is kept, with a text as long as a snapshot."""
    with open_store(folder, url) as store:
        number = first
        while True:
            with store.writing():
                store.keep(f"{number} " * 2000)
                store.add(a_record(writer, number))
            os.write(out, f"{number}\n".encode())
            number += 1


def start(folder: Path, url: str | None, writer: int, first: int) -> tuple[int, int]:
    """A writer of its own process: its number, and where it confirms."""
    ear, mouth = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(ear)
            write(folder, url, writer, first, mouth)
        except BaseException:          # noqa: BLE001 a fork has nobody above it
            traceback.print_exc()      # the only one who will ever hear of it
            sys.stderr.flush()
        finally:
            os._exit(1)
    os.close(mouth)
    return child, ear


def confirmed(ear: int) -> int:
    """The last number that was confirmed, -1 for none; a line that the kill cut short was not heard."""
    heard = b""
    while select.select([ear], [], [], 0)[0] and (piece := os.read(ear, 65536)):
        heard += piece
    os.close(ear)
    lines = heard.split(b"\n")[:-1]
    return int(lines[-1]) if lines else -1


def main(folder: Path, kills: int, writers: int, url: str | None) -> None:
    """Kill writers so many times; then every confirmed record is there, once, and no other that was not sent."""
    moments, first = random.Random(5), [0] * writers
    with TemporaryDirectory() as warm, open_store(Path(warm)):
        pass                       # everything is imported: a fork is at work at once
    for turn in range(kills // writers):
        running = [start(folder, url, writer, first[writer]) for writer in range(writers)]
        if turn % 2:               # half of them while they open the database, half while they write
            select.select([ear for _, ear in running], [], [], 30.0)
        time.sleep(moments.uniform(0.0, LONGEST))
        for child, _ear in running:
            os.kill(child, signal.SIGKILL)
        for writer, (child, ear) in enumerate(running):
            _, status = os.waitpid(child, 0)
            assert os.WIFSIGNALED(status), "the writer ended by itself: it failed"
            first[writer] = max(first[writer], confirmed(ear) + 1)
    with open_store(folder, url) as store:
        kept = [(int(r.by), int(r.subject.split()[1])) for r in store.all()]
    assert len(kept) == len(set(kept)), "doubled"
    for writer in range(writers):
        numbers = {number for who, number in kept if who == writer}
        assert numbers >= set(range(first[writer])), "lost"
        assert numbers <= set(range(first[writer] + 1)), "more than was sent"
    sys.stdout.write(f"{kills // writers * writers} kills, {sum(first)} records confirmed, {len(kept)} kept\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), sys.argv[4] if len(sys.argv) > 4 else None)
