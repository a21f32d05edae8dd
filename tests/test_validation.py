"""The page of published values is not stale: each case that a test holds stands there, and nothing else does."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

from firstoff.sources import BIBLIOGRAPHY
from tests.house import reading

PAGE = reading.ROOT / "docs" / "validation.md"
STALE = "docs/validation.md is stale: run `make validation`"
KEEPERS = {"agrees", "predicted"}


class Case(NamedTuple):
    """A call that keeps a case: what it is called, as a pattern, and its source where it is written out."""

    place: str
    what: re.Pattern[str]
    source: str | None


def pattern(node: ast.expr) -> re.Pattern[str]:
    """What a name of a case may read: the pieces of a formatted text as they stand, anything in between."""
    if isinstance(node, ast.Constant):
        return re.compile(re.escape(str(node.value)))
    if isinstance(node, ast.JoinedStr):
        return re.compile("".join(
            re.escape(str(piece.value)) if isinstance(piece, ast.Constant) else ".*" for piece in node.values))
    return re.compile(".*")


def cases() -> list[Case]:
    """Every call of a keeper in the tests."""
    out = []
    for path in sorted((reading.ROOT / "tests").rglob("test_*.py")):
        if path.name == "test_published.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in KEEPERS:
                named = {word.arg: word.value for word in node.keywords}
                given = dict(zip(("subject", "what", "source"), node.args, strict=False)) | named
                source = given["source"]
                key = str(source.value) if isinstance(source, ast.Constant) else None
                out.append(Case(f"{path.name}:{node.lineno}", pattern(given["what"]), key))
    return out


def rows() -> list[tuple[str, str]]:
    """(case, source) of every row of the section that the tests write."""
    page = PAGE.read_text(encoding="utf-8")
    section = page[page.index("<!-- begin published -->"): page.index("<!-- end published -->")]
    lines = [line for line in section.splitlines() if line.startswith("|")]
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    told = [row for row in cells if row[0] != "case" and set(row[0]) != {"-"}]
    return [(row[0], row[1].removesuffix(", measured")) for row in told]


def stands(case: Case, row: tuple[str, str]) -> bool:
    """Whether a row may be of this case."""
    return case.what.fullmatch(row[0]) is not None and case.source in (None, row[1])


def test_every_case_stands_on_the_page() -> None:
    there = rows()
    missing = [case.place for case in cases() if not any(stands(case, row) for row in there)]
    assert missing == [], STALE


def test_nothing_else_stands_there() -> None:
    held = cases()
    assert [row for row in rows() if not any(stands(case, row) for case in held)] == [], STALE
    assert {source for _, source in rows()} <= BIBLIOGRAPHY.keys()


def test_enough_is_held() -> None:
    """What the page promises: sources, and values that somebody measured."""
    page = PAGE.read_text(encoding="utf-8")
    told = re.search(r"from (\d+) sources; (\d+) of them were measured", " ".join(page.split()))
    assert told is not None and int(told[1]) >= 25 and int(told[2]) >= 15


def test_nothing_is_written_without_the_tables(tmp_path: Path) -> None:
    before = PAGE.read_bytes()
    done = subprocess.run([sys.executable, str(reading.ROOT / "scripts" / "validate.py")], capture_output=True,
                          text=True, check=False, env={**os.environ, "FIRSTOFF_SHARED": str(tmp_path)})
    assert done.returncode == 2 and "nothing is written" in done.stderr
    assert PAGE.read_bytes() == before


@pytest.mark.parametrize(("text", "name", "fits"), [
    ('agrees("force", "a case", "own", 1, 1, "N", within=1)', "a case", True),
    ('agrees("force", f"M{size} at {mu:.2f}", "own", 1, 1, "N", within=1)', "M5 at 0.10", True),
    ('agrees("force", f"M{size} at {mu:.2f}", "own", 1, 1, "N", within=1)', "M5 of 0.10", False),
])
def test_names_are_read(text: str, name: str, fits: bool) -> None:
    call = ast.parse(text, mode="eval").body
    assert isinstance(call, ast.Call)
    assert (pattern(call.args[1]).fullmatch(name) is not None) is fits
