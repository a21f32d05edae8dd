"""Evidence that hangs together by the figures that it asks for, apart from what has none of them in common.

Figures that no record ties to each other are independent afterwards as they were before: each group is learned by
itself, with few figures to move, and is right sooner than all of them at once.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Sequence
from typing import TypeVar

T = TypeVar("T", bound=Hashable)


def groups(asked: Sequence[Collection[T]]) -> list[list[int]]:
    """Which items hang together.

    Args:
        asked: what each item asks for.

    Returns:
        Indices of the items of each group, in order of their first; an item that asks for nothing is in none.
    """
    leader: dict[T, T] = {}

    def first(name: T) -> T:
        while leader[name] != name:
            leader[name] = leader[leader[name]]
            name = leader[name]
        return name

    for names in asked:
        known = list(names)
        for name in known:
            leader.setdefault(name, name)
            leader[first(name)] = first(known[0])
    found: dict[T, list[int]] = {}
    for i, names in enumerate(asked):
        if names:
            found.setdefault(first(next(iter(names))), []).append(i)
    return list(found.values())
