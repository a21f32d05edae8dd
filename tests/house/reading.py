"""What the house tests read: files, imports and docstrings of the source, without importing it."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "firstoff"
TESTS = ROOT / "tests"
PHYSICS = ("cutting", "holding", "stack")

Function = ast.FunctionDef | ast.AsyncFunctionDef

_SECTION = re.compile(r"^(Args|Returns|Raises|Fields|Yields|Range|Source|Symbols):[ \t]*(.*)$")
_ENTRY = re.compile(r"^ {4}(\*{0,2}[A-Za-z_]\w*(?:, ?[A-Za-z_]\w*)*):\s*(.*)$")
_BRACKET = re.compile(r"\[([^\[\]]*)\]")
_NUMERIC = re.compile(r"\b(float|int|complex|ndarray|floating|float64|integer|ArrayLike)\b")
_BOOLEAN = re.compile(r"numpy\.ndarray\[[^\[\]]*(?:\[[^\[\]]*\])?[^\[\]]*, ?numpy\.dtype\[numpy\.bool_?\]\]")


@cache
def modules() -> tuple[Path, ...]:
    """Every Python file of the package, in order."""
    return tuple(sorted(SOURCE.rglob("*.py")))


@cache
def tree(path: Path) -> ast.Module:
    """The parsed file."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def inside(path: Path) -> str:
    """The path below src/firstoff, with slashes, as the allow-lists write it."""
    return path.relative_to(SOURCE).as_posix()


def dotted(path: Path) -> str:
    """The module name of a file of the package."""
    parts = ("firstoff", *path.relative_to(SOURCE).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def public_functions(module: ast.Module) -> Iterator[Function]:
    """Functions at module level whose name has no underscore in front."""
    for node in module.body:
        if isinstance(node, Function) and not node.name.startswith("_"):
            yield node


def public_classes(module: ast.Module) -> Iterator[ast.ClassDef]:
    """Classes at module level whose name has no underscore in front."""
    for node in module.body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield node


def parameters(function: Function) -> list[str]:
    """Names of the parameters as a docstring writes them, without self and cls."""
    given = function.args
    names = [item.arg for item in (*given.posonlyargs, *given.args, *given.kwonlyargs)]
    names += [item.arg for item in (given.vararg, given.kwarg) if item is not None]
    return [name for name in names if name not in ("self", "cls")]


@dataclass(frozen=True)
class Doc:
    """A docstring taken apart: entries of Args, Fields, Raises by name; the rest as text."""

    args: dict[str, str]
    fields: dict[str, str]
    returns: str
    source: str
    sections: frozenset[str]


def read_docstring(text: str | None) -> Doc:
    """Takes apart a docstring of the form that CONTRIBUTING.md gives."""
    blocks: dict[str, list[str]] = {}
    current: list[str] = []
    for line in inspect.cleandoc(text or "").splitlines():
        heading = _SECTION.match(line)
        if heading:
            current = blocks.setdefault(heading[1], [])
            current.append("    " + heading[2] if heading[2] else "")
        elif line and not line.startswith(" ") and blocks.get("Source") != current:
            current = []
        else:
            current.append(line)
    return Doc(
        args=_entries(blocks.get("Args", [])),
        fields=_entries(blocks.get("Fields", [])),
        returns=_joined(blocks.get("Returns", [])),
        source=_joined(blocks.get("Source", [])),
        sections=frozenset(blocks),
    )


def brackets(text: str) -> list[str]:
    """What stands in square brackets, in order: '[N/m2], shape' gives 'N/m2'."""
    return _BRACKET.findall(text)


def is_numeric(annotation: Any) -> bool:
    """True where the annotation, resolved, lets a number in that needs a unit."""
    text = annotation.__name__ if isinstance(annotation, type) else str(annotation)
    return bool(_NUMERIC.search(_BOOLEAN.sub("bool", text)))


def _joined(lines: list[str]) -> str:
    return " ".join(line.strip() for line in lines if line.strip())


def _entries(lines: list[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    names: list[str] = []
    for line in lines:
        entry = _ENTRY.match(line)
        if entry:
            names = [name.strip().lstrip("*") for name in entry[1].split(",")]
            found.update(dict.fromkeys(names, entry[2].strip()))
        else:
            for name in names:
                found[name] = f"{found[name]} {line.strip()}".strip()
    return found
