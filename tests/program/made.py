"""Programs in lines, read: what the tests of this room share."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from firstoff.program.reading import Reading, Unit
from firstoff.program.tape import Tape
from firstoff.removal.moves import Kind, Move, Moves, joined

#: a beginning that leaves nothing in doubt
START = "G21 G17 G90 G94\nS1000 M3\nG0 X0 Y0 Z0\nF600\n"
FOLDER = Path(os.environ.get("FIRSTOFF_SHARED", Path(__file__).resolve().parents[3] / "shared")) / "programs"


def read_text(text: str, unit: Unit | None = None, fast: bool = True) -> tuple[Moves, Reading]:
    """The moves of a program in lines, and the reading of it."""
    reading = Reading(Tape(text.encode("latin-1")), unit, fast=fast)
    return joined(list(reading.chunks())), reading


def after_start(text: str) -> list[Move]:
    """The moves of lines that stand behind `START`, without the one of it."""
    moves, _ = read_text(START + text + "\nM2\n")
    return list(moves)[1:]


def told_of(text: str, unit: Unit | None = "mm") -> list[tuple[int, str]]:
    """What is told of a program."""
    _, reading = read_text(text, unit)
    return [(one.line, one.what) for one in reading.told]


def told_after_start(text: str) -> list[tuple[int, str]]:
    """What is told of lines behind `START`, counted from 1."""
    first = START.count("\n")
    return [(line - first, what) for line, what in told_of(START + text + "\nM2\n")]


def ends(moves: list[Move]) -> list[tuple[float, float, float]]:
    """Where moves end, rounded to what a person writes."""
    return [(round(x, 6) + 0.0, round(y, 6) + 0.0, round(z, 6) + 0.0) for x, y, z in (move.end for move in moves)]


def kinds(moves: list[Move]) -> str:
    """Kinds of moves, a letter each: R L C A (counter-clockwise) and S."""
    return "".join({Kind.RAPID: "R", Kind.LINE: "L", Kind.CLOCKWISE: "C", Kind.COUNTER: "A", Kind.STAND: "S"}[m.kind]
                   for m in moves)


def real_programs() -> list[Path]:
    """The real programs of the folder of published data, where it is there."""
    return sorted(path for path in FOLDER.glob("*.*") if path.suffix != ".md") if FOLDER.is_dir() else []


def real(name: str) -> Path:
    """One of them, or a skipped test."""
    path = FOLDER / name
    if not path.exists():
        pytest.skip(f"{name} is not there: set FIRSTOFF_SHARED to the folder of published data")
    return path
