"""A check is one file, and its test knows a case that is bad on purpose and one that is just good."""

from __future__ import annotations

import ast
import importlib
import re
from pathlib import Path
from typing import Any

import pytest

from tests.house import reading

NOT_CHECKS = {"__init__.py", "base.py", "si.py"}


def check_files() -> list[Path]:
    """The files of checks/ that each hold a way to go wrong."""
    return [path for path in reading.modules()
            if path.parent == reading.SOURCE / "checks"
            and path.name not in NOT_CHECKS and not path.name.startswith("_")]


def exported(loaded: Any) -> dict[str, list[Any]]:
    """What a file of checks/ exports, by name."""
    found = {}
    for name in ("CHECK", "CHECKS", "RULE", "RULES"):
        if hasattr(loaded, name):
            value = getattr(loaded, name)
            found[name] = list(value) if isinstance(value, tuple | list) else [value]
    return found


def wanted_words(names: set[str]) -> dict[str, str]:
    """What the names of the tests must hold, each as a pattern."""
    checks = {"bad_on_purpose": "bad_on_purpose", "just_good": "just_good"}
    rules = {"not_met": "_not_met", "met": "(?<!_not)_met(_|$)"}
    return (checks if names & {"CHECK", "CHECKS"} else {}) | (rules if names & {"RULE", "RULES"} else {})


def missing_words(names: set[str], test: ast.Module) -> set[str]:
    """Words that no test of the file bears in its name."""
    tests = [node.name for node in ast.walk(test)
             if isinstance(node, reading.Function) and node.name.startswith("test_")]
    return {word for word, pattern in wanted_words(names).items()
            if not any(re.search(pattern, name) for name in tests)}


@pytest.mark.parametrize("path", check_files(), ids=reading.inside)
def test_a_check_is_complete(path: Path) -> None:
    found = exported(importlib.import_module(reading.dotted(path)))
    assert found, f"{path.name} exports no CHECK and no RULE"
    assert all(items for items in found.values())
    test = reading.TESTS / "checks" / f"test_{path.name}"
    assert test.exists(), f"{path.name} has no test"
    assert missing_words(set(found), reading.tree(test)) == set()


def test_names_of_checks_differ() -> None:
    names = [item.name for path in check_files()
             for items in exported(importlib.import_module(reading.dotted(path))).values() for item in items]
    assert sorted(set(names)) == sorted(names)


def test_the_walk_can_fail() -> None:
    half = ast.parse("def test_bad_on_purpose_breaks() -> None: ...\ndef just_good() -> None: ...")
    assert missing_words({"CHECK"}, half) == {"just_good"}
    assert missing_words({"RULES"}, half) == {"not_met", "met"}
    assert missing_words({"RULE"}, ast.parse("def test_guard_not_met() -> None: ...")) == {"met"}
    assert missing_words({"RULE"}, ast.parse("def test_guard_met() -> None: ...")) == {"not_met"}
    assert missing_words(set(), half) == set()
    assert exported(object()) == {}
