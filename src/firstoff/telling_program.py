"""A program in a job, for the terminal and as JSON: which stretches want another feed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from .actions import Fed
    from .dryrun.stretches import Stretch

SHOWN: Final = 20        #: changes of feed that the terminal lists; all are in the JSON


def fed_json(found: Fed) -> dict[str, Any]:
    """The JSON of `firstoff program FILE --job JOB --operation OP`."""
    return {
        "operation": found.operation, "minutes": found.minutes, "lacking": list(found.lacking),
        "stretches": [{"line": s.line, "feed": s.feed, "better": s.feed * s.better, "good": s.good, "word": s.letter}
                      for s in found.stretches],
        "written": None if found.written is None else str(found.written),
    }


def fed_lines(found: Fed, file: str) -> Iterator[str]:
    """What to change, stretch by stretch."""
    if not found.stretches:
        yield f"{file}: no stretch of it cuts in {found.operation}" + "".join(f"; {why}" for why in found.lacking)
        return
    changed = [s for s in found.stretches if s.better != 1.0]
    stuck = [s for s in found.stretches if not s.good]
    cut, slower = (sum(s.letter == "F" for s in own) for own in (found.stretches, changed))
    many = "1 stretch that cuts" if cut == 1 else f"{cut} stretches that cut"
    yield (f"{file} for {found.operation}: {found.minutes:.1f} min, {many}, "
           f"{slower or 'none'} of them better slower.")
    alike: dict[tuple[str, float, str, bool], list[int]] = {}
    for stretch in changed:
        alike.setdefault((stretch.letter, stretch.feed, stretch.written, stretch.good), []).append(stretch.line)
    for (letter, feed, written, good), lines in list(alike.items())[:SHOWN]:
        more = f" and {len(lines) - 1} more lines" if len(lines) > 1 else ""
        rest_of_it = "" if good else " (better, though not good)"
        yield f"  line {lines[0]}{more}: {letter}{written}, not {letter}{feed:g}{rest_of_it}"
    if len(alike) > SHOWN:
        yield f"  and {len(alike) - SHOWN} others: --json has them all"
    rest = [s for s in stuck if s.better == 1.0 and s.letter == "F"]
    if rest:
        yield (f"  {len(rest)} stretches, the first in line {rest[0].line}, are not good, and no feed makes them so: "
               "firstoff check says why")
    if found.written is not None:
        yield (f"{found.written} is written: {_words(changed)} changed, each with a remark of what it was." if changed
               else f"{found.written} is written, and nothing in it is changed.")


def _words(changed: Sequence[Stretch]) -> str:
    """How many words of each letter."""
    counts = {letter: sum(s.letter == letter for s in changed) for letter in "FS"}
    said = [f"{count} {letter} words" for letter, count in counts.items() if count]
    return " and ".join(said)
