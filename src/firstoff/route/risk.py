"""What can go wrong with a lone hole, as it is told."""

from __future__ import annotations

from dataclasses import dataclass

from ..dryrun.totals import SPLIT


def undecided(good: float, bad: float) -> bool:
    """Whether a trial would decide: many of the shops that it may be say good, and many no good."""
    return min(good, bad) >= SPLIT


@dataclass(frozen=True)
class Risk:
    """What can go wrong: how likely (None: not a matter of chance here), and what to do instead."""

    what: str
    p: float | None
    instead: str = ""
    otherwise: bool = False          # how it would be, were it not done as told: that has no verdict
    settle: str = ""                 # what would tell, where nobody can say yet


def verdict_of(risk: Risk, good: float, close: float) -> str:
    """good, close, no good or can't say by a shop's limits; nothing of what is no chance, or not to be done."""
    if risk.p is None or risk.otherwise:
        return ""
    if risk.p > good and risk.settle:
        return "can't say"
    return "good" if risk.p <= good else "close" if risk.p <= close else "no good"
