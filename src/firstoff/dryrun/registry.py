"""All checks and rules: every module of `checks/` but the base and the converter brings one."""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final

from .. import checks
from ..checks.base import Check, Rule, Subject

_NOT_CHECKS: Final = frozenset({"base", "si"})
#: files of checks/ that look at no operation, and those that bring a rule: an answer loads only what it may ask
_ELSEWHERE: Final[Mapping[Subject, frozenset[str]]] = {
    "setting": frozenset({"chips", "clamp_bottoms", "grip"}),
    "limit": frozenset({"size"}),
    "joint": frozenset({"head_bearing", "head_below", "joint_opens", "joint_slips", "lever", "lever_force",
                        "screw_length", "screw_stretch", "wedge"}),
}
_RULES: Final = frozenset({"grabbing", "hand_drilling", "held", "rated_speed", "small_part"})
_OF_PROGRAMS: Final = "program_"          #: so begin the files that look at an operation's program, where it has one


@cache
def checks_about(subject: Subject, *, program: bool = True) -> tuple[Check, ...]:
    """The checks of one subject, by name.

    Args:
        subject: what they look at.
        program: whether it has an NC program; without one those that read it are left out.
    """
    return tuple(c for c in _checks_in(_files(subject, program)) if c.subject == subject)


@cache
def all_checks() -> tuple[Check, ...]:
    """Every check that is built, by name."""
    return _checks_in(_every_file())


@cache
def all_rules() -> tuple[Rule, ...]:
    """Every rule about persons, by name."""
    found = (getattr(_module(name), "RULE", None) for name in sorted(_RULES))
    return tuple(sorted((r for r in found if isinstance(r, Rule)), key=lambda r: r.name))


@cache
def _files(subject: Subject, program: bool) -> tuple[str, ...]:
    elsewhere = frozenset().union(*_ELSEWHERE.values())
    mine = _ELSEWHERE.get(subject, frozenset(_every_file()) - elsewhere - _RULES)
    return tuple(sorted(name for name in mine if program or not name.startswith(_OF_PROGRAMS)))


@cache
def _checks_in(names: tuple[str, ...]) -> tuple[Check, ...]:
    found = (getattr(_module(name), "CHECK", None) for name in names)
    return tuple(sorted((c for c in found if isinstance(c, Check)), key=lambda c: c.name))


@cache
def _every_file() -> tuple[str, ...]:
    names = (file.stem for file in Path(checks.__path__[0]).glob("*.py"))
    return tuple(sorted(name for name in names if name not in _NOT_CHECKS and not name.startswith("_")))


def _module(name: str) -> object:
    return importlib.import_module(f"{checks.__name__}.{name}")


#: what is known to go wrong in such work and is not computed yet: told to the person, never silent
NOT_BUILT: tuple[str, ...] = (
    "a collet or yoke that gives",
    "sizes: parts cut together whose models do not lie parallel; roundness, straightness, runout",
)
