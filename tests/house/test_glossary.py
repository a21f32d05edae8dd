"""The glossary and the source say the same: units, shapes, commands."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator

import pytest

from tests.house import reading
from tests.house.units import UnitUnknown, dimensions

GLOSSARY = reading.ROOT / "docs" / "glossary.md"
OFTEN = 5   # a name that so many physics functions use stands in the glossary
_COMMAND = re.compile(r"`firstoff ([a-z][a-z-]*)")


def rows(heading: str) -> list[list[str]]:
    """Cells of the table under a heading, without its first two lines."""
    text = GLOSSARY.read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    lines = [line for line in text.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


def quantities() -> dict[str, str]:
    """Unit of each name in the first table."""
    return {name: cells[2] for cells in rows("Quantities") for name in re.findall(r"`(\w+)`", cells[0])}


def used() -> Iterator[tuple[str, str, str]]:
    """Every documented number of the physics rooms: (place, name, first unit)."""
    for path in reading.modules():
        if reading.inside(path).split("/")[0] not in reading.PHYSICS:
            continue
        module = reading.tree(path)
        for node in (*reading.public_functions(module), *reading.public_classes(module)):
            doc = reading.read_docstring(ast.get_docstring(node))
            for name, text in {**doc.args, **doc.fields}.items():
                for bracket in reading.brackets(text)[:1]:
                    yield f"{reading.inside(path)}:{node.name}", name, bracket


def contradicts(unit: str, other: str) -> bool:
    """Whether two units differ in dimension; a bracket that is no unit contradicts nothing."""
    try:
        return dimensions(unit) != dimensions(other)
    except UnitUnknown:
        return False


def classes(room: str) -> set[str]:
    """Names of the classes of a room."""
    return {
        node.name for path in reading.modules()
        if reading.inside(path).split("/")[0].removesuffix(".py") == room
        for node in reading.public_classes(reading.tree(path))
    }


def test_every_unit_of_the_glossary_can_be_read() -> None:
    assert all(dimensions(unit) is not None for unit in quantities().values())
    assert len(quantities()) > 30


def test_physics_uses_the_units_of_the_glossary() -> None:
    told = quantities()
    wrong = [(place, name, unit) for place, name, unit in used()
             if name in told and contradicts(unit, told[name])]
    assert wrong == []


def test_names_that_are_used_often_are_explained() -> None:
    counted = Counter(name for _, name, _ in used())
    often = {name for name, times in counted.items() if times >= OFTEN}
    assert sorted(often - quantities().keys()) == []


@pytest.mark.parametrize(("shape", "room"), [(cells[0], cells[1]) for cells in rows("Shapes")])
def test_every_shape_exists(shape: str, room: str) -> None:
    there = classes(room)
    assert shape in there or not there, f"{room}/ has no {shape}"


def test_every_command_of_the_papers_exists() -> None:
    if not (reading.SOURCE / "cli.py").exists():
        pytest.skip("no commands yet")
    papers = [*reading.ROOT.glob("*.md"), *(reading.ROOT / "docs").glob("**/*.md")]
    named = {name for path in papers for name in _COMMAND.findall(path.read_text(encoding="utf-8"))}
    code = "import sys; sys.argv = ['firstoff', '--help']; from firstoff.cli import main; main()"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert named
    assert {name for name in named if not re.search(rf"(?m)^\W*{name}\b", done.stdout)} == set()


def test_a_contradiction_is_seen() -> None:
    assert contradicts("N/m", "N/m2")
    assert not contradicts("Pa", "N/m2")
    assert not contradicts("0, 1", "m")
