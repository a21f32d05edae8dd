"""The listing of each program with pencil notes in its margin: only the stretches that matter. Plain texts only."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from ..checks._run import Run, Spot, deep
from ..checks.base import Case
from ..dryrun.result import Result
from ..dryrun.stretches import hardest_line
from .cards import Card

ABOUT: Final = 2         #: lines before and after one with a note
MOST: Final = 24         #: lines with a note in one listing
WIDEST: Final = 60       #: signs of a line that are printed
LEAST: Final = 0.02      #: [mm] a gouge less deep is rounding


def listings(result: Result) -> list[Card]:
    """A listing for each operation with a program on which there is something to note."""
    return [{"name": f"{case.op.number} {case.name}", "file": case.run.file, "rows": found}
            for case in result.cases if case.run is not None and (found := listing(case, result))]


def listing(case: Case, result: Result) -> list[Card]:
    """The rows of one operation's listing; none where there is no program, or nothing to note on it."""
    if case.run is None or case.operation is None:
        return []
    noted, lines = notes(case, result), _lines(result, case.run.file)
    return rows(lines, noted) if noted and lines else []


def notes(case: Case, result: Result) -> dict[int, str]:
    """What a pencil would write beside each line, the first lines of the worst."""
    run, found = case.run, dict[int, list[str]]()
    assert run is not None
    for line, words in (*_spots(run, result.job.units), *_hardest(case, result)):
        said = found.setdefault(line, [])
        if words not in said:
            said.append(words)
    return {line: "; ".join(said) for line, said in sorted(found.items())[:MOST] if line > 0}


def _spots(run: Run, units: str) -> Iterator[tuple[int, str]]:
    yield from ((spot.line, f"{spot.what}, {deep(spot.size, units)}") for spot in run.hits)
    yield from ((spot.line, "rapid through the work") for spot in run.rapids)
    yield from ((spot.line, "as fast as a rapid, in the work") for spot in run.fast)
    yield from ((spot.line, "spindle is off") for spot in run.off)
    yield from ((spot.line, f"{deep(spot.size, units)} into {spot.what}") for spot in run.gouges if spot.size > LEAST)
    if run.deepest.size > 0.0:
        yield run.deepest.line, f"{deep(run.deepest.size, units)} below the work"
    yield from _read(run.told)
    yield from ((spot.line, "where it goes can't be said") for spot in run.unsure)


def _read(told: tuple[Spot, ...]) -> Iterator[tuple[int, str]]:
    yield from ((spot.line, spot.what) for spot in told)


def _hardest(case: Case, result: Result) -> Iterator[tuple[int, str]]:
    """The checks that are not good, beside the line that cuts hardest."""
    mark = f"hardest in line {hardest_line(case)} "
    failing = [c.title for c in result.checks if c.operation == case.name and mark in f"{c.finding.because} "]
    if failing:
        yield hardest_line(case), f"cuts hardest: {', '.join(failing)}"


def _lines(result: Result, name: str) -> list[str]:
    """The lines of a program; none where the file went away since."""
    file = Path(result.route.file or result.job.file).parent / name
    try:
        return file.read_bytes().decode("latin-1").split("\n")
    except OSError:
        return []


def rows(lines: list[str], noted: dict[int, str]) -> list[Card]:
    """Lines about each note, and a gap where some are left out."""
    shown = sorted({n for line in noted for n in range(max(1, line - ABOUT), min(len(lines), line + ABOUT) + 1)})
    out: list[Card] = []
    before = 0
    for n in shown:
        if n != before + 1:
            out.append({"line": "", "text": "…", "note": ""})
        text = "".join(sign if sign.isprintable() else " " for sign in lines[n - 1].rstrip())
        out.append({"line": str(n), "text": text[:WIDEST], "note": noted.get(n, "")})
        before = n
    return out
