"""What `firstoff mill-test` says of tests that were done. No arithmetic here."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from .telling import wrapped

if TYPE_CHECKING:
    from .records.mill_hour import Done


def done_lines(done: Done) -> Iterator[str]:
    """What changed, a sentence each, and what to read again."""
    for text in done.lines:
        yield from wrapped(text, 2)
    for text in done.strange:
        yield from wrapped(f"look again: {text}", 2)
    if not done.learned.settled:
        yield from wrapped("the figures have not settled: do another test", 2)


def done_json(done: Done) -> dict[str, Any]:
    """The object that `mill-test --json` prints."""
    return {
        "machine": done.machine, "tests": list(done.tests), "changed": list(done.lines),
        "look_again": list(done.strange),
        "records": done.learned.records, "settled": done.learned.settled,
        "moved": sorted(f"{a} {b}" for a, b in done.learned.moved),
    }
