"""Answers that are kept: several ask the same of one thing. And where this computer keeps what can be had again."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TypeVar, TypeVarTuple

Ts = TypeVarTuple("Ts")
R = TypeVar("R")


def cache_folder() -> Path:
    """The folder of this computer's user for what the program can compute again."""
    base = os.environ.get("LOCALAPPDATA" if sys.platform == "win32" else "XDG_CACHE_HOME", "")
    return (Path(base) if base else Path.home() / ".cache") / "firstoff"


def kept(many: int) -> Callable[[Callable[[*Ts], R]], Callable[[*Ts], R]]:
    """Keep the last answers of a function of frozen things, by which things they are: their contents are long.

    Args:
        many: answers; each stands with its things, so that no other ones can come to have their numbers.
    """

    def keeping(answer: Callable[[*Ts], R]) -> Callable[[*Ts], R]:
        last: dict[tuple[int, ...], tuple[object, R]] = {}

        @wraps(answer)
        def of(*things: *Ts) -> R:
            key = tuple(map(id, things))
            known = last.get(key)
            if known is None:
                found = answer(*things)
                while len(last) >= many:
                    last.pop(next(iter(last)), None)
                last[key] = known = things, found
            return known[1]

        return of

    return keeping
