"""Answers that are kept: several ask the same of one thing."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar, TypeVarTuple

Ts = TypeVarTuple("Ts")
R = TypeVar("R")


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
