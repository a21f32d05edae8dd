"""Imports point downwards, heavy libraries stay in their room, and mm meets m in one file alone."""

from __future__ import annotations

import ast
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from tests.house import reading
from tests.house.imports import LEVEL, broken_layers, conversions, room_of

#: Scripts that live beside the package's data and are run by hand: they may import what they need.
SCRIPTS = {"example/make_models.py": "makes the STEP files of the example with the geometry kernel"}

#: Rooms in which no number turns one unit into another.
NO_CONVERSION = ("checks", "dryrun", "cutting", "holding", "stack")
CONVERTER = "checks/si.py"

#: (file, function, factor) that looks like a conversion and is none, with the reason.
NOT_CONVERSIONS: dict[tuple[str, str, str], str] = {
    ("stack/fits.py", "module", "1000"): "the tables of ISO 286 are printed in mm",
    ("stack/fits.py", "module", "1000000"): "the tables of ISO 286 are printed in micrometres",
}

HEAVY = ("OCP", "numba", "scipy", "sqlalchemy", "alembic", "typst")


def test_every_room_has_its_level() -> None:
    rooms = {reading.inside(path).split("/")[0].removesuffix(".py") for path in reading.modules()}
    assert rooms <= LEVEL.keys() | {"example"}, "a new room has no place in the order: add it to LEVEL"


@pytest.mark.parametrize("path", reading.modules(), ids=reading.inside)
def test_imports_point_downwards(path: Path) -> None:
    if reading.inside(path) in SCRIPTS:
        return
    name = reading.dotted(path)
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    room = "__main__" if path.name == "__main__.py" else room_of(name)
    assert broken_layers(reading.tree(path), room, package) == []


def test_only_the_converter_converts() -> None:
    found = {}
    for path in reading.modules():
        place = reading.inside(path)
        if place.split("/")[0] in NO_CONVERSION and place != CONVERTER:
            for function, factor, line in conversions(reading.tree(path)):
                found[place, function, factor] = line
    wrong = {key: line for key, line in found.items() if key not in NOT_CONVERSIONS}
    assert wrong == {}, f"only {CONVERTER} turns units into each other"
    assert NOT_CONVERSIONS.keys() <= found.keys(), "an exception that nothing needs any more"


@pytest.mark.parametrize("module", ["actions", "cli", "units", "belief"])
def test_starting_loads_nothing_heavy(module: str) -> None:
    if not (reading.SOURCE / f"{module}.py").exists():
        return
    code = f"import sys, firstoff.{module}; print(*(name for name in {HEAVY} if name in sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


@pytest.mark.parametrize(("room", "code"), [
    ("shop", "from firstoff.job import models"),
    ("shop", "import firstoff.job.models"),
    ("shop", "def late():\n    from firstoff import job"),
    ("shop", "from ..job.models import Job"),
    ("shop", "import importlib\nimportlib.import_module('firstoff.job')"),
    ("part", "from firstoff.shop.models import Tool"),
    ("part", "from firstoff.removal import moves"),
    ("cutting", "from firstoff.holding import contacts"),
    ("cutting", "from firstoff import units"),
    ("cutting", "import pandas"),
    ("stack", "from scipy import stats"),
    ("checks", "from OCP.gp import gp_Pnt"),
    ("route", "def late():\n    import sqlalchemy.orm"),
    ("shop", "import pint"),
    ("records", "from firstoff.cli import main"),
])
def test_a_broken_layer_is_seen(room: str, code: str) -> None:
    assert len(broken_layers(ast.parse(code), room, f"firstoff.{room}")) == 1


@pytest.mark.parametrize(("room", "code"), [
    ("job", "from firstoff.shop.models import Tool"),
    ("program", "from firstoff.removal.moves import Move"),
    ("cutting", "from firstoff.errors import OutOfRange\nfrom . import forces\nimport numpy as np"),
    ("stack", "def late():\n    from scipy import special"),
    ("part", "from OCP.gp import gp_Pnt"),
    ("units", "import pint"),
    ("cli", "import typer\nfrom firstoff import __version__, actions"),
])
def test_a_good_layer_passes(room: str, code: str) -> None:
    assert broken_layers(ast.parse(code), room, f"firstoff.{room}") == []


@pytest.mark.parametrize("line", [
    "y = x * 1e-3", "y = x / 1000", "y = 60 * x", "y = x * 10**6", "x *= 0.001", "y = f(x / 1e3)",
    "y = a < b * f(c * 60)", "y = x * MM",
])
def test_a_conversion_is_seen(line: str) -> None:
    code = f"MM = 1e-3\ndef move(x, a, b, c):\n    {line}\n    return x\n"
    assert [found[0] for found in conversions(ast.parse(code))] == ["move"]


def test_a_tolerance_is_no_conversion() -> None:
    code = textwrap.dedent("""
        def near(a, b):
            return abs(a - b) < 1e-9 * abs(a) and a * 12 < 3 * b / 2
    """)
    assert conversions(ast.parse(code)) == []
