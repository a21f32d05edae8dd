"""What a person should know of a program, by line: as many of a kind as anybody reads, the rest counted."""

from __future__ import annotations

from typing import Final

from firstoff.program.words import Told

EACH: Final = 20         #: this many lines of a kind are told one by one
KINDS: Final = 200       #: and this many kinds


class Teller:
    """Collects what is told. What a loop would say of a line again and again is told once."""

    def __init__(self) -> None:
        self._told: list[Told] = []
        self._times: dict[str, int] = {}
        self._said: set[Told] = set()
        self._more = 0

    def __call__(self, line: int, what: str, kind: str = "") -> None:
        """Say something of a line; `kind` names what is alike where the words differ."""
        kind, told = kind or what, Told(line, what)
        if told in self._said:
            return
        if kind not in self._times and len(self._times) >= KINDS:
            self._more += 1
            return
        times = self._times[kind] = self._times.get(kind, 0) + 1
        if times <= EACH:
            self._told.append(told)
            self._said.add(told)

    def once(self, line: int, what: str, kind: str) -> None:
        """Say it, unless something of this kind was said before."""
        if kind not in self._times:
            self(line, what, kind)

    def forget(self, kind: str) -> None:
        """Let `once` say something of this kind again."""
        self._times.pop(kind, None)

    def all(self) -> tuple[Told, ...]:
        """All that was told, by line, and how much more there was of it."""
        more = sum(max(times - EACH, 0) for times in self._times.values()) + self._more
        told = sorted(self._told, key=lambda one: one.line)
        return (*told, Told(told[-1].line, f"and {more} more like these")) if more else tuple(told)
