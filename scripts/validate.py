"""Writes what the tests hold us to: docs/validation.md, and the measured table of the README.

    python scripts/validate.py            or: make validation

Runs every test that uses tests/published.py and renders what those keep, each section between its own markers; other
sections stay. Refuses where the folder of published and measured tables (FIRSTOFF_SHARED) is missing, since its tests
would then be skipped.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from firstoff.sources import BIBLIOGRAPHY

ROOT = Path(__file__).resolve().parents[1]
PAGE, README = ROOT / "docs" / "validation.md", ROOT / "README.md"
SUBJECTS = {
    "engagement": "Engagement", "force": "Cutting force", "power": "Power", "push-off": "Push-off",
    "chatter": "Chatter", "heat": "Heat", "wear": "Wear", "finish": "Finish", "holes": "Holes", "threads": "Threads",
    "scale": "Scale", "holding": "Holding", "joints": "Joints", "glue": "Glue", "stack": "Chains of sizes",
    "fits": "Fits", "decisions": "Decisions on measured sizes", "learning": "Learning", "programs": "NC programs",
    "removal": "Removal of material",
}
INTRODUCTION = """\
Written by `make validation` from the tests: each row is an assertion of one of them. *Within* is the error that the
test allows; a miss is told with its reason, and its test fails when it is a miss no longer. *Measured* marks values
that somebody measured; the others were computed, by a book, a standard or an independent script."""
PREDICTED = """\
What the models foretell, with all that is uncertain of them, beside what others measured. Of 90 % intervals nine in
ten should hold the measured value."""

TINY = 5e-5          #: of the published value: told as no error

Row = dict[str, Any]


def main() -> int:
    """Run the tests, render, write."""
    shared = Path(os.environ.get("FIRSTOFF_SHARED", ROOT.parent / "shared")).resolve()
    missing = [name for name in ("reference", "measured") if not (shared / name).is_dir()]
    if missing:
        print(f"{shared} has no {' and no '.join(missing)}: nothing is written (set FIRSTOFF_SHARED to the folder of "
              f"published and measured tables)", file=sys.stderr)
        return 2
    rows = kept(shared)
    if rows is None:
        print("a test failed, or found no table: nothing is written", file=sys.stderr)
        return 1
    place(PAGE, "published", published(rows))
    place(README, "measured", measured(rows))
    print(f"{len(rows)} cases of {len({row['source'] for row in rows})} sources")
    return 0


def test_files() -> list[Path]:
    """The tests that hold us to published values."""
    return [path for path in sorted((ROOT / "tests").rglob("test_*.py"))
            if path.name != "test_published.py" and "tests.published import" in path.read_text(encoding="utf-8")]


def kept(shared: Path) -> list[Row] | None:
    """What the tests keep; None where one of them fails or is skipped for want of a table."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "kept.jsonl"
        file.touch()
        told = {**os.environ, "FIRSTOFF_VALIDATION": str(file), "FIRSTOFF_SHARED": str(shared)}
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-rs", "-p", "no:benchmark", "-p", "no:cacheprovider",
             *test_files()],
            cwd=ROOT, env=told, check=False, capture_output=True, text=True)
        lines = file.read_text(encoding="utf-8").splitlines()
    if done.returncode or "is not there" in done.stdout:
        print(done.stdout[-4000:], done.stderr[-1000:], file=sys.stderr)
        return None
    return [json.loads(line) for line in dict.fromkeys(lines)]


def published(rows: list[Row]) -> Iterator[str]:
    """The section of docs/validation.md."""
    agreed, foretold = [row for row in rows if row["kind"] == "agrees"], [r for r in rows if r["kind"] == "predicted"]
    sources = {row["source"] for row in rows if row["source"] != "own"}
    misses = sum(bool(row["miss"]) for row in agreed)
    outside = sum(not row["inside"] for row in foretold)
    measured_values = len(foretold) + sum(row["measured"] for row in agreed)
    yield from ("## Published values", "", *INTRODUCTION.splitlines(), "")
    yield (f"{len(agreed)} values and {len(foretold)} forecasts from {len(sources)} sources; {measured_values} of "
           f"them were measured. Missed: {misses} values, {outside} forecasts.")
    for subject, title in SUBJECTS.items():
        own = [row for row in agreed if row["subject"] == subject]
        if own:
            yield from ("", f"### {title}", "", *_agreed(own))
    yield from ("", "### Foretold and measured", "", *PREDICTED.splitlines(), "", *_foretold(foretold))
    yield from ("", "### Sources", "")
    yield from (f"- **{key}**: {BIBLIOGRAPHY[key].text}" for key in sorted(sources))


def _agreed(rows: Iterable[Row]) -> Iterator[str]:
    yield "| case | source | published | ours | unit | error | within |"
    yield "| --- | --- | ---: | ---: | --- | ---: | --- |"
    for row in rows:
        mark = ", measured" if row["measured"] else ""
        yield (f"| {_cell(row['what'])} | {row['source']}{mark} | {_number(row['published'])} | "
               f"{_number(row['ours'])} | {_unit(row)} | {_error(row)} | {_within(row)} |")


def _error(row: Row) -> str:
    off = row["ours"] - row["published"]
    if abs(off) <= TINY * max(abs(row["published"]), row["within"] if row["absolute"] else 0.0):
        return "0"
    return f"{off:+.2g}" if row["absolute"] else f"{off / row['published']:+.2%}"


def _within(row: Row) -> str:
    allowed = f"{row['within']:g} {_unit(row)}".strip() if row["absolute"] else f"{100.0 * row['within']:.2g} %"
    return f"**missed** ({allowed}): {_cell(row['miss'])}" if row["miss"] else f"yes, {allowed}"


def _foretold(rows: Iterable[Row]) -> Iterator[str]:
    yield "| case | source | foretold: 5 %, 50 %, 95 % | measured | unit | inside |"
    yield "| --- | --- | --- | ---: | --- | --- |"
    for row in rows:
        spread = ", ".join(_number(row[name]) for name in ("low", "median", "high"))
        yield (f"| {_cell(row['what'])} | {row['source']} | {spread} | {_number(row['measured'])} | {_unit(row)} | "
               f"{'yes' if row['inside'] else '**no**'} |")


def measured(rows: list[Row]) -> Iterator[str]:
    """The table of the README: forecasts by subject, how many held, and the worst and the best of them."""
    foretold = [row for row in rows if row["kind"] == "predicted"]
    yield "| foretold | measured by others | cases | inside 90 % | widest miss |"
    yield "| --- | --- | ---: | ---: | --- |"
    for subject, title in SUBJECTS.items():
        own = [row for row in foretold if row["subject"] == subject]
        for source in dict.fromkeys(row["source"] for row in own):
            these = [row for row in own if row["source"] == source]
            inside = sum(row["inside"] for row in these)
            yield f"| {title} | {source} | {len(these)} | {inside} | {_widest(these)} |"


def _widest(rows: list[Row]) -> str:
    """The case that lies farthest from what was foretold, as a ratio to the median."""
    out = [row for row in rows if not row["inside"]]
    if not out:
        return ""
    worst = max(out, key=lambda row: abs(_ratio(row) - 1.0))
    return f"{_cell(worst['what'])}: {_ratio(worst):.2g} times the median"


def _ratio(row: Row) -> float:
    return float(row["measured"] / row["median"]) if row["median"] else float("inf")


def _number(value: float) -> str:
    return f"{float(f'{value:.4g}'):.0f}" if abs(value) >= 1000.0 else f"{value:.4g}"


def _unit(row: Row) -> str:
    return "" if row["unit"] == "1" else str(row["unit"])


def _cell(text: str) -> str:
    return text.replace("|", "/")


def place(path: Path, name: str, lines: Iterable[str]) -> None:
    """Put a section between its markers; a page without them gets it first, below its title."""
    begin, end = f"<!-- begin {name} -->", f"<!-- end {name} -->"
    text = "\n".join([begin, *lines, end])
    page = path.read_text(encoding="utf-8")
    if begin in page and end in page:
        page = page[: page.index(begin)] + text + page[page.index(end) + len(end):]
    else:
        title, _, rest = page.partition("\n")
        page = f"{title}\n\n{text}\n{rest}"
    path.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
