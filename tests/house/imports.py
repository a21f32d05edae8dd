"""The order of the rooms, and the finder of imports and conversions that break it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass

#: From the ground up. A room imports from rooms of a lower number, or from itself.
LEVEL = {
    "__init__": 0, "errors": 0, "kept": 0, "normal": 1, "medians": 1, "quadrature": 1, "sources": 1, "units": 2,
    "belief": 3, "tomlfile": 3,
    "part": 4, "program": 4, "removal": 4, "cutting": 4, "holding": 4, "stack": 4,
    "shop": 5, "job": 6, "checks": 7, "dryrun": 8, "route": 9, "records": 10, "sheets": 11, "work": 11,
    "actions": 12, "actions_kept": 12, "telling": 13, "telling_cut": 14, "telling_hole": 14, "telling_joint": 14,
    "telling_sizes": 14, "telling_program": 14, "actions_mill": 13, "actions_drawn": 12,
    "actions_start": 12, "actions_wanted": 13, "actions_shop": 13, "telling_mill": 14,
    "demo": 14, "cli_words": 15, "cli_run": 14, "cli_plain": 15, "cli_quick": 16,
    "cli_mill": 16, "bench": 17, "cli": 18, "__main__": 19,
}
#: Rooms side by side that may meet: the reader of programs makes the moves that removal takes.
BESIDE = {("program", "removal")}
PHYSICS = {"cutting", "holding", "stack"}

#: Libraries that one room alone imports.
ONLY_IN = {
    "OCP": {"part"}, "sqlalchemy": {"records"}, "alembic": {"records"}, "typst": {"sheets"},
    "pint": {"units"}, "numba": {"removal"}, "starlette": {"bench"}, "jinja2": {"bench"}, "markupsafe": {"bench"},
    "uvicorn": {"bench"}, "typer": {"cli", "cli_mill", "cli_quick", "cli_words"},
    "rich": {"cli", "demo", "telling"},
}
#: What physics may import at module level; scipy only inside the function that needs it.
PHYSICS_OUTSIDE = {
    "__future__", "collections", "dataclasses", "enum", "functools", "itertools", "math", "numpy", "re",
    "typing",
}
PHYSICS_INSIDE = {"errors", "normal", "medians", "quadrature", "belief"}

#: Factors that turn mm into m, minutes into seconds, N/mm2 into N/m2; they belong in checks/si.py.
CONVERSIONS = {1e-3, 1e3, 1e6, 1e-6, 1e9, 1e-9, 60.0, 3600.0}


@dataclass(frozen=True)
class Import:
    """One import: the module that is asked for, its line, and whether it stands at module level."""

    module: str
    line: int
    at_start: bool


def imports(module: ast.Module, package: str) -> Iterator[Import]:
    """All imports of a file in `package`, inside functions too, relative ones resolved."""
    late = {
        id(inner)
        for outer in ast.walk(module) if isinstance(outer, ast.FunctionDef | ast.AsyncFunctionDef)
        for inner in ast.walk(outer)
    }
    for node in ast.walk(module):
        for name in _asked(node, package):
            yield Import(name, getattr(node, "lineno", 0), id(node) not in late)


def _asked(node: ast.AST, package: str) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        base = node.module or ""
        if node.level:
            kept = package.split(".")[: len(package.split(".")) - node.level + 1]
            base = ".".join([*kept, base] if base else kept)
        yield from (f"{base}.{alias.name}" for alias in node.names)
    elif isinstance(node, ast.Call) and _called(node.func) in ("import_module", "__import__") and node.args:
        first = node.args[0]
        if isinstance(first, ast.Constant) and isinstance(first.value, str):
            yield first.value


def _called(function: ast.expr) -> str:
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def room_of(dotted: str) -> str:
    """The room of a module of the package: 'firstoff.part.shapes' lies in 'part'."""
    parts = dotted.split(".")
    return parts[1] if len(parts) > 1 and parts[1] in LEVEL else "__init__"


def broken_layers(module: ast.Module, room: str, package: str) -> list[str]:
    """What is wrong with the imports of a file in this room; empty where all is well."""
    wrong = []
    for item in imports(module, package):
        top = item.module.split(".")[0]
        reason = _inner(room, room_of(item.module)) if top == "firstoff" else _outer(room, top, item.at_start)
        if reason:
            wrong.append(f"line {item.line}: {item.module}: {reason}")
    return wrong


def _inner(room: str, other: str) -> str:
    if other in (room, "__init__") or (room, other) in BESIDE:
        return ""
    if room in PHYSICS and other not in PHYSICS_INSIDE:
        return f"physics in {room} imports from {other}"
    if LEVEL[other] >= LEVEL[room]:
        return f"{room} may not import {other}: imports point downwards"
    return ""


def _outer(room: str, top: str, at_start: bool) -> str:
    if room not in ONLY_IN.get(top, {room}):
        return f"only {', '.join(sorted(ONLY_IN[top]))} may import {top}"
    if room in PHYSICS and top not in PHYSICS_OUTSIDE and not (top == "scipy" and not at_start):
        return "physics imports numpy alone (scipy inside the function that needs it)"
    return ""


def conversions(module: ast.Module) -> list[tuple[str, str, int]]:
    """Factors such as 1e-3 or 60 in products, quotients and powers: (function, factor, line).

    A factor that stands directly in a comparison is a tolerance, not a conversion. A constant at module
    level that holds such a number counts where it is used as a factor.
    """
    names = {
        target.id
        for node in module.body
        if isinstance(node, ast.Assign | ast.AnnAssign) and _is_factor(node.value, set())
        for target in (node.targets if isinstance(node, ast.Assign) else [node.target])
        if isinstance(target, ast.Name)
    }
    found: list[tuple[str, str, int]] = []
    _walk_factors(module, "module", names, found)
    return found


def _walk_factors(node: ast.AST, where: str, names: set[str], found: list[tuple[str, str, int]]) -> None:
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
        where = node.name
    for side in _factors(node):
        if _is_factor(side, names):
            found.append((where, ast.unparse(side), side.lineno))
    for child in ast.iter_child_nodes(node):
        if isinstance(node, ast.Compare) and isinstance(child, ast.BinOp):
            for side in (child.left, child.right):
                _walk_factors(side, where, names, found)
        else:
            _walk_factors(child, where, names, found)


def _factors(node: ast.AST) -> list[ast.expr]:
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult | ast.Div):
        return [node.left, node.right]
    if isinstance(node, ast.AugAssign) and isinstance(node.op, ast.Mult | ast.Div):
        return [node.value]
    return []


def _is_factor(node: ast.expr | None, names: set[str]) -> bool:
    if isinstance(node, ast.Name):
        return node.id in names
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Pow):
        return _number(node.left) in {10.0, 60.0} | CONVERSIONS
    return _number(node) in CONVERSIONS


def _number(node: ast.expr | None) -> float | None:
    value = node.value if isinstance(node, ast.Constant) else None
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
