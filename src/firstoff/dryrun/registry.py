"""All checks and rules: every module of `checks/` but the base and the converter brings one."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from .. import checks
from ..checks.base import Check, Rule

_NOT_CHECKS = frozenset({"base", "si"})


@cache
def all_checks() -> tuple[Check, ...]:
    """Every check that is built, by name."""
    found = [getattr(module, "CHECK", None) for module in _modules()]
    return tuple(sorted((c for c in found if isinstance(c, Check)), key=lambda c: c.name))


@cache
def all_rules() -> tuple[Rule, ...]:
    """Every rule about persons, by name."""
    found = [getattr(module, "RULE", None) for module in _modules()]
    return tuple(sorted((r for r in found if isinstance(r, Rule)), key=lambda r: r.name))


@cache
def _modules() -> tuple[object, ...]:
    names = [info.name for info in pkgutil.iter_modules(checks.__path__) if info.name not in _NOT_CHECKS]
    return tuple(importlib.import_module(f"{checks.__name__}.{name}") for name in names)


#: what is known to go wrong in such work and is not computed yet: told to the person, never silent
NOT_BUILT: tuple[str, ...] = (
    "a collet or yoke that gives",
    "sizes: parts cut together whose models do not lie parallel; roundness, straightness, runout",
)
