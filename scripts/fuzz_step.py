"""Read spoiled STEP files, hundreds of them, and tell what became of each.

    python scripts/fuzz_step.py [--cases N] [--seed S] [--seconds T] [--report FILE.json] FILE.step ...

Each case is one file spoiled in one way, read by a worker forked from this process, so that a crash or a hang is
that worker's alone and the kernel is imported once. What the worker leaves is taken as `firstoff.part.process`
takes it: a part, or a message. Fails (exit code 1) if a case gives neither, or a part that contradicts itself.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import random
import re
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, NamedTuple

from firstoff.errors import FirstoffError
from firstoff.part import build, process, step_text, worker  # noqa: F401  (the kernel is there before the forks)
from firstoff.part.digest import part_of
from firstoff.part.shapes import Part

HUGE = (b"1.E308", b"-1.E308", b"1.E400", b"1.E-308", b"1.E15", b"-0.", b"99999999999999999999", b"NAN")
_REAL = re.compile(rb"(?<![#\w.])-?\d+\.\d*(?:E[+-]?\d+)?")
_REF = re.compile(rb"#\d+")
_WORD = re.compile(rb"(?<==)\s*[A-Z_0-9]{4,}(?=\s*\()")


class Outcome(NamedTuple):
    """What became of one case: part, told, crash or hang (both told too), or wrong."""

    how: str
    kind: str
    words: str
    seconds: float


def cut(content: bytes, chance: random.Random) -> bytes:
    """Cut short, but ended as it should be."""
    return content[: chance.randrange(len(content))] + b"\nENDSEC;\nEND-ISO-10303-21;\n"


def swap(content: bytes, chance: random.Random) -> bytes:
    """Some references put in each other's place."""
    found = list(_REF.finditer(content, content.index(b"DATA")))
    spots = chance.sample(found, chance.randint(1, 6))
    return _put(content, [(spot.span(), chance.choice(found)[0]) for spot in spots])


def ring(content: bytes, chance: random.Random) -> bytes:
    """An instance that refers to itself, or to one that refers to it."""
    rows = list(re.finditer(rb"#(\d+)\s*=([^;]*);", content))
    names = {row[1]: row for row in rows}
    row = chance.choice([row for row in rows if _REF.search(row[2])])
    spot = chance.choice(list(_REF.finditer(content, *row.span(2))))
    other = names.get(spot[0][1:])
    if other is not None and _REF.search(other[2]) and chance.random() < 0.5:
        spot = chance.choice(list(_REF.finditer(content, *other.span(2))))
    return _put(content, [(spot.span(), b"#" + row[1])])


def huge(content: bytes, chance: random.Random) -> bytes:
    """A few numbers that no part has."""
    found = list(_REAL.finditer(content, content.index(b"DATA")))
    spots = chance.sample(found, min(len(found), chance.choice((1, 1, 3, 20))))
    return _put(content, [(spot.span(), chance.choice(HUGE)) for spot in spots])


def schema(content: bytes, chance: random.Random) -> bytes:
    """Another schema, or none."""
    names = (b"('IFC4')", b"('')", b"()", b"(('CONFIG_CONTROL_DESIGN'))", b"(('NO SUCH \x07'))", b"$", b"((#1))")
    return re.sub(rb"FILE_SCHEMA\s*\([^;]*", lambda _: b"FILE_SCHEMA" + chance.choice(names), content, count=1)


def deleted(content: bytes, chance: random.Random) -> bytes:
    """Some statements left out."""
    rows = re.split(rb"(?<=;)\s*\n", content)
    for _ in range(chance.choice((1, 1, 2, 10))):
        del rows[chance.randrange(7, len(rows) - 2)]
    return b"\n".join(rows)


def noise(content: bytes, chance: random.Random) -> bytes:
    """Random bytes in a few places."""
    spots = [chance.randrange(20, len(content) - 30) for _ in range(chance.choice((1, 3, 30)))]
    return _put(content, [((spot, spot + chance.randint(0, 4)), chance.randbytes(chance.randint(1, 6)))
                          for spot in spots])


def words(content: bytes, chance: random.Random) -> bytes:
    """Instances of another kind than they were."""
    found = list(_WORD.finditer(content))
    spots = chance.sample(found, chance.choice((1, 2)))
    return _put(content, [(spot.span(), chance.choice(found)[0]) for spot in spots])


def twice(content: bytes, chance: random.Random) -> bytes:
    """An instance that stands there twice, once under another's name."""
    rows = list(re.finditer(rb"#\d+\s*=[^;]*;", content))
    one, other = chance.choice(rows), chance.choice(rows)
    return _put(content, [((other.end(), other.end()), b"\n" + re.sub(rb"^#\d+", b"#" + chance.choice(
        (one, other))[0].partition(b"=")[0].strip()[1:], one[0]))])


WAYS: dict[str, Callable[[bytes, random.Random], bytes]] = {
    way.__name__: way for way in (cut, swap, ring, huge, schema, deleted, noise, words, twice)}


def _put(content: bytes, changes: Iterable[tuple[tuple[int, int], bytes]]) -> bytes:
    """The content with spans replaced; a span that overlaps an earlier one is left."""
    out, at = [], 0
    for (start, end), what in sorted(changes):
        if start >= at:
            out += [content[at:start], what]
            at = end
    return b"".join([*out, content[at:]])


def spoiled(content: bytes, how: str, seed: int) -> bytes:
    """The file spoiled in one way; the same for the same seed."""
    return WAYS[how](content, random.Random(f"{how} {seed}"))


def outcome(content: bytes, how: str, folder: Path, seconds: float) -> Outcome:
    """What becomes of a spoiled file."""
    path, out = folder / "spoiled.step", folder / "answer.json"
    path.write_bytes(content)
    out.unlink(missing_ok=True)
    start = time.monotonic()
    try:
        step_text.check(path)
        code, said = _forked(path, out, folder / "said", seconds)
        answer = process.answered(code, said, out, path)
        if "error" in answer:
            raise process.error_of(answer["error"])
    except FirstoffError as error:
        kind = "told" if error.what and error.where else "wrong"
        kind = "crash" if "crashed" in error.what else "hang" if "did not finish" in error.what else kind
        return Outcome(how, kind, error.what, time.monotonic() - start)
    wrong = contradiction(part_of(answer))
    return Outcome(how, "wrong" if wrong else "part", wrong, time.monotonic() - start)


def _forked(path: Path, out: Path, said: Path, seconds: float) -> tuple[int, bytes]:
    """How a forked worker ended, and what it said on standard error."""
    child = os.fork()
    if child == 0:
        _be_worker(path, out, said)
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status), said.read_bytes()
        time.sleep(0.005)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return 1, b"the worker did not finish\n"


def _be_worker(path: Path, out: Path, said: Path) -> None:
    """The forked worker's life; it never returns."""
    code = 1
    with said.open("wb") as words:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(words.fileno(), 2)
        try:
            worker.limit_memory()
            worker.main([str(path), str(out)])
            code = 0
        except BaseException as error:  # noqa: BLE001  (as the interpreter would say it at the end of a process)
            os.write(2, f"{type(error).__name__}: {error}\n".encode())
        finally:
            os._exit(code)


def contradiction(part: Part) -> str:
    """In words, what a part says against itself; '' where nothing."""
    numbers = list(range(len(part.faces)))
    if [face.number for face in part.faces] != numbers:
        return "faces are not numbered one after the other"
    if sorted(n for feature in part.features for n in feature.faces) != numbers:
        return "a face is in no feature or in two"
    if not all(map(math.isfinite, (*part.low, *part.high, part.volume))) or not part.volume > 0:
        return "no finite volume"
    if any(limit.value == 0 or not set(limit.faces) <= set(numbers) for limit in part.limits):
        return "a limit of 0, or of a face that is not there"
    return ""


def run(files: list[Path], cases: list[tuple[int, str, int]], seconds: float) -> list[Outcome]:
    """The outcomes of cases (number of the file, way, seed)."""
    contents = [file.read_bytes() for file in files]
    with tempfile.TemporaryDirectory() as folder:
        return [outcome(spoiled(contents[file % len(files)], how, seed), how, Path(folder), seconds)
                for file, how, seed in cases]


def table(found: list[Outcome]) -> list[str]:
    """Counts by way and outcome."""
    kinds = ("part", "told", "crash", "hang", "wrong")
    counts = Counter((one.how, one.kind) for one in found)
    rows = [("spoiled", *kinds), *((how, *(counts[how, kind] for kind in kinds)) for how in WAYS)]
    rows.append(("all", *(sum(one.kind == kind for one in found) for kind in kinds)))
    lines = ["  ".join(f"{cell:>8}" for cell in row) for row in rows]
    return [*lines, f"longest {max(one.seconds for one in found):.1f} s, {len(found)} cases"]


def main(arguments: list[str] | None = None) -> int:
    """Run the cases and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--cases", type=int, default=270)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--list", type=Path, help="cases as JSON: [[file, way, seed], ...]")
    parser.add_argument("--report", type=Path)
    told = parser.parse_args(arguments)
    ways = list(WAYS)
    cases: list[Any] = [(n // len(ways), ways[n % len(ways)], told.seed * 100_000 + n) for n in range(told.cases)]
    if told.list is not None:
        cases = json.loads(told.list.read_text(encoding="utf-8"))
    found = run(told.files, [(file, how, seed) for file, how, seed in cases], told.seconds)
    if told.report is not None:
        told.report.write_text(json.dumps([one._asdict() for one in found]), encoding="utf-8")
    sys.stdout.write("\n".join(table(found)) + "\n")
    return int(any(one.kind == "wrong" for one in found))


if __name__ == "__main__":
    sys.exit(main())
