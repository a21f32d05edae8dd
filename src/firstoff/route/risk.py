"""What can go wrong with a lone hole, as it is told."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Risk:
    """What can go wrong: how likely (None: not a matter of chance here), and what to do instead."""

    what: str
    p: float | None
    instead: str = ""
    otherwise: bool = False          # how it would be, were it not done as told: that has no verdict


def verdict_of(risk: Risk, good: float, close: float) -> str:
    """good, close or no good by the limits of a shop; nothing of what is no matter of chance, or not to be done."""
    if risk.p is None or risk.otherwise:
        return ""
    return "good" if risk.p <= good else "close" if risk.p <= close else "no good"
