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
T = TypeVar("T")


def cache_folder() -> Path:
    """The folder of this computer's user for what the program can compute again."""
    base = os.environ.get("LOCALAPPDATA" if sys.platform == "win32" else "XDG_CACHE_HOME", "")
    return (Path(base) if base else Path.home() / ".cache") / "firstoff"


def kept(
    many: int, by: Callable[..., tuple[object, ...]] | None = None
) -> Callable[[Callable[[*Ts], R]], Callable[[*Ts], R]]:
    """Keep the last answers of a function of frozen things, by which things they are: their contents are long.

    Args:
        many: answers; each stands with its things, so that no other ones can come to have their numbers.
        by: the things that the answer stands on, where it is not all that is handed over.
    """

    def keeping(answer: Callable[[*Ts], R]) -> Callable[[*Ts], R]:
        last: dict[tuple[int, ...], tuple[object, R]] = {}

        @wraps(answer)
        def of(*things: *Ts) -> R:
            stands_on = things if by is None else by(*things)
            key = tuple(map(id, stands_on))
            known = last.get(key)
            if known is None:
                found = answer(*things)
                while len(last) >= many:
                    last.pop(next(iter(last)), None)
                last[key] = known = stands_on, found
            return known[1]

        return of

    return keeping


def one_of(known: dict[T, T], thing: T, many: int) -> T:
    """Of things that are alike the one that came first, so that what is kept by it serves them all.

    Args:
        known: those that came so far.
        thing: frozen.
        many: are known at most.
    """
    while len(known) >= many:
        known.pop(next(iter(known)), None)
    return known.setdefault(thing, thing)
