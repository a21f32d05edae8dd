"""Answers that are kept: several checks of one case ask the same of it."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

T = TypeVar("T")
R = TypeVar("R")


def kept(many: int) -> Callable[[Callable[[T], R]], Callable[[T], R]]:
    """Keep the last answers of a function of one frozen thing, by which thing it is: its contents are long.

    Args:
        many: answers; each stands with its thing, so that no other one can come to have its number.
    """

    def keeping(answer: Callable[[T], R]) -> Callable[[T], R]:
        last: dict[int, tuple[T, R]] = {}

        @wraps(answer)
        def of(thing: T) -> R:
            if id(thing) not in last:
                found = answer(thing)
                while len(last) >= many:
                    last.pop(next(iter(last)))
                last[id(thing)] = thing, found
            return last[id(thing)][1]

        return of

    return keeping
