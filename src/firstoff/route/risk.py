"""What can go wrong with a lone hole, as it is told."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Risk:
    """What can go wrong: how likely (None: not a matter of chance here), and what to do instead."""

    what: str
    p: float | None
    instead: str = ""
