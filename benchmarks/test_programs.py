"""How fast programs are read: words a second on one core, plain and block by block; wanted 10^6 for plain ones.

A surface in short steps, made here, and where it is there the real one of the folder of published data, both repeated
to a few megabytes. Words are counted as letters with numbers. Run with `make benchmark`; nothing fails on time.
"""

from __future__ import annotations

import math
import re
import subprocess
import sys
import time
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
    assert timed(benchmark, path, words, fast) > 0.2 * text.count("\n")


def timed(benchmark: Any, path: Path, words: int, fast: bool = True) -> int:
    """Moves in a program; `words_a_second` of processor time, the best of five rounds."""
    spent: list[float] = []

    def whole() -> int:
        begin = time.process_time()
        moves = run(path, fast)
        spent.append(time.process_time() - begin)
        return moves

    moves = int(benchmark.pedantic(whole, rounds=5, warmup_rounds=1))
    benchmark.extra_info["words_a_second"] = round(words / min(spent))
    return moves


#: a cone in turns of 5°: words are letters, variables that are set, and what steers
LOOPS = """G21 G17 G90 G94
S5000 M3
G0 X20 Y0 Z5
#1=0
WHILE [#1 LT 300] DO1
#2=0
WHILE [#2 LT 360] DO2
G1 X[20.*COS[#2]+0.01*#1] Y[20.*SIN[#2]] Z[-0.01*#1] F[400+#1]
#2=[#2+5]
END2
#1=[#1+1]
END1
M30
"""


def test_words_a_second_in_loops(benchmark: Any, tmp_path: Path) -> None:
    """Expressions and variables, line after line again and again."""
    path = tmp_path / "a.nc"
    path.write_text(LOOPS)
    assert timed(benchmark, path, 300 * (72 * 8 + 5)) == 300 * 72 + 1


def test_words_a_second_of_expressions(benchmark: Any, tmp_path: Path) -> None:
    """Expressions, each line another: no line comes twice."""
    path = tmp_path / "a.nc"
    path.write_text("G21 G90\nG1 X0 Y0 Z0 F100\n#1=3\n" + "".join(
        f"G1 X[{k / 7:.3f}+#1*2] Y[SIN[{k / 11:.3f}]] F[100+{k % 50}]\n" for k in range(10_000)) + "M30\n")
    assert timed(benchmark, path, 40_000) > 10_000


def test_the_whole_answer(benchmark: Any, tmp_path: Path) -> None:
    """Reading, times with looking ahead, sums: what `firstoff program` does after its imports."""
    from firstoff.program.report import understood
    from firstoff.program.timing import Limits

    path = tmp_path / "a.nc"
    path.write_text(HEAD + surface(100_000) + "M2\n")
    limits = Limits((25.0,) * 3, (25.0,) * 3, (200.0,) * 3)
    found = benchmark.pedantic(understood, args=(path, ("a mill", limits)), rounds=3, warmup_rounds=1)
    assert found.summary.moves == 100_001


def over_the_top() -> str:
    """Rows over the top of the example's body, 0.3 mm apart in steps of 0.5 mm: 29 minutes at the route's feed."""
    lines = ["G21 G17 G90 G94", "S5200 M3", "G0 Z40", "G0 X-8 Y5", "G0 Z26.5", "G1 Z24.5 F200"]
    for row in range(170):
        steps = range(257) if row % 2 == 0 else range(256, -1, -1)
        lines += [f"G1 Y{5.0 - 0.3 * row:.2f} F748", *(f"X{-8.0 + 0.5 * step:.1f}" for step in steps)]
    return "\n".join([*lines, "G0 Z40", "M5", "M30"]) + "\n"


def test_a_whole_program_with_all_its_checks(benchmark: Any, tmp_path: Path) -> None:
    """Run over the stock of a part of 110 mm, and every check of the operation: wanted in 10 `seconds`, one core."""
    from firstoff.dryrun.findings import found_by
    from firstoff.dryrun.registry import all_checks
    from firstoff.dryrun.walk import walk
    from firstoff.work import open_job, route_of

    command = Path(sys.executable).with_name("firstoff")
    subprocess.run([command, "demo", "block-plane"], cwd=tmp_path, check=True, capture_output=True)
    folder, name = tmp_path / "block-plane", "body-top-finish"
    (folder / "top.nc").write_text(over_the_top())
    work = open_job(folder, None)
    route = route_of(work)
    op = route.operations[name].model_copy(update={"program": "top.nc"})
    route = route.model_copy(update={"operations": {**route.operations, name: op}})
    spent: list[float] = []

    def whole() -> int:
        begin = time.process_time()
        case = next(case for case in walk(work.job, work.shop, route, work.parts) if case.name == name)
        found = [found_by(check, case, work.belief) for check in all_checks()
                 if check.subject == "operation" and check.applies(case)]
        spent.append(time.process_time() - begin)
        assert case.run is not None and case.run.moves > 40_000 and case.run.removed > 0.0
        assert case.windows is not None and case.windows.minutes > 20.0
        return len(found)

    assert benchmark.pedantic(whole, rounds=2, warmup_rounds=1) > 15
    benchmark.extra_info["seconds"] = round(min(spent), 2)
