"""What the docstrings promise is true: arguments exist, numbers have units, physics names its source."""

from __future__ import annotations

import ast
import importlib
import re
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from firstoff.sources import BIBLIOGRAPHY
from tests.house import reading
from tests.house.units import UnitUnknown, dimensions

LONGEST_FILE = 500
LONGEST_FUNCTION = 50
SHARE_OVER = 0.01

#: Modules that have no test file of their own, with the reason.
WITHOUT_TEST = {
    "part/shapes.py": "shapes only; tested through part/reading",
    "cutting/_guard.py": "guards of arguments; tested through what each function raises",
    "stack/_arrays.py": "guards of arguments; tested through what each function raises",
    "holding/_rows.py": "guards of arguments; tested through what each function raises",
}

#: Modules that only help one other and are tested there: module -> test file.
TESTED_IN: dict[str, str] = {
    "removal/_edge.py": "removal/test_cutting.py",
    "removal/_flat.py": "removal/test_cutting.py",
    "removal/_round.py": "removal/test_cutting.py",
    "removal/_window.py": "removal/test_cutting.py",
}

_KEY_LIKE = re.compile(r"\b[a-z]{2,}\d{2,}\w*\b")


def physics_modules() -> list[Path]:
    """Files of the physics rooms; one with an underscore in front only guards their arguments."""
    return [path for path in reading.modules()
            if reading.inside(path).split("/")[0] in reading.PHYSICS and not is_private(path)]


def is_private(path: Path) -> bool:
    """A module that only its own room uses: its name has an underscore in front."""
    return path.name.startswith("_") and path.name not in ("__init__.py", "__main__.py")


def documented(module: ast.Module) -> Iterator[reading.Function]:
    """All functions of a file, methods too, that have Args in their docstring."""
    for node in ast.walk(module):
        if isinstance(node, reading.Function) and reading.read_docstring(ast.get_docstring(node)).args:
            yield node


def wrong_names(function: reading.Function) -> str:
    """How the Args of a docstring differ from the signature; empty where they agree."""
    told = set(reading.read_docstring(ast.get_docstring(function)).args)
    there = set(reading.parameters(function))
    parts = [f"not documented: {name}" for name in sorted(there - told)]
    parts += [f"does not exist: {name}" for name in sorted(told - there)]
    return f"{function.name}: {', '.join(parts)}" if parts else ""


def no_unit(text: str) -> bool:
    """True where no bracket of the text holds a unit that can be read."""
    for bracket in reading.brackets(text):
        try:
            dimensions(bracket)
        except UnitUnknown:
            continue
        return False
    return True


def wrong_source(text: str) -> str:
    """What is wrong with a Source line; empty where its first word and every key in it are known."""
    first = re.match(r"[\w-]+", text)
    if first is None:
        return "no source"
    keys = {first[0], *_KEY_LIKE.findall(text)}
    unknown = sorted(keys - BIBLIOGRAPHY.keys())
    if unknown:
        return f"not in the bibliography: {', '.join(unknown)}"
    if first[0] == "own" and not re.match(r"own\W+\w.{2,}", text):
        return "own: derived from what?"
    return ""


def wrong_physics(function: reading.Function, hints: dict[str, Any]) -> list[str]:
    """What the docstring of a physics function lacks."""
    doc = reading.read_docstring(ast.get_docstring(function))
    wrong = [f"no unit: {name}" for name in reading.parameters(function)
             if reading.is_numeric(hints.get(name)) and no_unit(doc.args.get(name, ""))]
    wrong += [f"not documented: {name}" for name in reading.parameters(function) if name not in doc.args]
    if reading.is_numeric(hints.get("return")) and no_unit(doc.returns):
        wrong.append("Returns: no unit")
    source = wrong_source(doc.source)
    return wrong + ([f"Source: {source}"] if source else [])


def wrong_fields(node: ast.ClassDef, hints: dict[str, Any]) -> list[str]:
    """Numeric fields of a result whose class docstring gives no unit, and told fields that do not exist."""
    told = reading.read_docstring(ast.get_docstring(node)).fields
    wrong = [f"no unit: {name}" for name, hint in hints.items()
             if reading.is_numeric(hint) and no_unit(told.get(name, ""))]
    return wrong + [f"does not exist: {name}" for name in told if name not in hints]


def code_lines(function: reading.Function) -> int:
    """Lines of a function without its docstring, blank lines and comments."""
    text = ast.unparse(ast.Module(body=_without_docstring(function), type_ignores=[]))
    return len([line for line in text.splitlines() if line.strip()])


def _without_docstring(function: reading.Function) -> list[ast.stmt]:
    return function.body[1:] if ast.get_docstring(function) is not None else function.body


@pytest.mark.parametrize("path", reading.modules(), ids=reading.inside)
def test_public_names_say_what_they_are(path: Path) -> None:
    module = reading.tree(path)
    bare = [node.name for node in (*reading.public_functions(module), *reading.public_classes(module))
            if not ast.get_docstring(node)]
    assert bare == [], "no docstring"
    assert ast.get_docstring(module) or not module.body, "a module says what it is for"
    assert [wrong for wrong in map(wrong_names, documented(module)) if wrong] == []


@pytest.mark.parametrize("path", physics_modules(), ids=reading.inside)
def test_physics_has_units_and_sources(path: Path) -> None:
    module, loaded = reading.tree(path), importlib.import_module(reading.dotted(path))
    wrong = {}
    for function in reading.public_functions(module):
        wrong[function.name] = wrong_physics(function, typing.get_type_hints(getattr(loaded, function.name)))
    for node in reading.public_classes(module):
        wrong[node.name] = wrong_fields(node, typing.get_type_hints(getattr(loaded, node.name)))
    assert {name: lacks for name, lacks in wrong.items() if lacks} == {}


def test_every_module_has_its_test() -> None:
    missing = []
    for path in reading.modules():
        place = Path(reading.inside(path))
        if place.name.startswith("__") or not {"migrations", "example"}.isdisjoint(place.parts):
            continue
        if not its_test(place).exists() and place.as_posix() not in WITHOUT_TEST.keys() | TESTED_IN.keys():
            missing.append(place.as_posix())
    assert missing == []


def its_test(place: Path) -> Path:
    """Where the test of a module lies: tests/ mirrors src/firstoff/; an underscore in front is left out."""
    return reading.TESTS / place.parent / f"test_{place.name.lstrip('_')}"


def test_every_test_has_its_module() -> None:
    wanted = {its_test(Path(reading.inside(path))) for path in reading.modules()}
    rooms = {reading.inside(path).split("/")[0] for path in reading.modules() if path.parent != reading.SOURCE}
    lost = [path.relative_to(reading.TESTS).as_posix() for room in sorted(rooms)
            for path in (reading.TESTS / room).rglob("test_*.py") if path not in wanted]
    assert lost == [], "tests/ mirrors src/firstoff/"


def test_exceptions_are_still_needed() -> None:
    for place in WITHOUT_TEST.keys() | TESTED_IN.keys():
        assert not its_test(Path(place)).exists(), place
        assert (reading.SOURCE / place).exists(), place
    for place, test in TESTED_IN.items():
        assert f"firstoff.{place.split('/')[0]}" in (reading.TESTS / test).read_text(encoding="utf-8"), test


def test_no_file_is_long() -> None:
    files = [*reading.modules(), *reading.TESTS.rglob("*.py")]
    lengths = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in files}
    assert {str(path): lines for path, lines in lengths.items() if lines > LONGEST_FILE} == {}


def test_functions_are_short() -> None:
    lengths = {
        f"{reading.inside(path)}:{node.name}": code_lines(node)
        for path in reading.modules() for node in ast.walk(reading.tree(path))
        if isinstance(node, reading.Function)
    }
    over = {name: lines for name, lines in lengths.items() if lines > LONGEST_FUNCTION}
    assert len(over) <= SHARE_OVER * len(lengths), over


def test_bibliography_is_in_order() -> None:
    assert all(key == source.key and source.text for key, source in BIBLIOGRAPHY.items())


GOOD = '''
def power(tangential: float, removal_rate: float, name: str) -> float:
    """Mean power.

    Args:
        tangential: K_tc, a coefficient [N/m2], shape (N,),
            and more of it.
        removal_rate: Q [m3/s].
        name: what it is called.

    Returns:
        Power [W], shape (N,).

    Source: altintas2012, eq. (2.24);
        iso3002 for the symbols.
    """
'''
HINTS = {"tangential": float, "removal_rate": float, "name": str, "return": float}


def _first(code: str) -> ast.FunctionDef:
    node = ast.parse(code).body[0]
    assert isinstance(node, ast.FunctionDef)
    return node


def test_a_good_docstring_passes() -> None:
    assert wrong_names(_first(GOOD)) == ""
    assert wrong_physics(_first(GOOD), HINTS) == []


@pytest.mark.parametrize(("old", "new", "wrong"), [
    ("        removal_rate: Q [m3/s].\n", "", "removal_rate"),
    ("[m3/s]", "[mm3/s]", "no unit: removal_rate"),
    ("[W]", "", "Returns: no unit"),
    ("altintas2012", "nobody1999", "nobody1999"),
    ("iso3002", "iso9999", "iso9999"),
    ("    Source: altintas2012, eq. (2.24);\n        iso3002 for the symbols.\n", "", "no source"),
    ("altintas2012, eq. (2.24);\n        iso3002 for the symbols.", "own.", "derived from what"),
    ("altintas2012, eq. (2.24);\n        iso3002 for the symbols.", "own", "derived from what"),
])
def test_a_bad_docstring_is_seen(old: str, new: str, wrong: str) -> None:
    assert old in GOOD
    found = wrong_physics(_first(GOOD.replace(old, new)), HINTS)
    assert any(wrong in item for item in found), found


def test_names_are_compared_both_ways() -> None:
    assert "not documented: extra" in wrong_names(_first(GOOD.replace("name: str", "name: str, extra: int")))
    assert "does not exist: name" in wrong_names(_first(GOOD.replace(", name: str", "")))


def test_fields_need_units() -> None:
    text = "Two.\n\n    Fields:\n        a: one [N].\n        c: gone [N].\n    "
    node = ast.parse(f'class Pair:\n    """{text}"""').body[0]
    assert isinstance(node, ast.ClassDef)
    assert wrong_fields(node, {"a": float, "b": float, "word": str}) == ["no unit: b", "does not exist: c"]


def test_what_counts_as_a_number() -> None:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    numbers = (float, int, float | None, NDArray[np.float64], ArrayLike, tuple[float, float])
    assert all(map(reading.is_numeric, numbers))
    assert not any(map(reading.is_numeric, (str, bool, NDArray[np.bool_], typing.Literal["climb"], None)))
