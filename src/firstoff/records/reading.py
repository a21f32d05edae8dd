"""What a person wants to log, as it was said; nothing is checked yet."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Reading:
    """A word, watts, or a size with the instrument; raw texts with their units."""

    subject: str                     # id of an operation, or of a limit for a size
    word: str | None = None
    watts: str | None = None
    idle: str | None = None          # watts of the spindle running free
    size: str | None = None
    instrument: str | None = None
    replaces: str | None = None      # id of a record that was wrong
    note: str = ""
