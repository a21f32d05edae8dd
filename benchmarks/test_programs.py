"""How fast programs are read: words a second on one core, plain and block by block; wanted 10^6 for plain ones.

A surface in short steps, made here, and where it is there the real one of the folder of published data, both repeated
to a few megabytes. Words are counted as letters with numbers. Run with `make benchmark`; nothing fails on time.
"""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pytest

from tests.program.made import FOLDER

HEAD = "G20 G17 G90 F30 S100 M3\nG0 X0 Y0 Z1\n"
SLOW_LINES = 20_000


def surface(blocks: int) -> str:
    """Straight steps over hills, in rows."""
    rows = [f"G1 X{x / 40:.4f} Y{x % 97 / 20:.4f} Z{0.05 * math.sin(x / 7):.4f}" + (" F200." if x % 50 == 0 else "")
            for x in range(blocks)]
    return "\n".join(rows) + "\n"


def texts() -> dict[str, str]:
    """A made program and the real one."""
    found = {"made": HEAD + surface(5000) * 40 + "M2\n"}
    real = FOLDER / "surfacing_inch.ncc"
    if real.exists():
        found["real"] = re.sub(r"(?m)^.*\bM(30|0?2)\b.*$", "", real.read_text()) * 25
    return found


def run(path: Path, fast: bool) -> int:
    """Moves in it."""
    from firstoff.program.reading import read

    return sum(len(chunk) for chunk in read(path, fast=fast).chunks())


@pytest.mark.parametrize("name", sorted(texts()))
@pytest.mark.parametrize("fast", [True, False], ids=["plain", "block by block"])
def test_words_a_second(benchmark: Any, tmp_path: Path, name: str, fast: bool) -> None:
    text = texts()[name]
    if not fast:
        text = "".join(text.splitlines(keepends=True)[:SLOW_LINES])
    path = tmp_path / "a.nc"
    path.write_text(text)
    words = len(re.findall(r"[A-Z][-+.\d]+", re.sub(r"\([^)]*\)", "", text)))
    assert benchmark.pedantic(run, args=(path, fast), rounds=3, warmup_rounds=1) > 0.2 * text.count("\n")
    benchmark.extra_info["words_a_second"] = round(words / benchmark.stats.stats.min)


def test_the_whole_answer(benchmark: Any, tmp_path: Path) -> None:
    """Reading, times with looking ahead, sums: what `firstoff program` does after its imports."""
    from firstoff.program.report import understood
    from firstoff.program.timing import Limits

    path = tmp_path / "a.nc"
    path.write_text(HEAD + surface(100_000) + "M2\n")
    limits = Limits((25.0,) * 3, (25.0,) * 3, (200.0,) * 3)
    found = benchmark.pedantic(understood, args=(path, ("a mill", limits)), rounds=3, warmup_rounds=1)
    assert found.summary.moves == 100_001
