"""What a person wants to log, as it was said; nothing is checked yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

#: what can be seen of a cut -> the words that are kept
SEEN: Final = {
    "chip_colour": ("bright", "straw", "brown", "purple", "blue", "grey", "melted"),
    "chip_form": ("long", "curls", "commas", "needles", "dust", "welded"),
    "burr": ("none", "light", "heavy"),
    "finish": ("good", "fair", "rough", "torn", "waves"),
}
#: how a parallel under the clamped part feels
PARALLELS: Final = ("tight", "loose")


@dataclass(frozen=True)
class Reading:
    """A word, what was seen, watts, a size, a test of the hold, a file or a note; raw texts with their units."""

    subject: str                     # id of an operation, or of a limit for a size; empty for the whole job
    word: str | None = None
    watts: str | None = None
    idle: str | None = None          # watts of the spindle running free
    size: str | None = None
    instrument: str | None = None
    replaces: str | None = None      # id of a record that was wrong
    note: str = ""
    chip_colour: str | None = None
    chip_form: str | None = None
    burr: str | None = None
    finish: str | None = None
    feed: str | None = None          # feed override while it was cut: "80 %"
    depth: str | None = None         # of the cut, where it was not the route's: "0.5 mm"
    scrap: bool = False              # a trial in scrap, held as it came
    file: str | None = None          # a recording or picture
    when: str | None = None          # if not now: "2026-03-01 14:30"
    by: str = ""
    id: str | None = None            # from who sends it, so that sending it twice keeps one record
    pull: str | None = None          # at the clamped part with a luggage scale: "12 kg"; with the word moved, or ok
    lift: str | None = None          # that an indicator on the part read while it was tightened: "0.02 mm"
    parallels: str | None = None     # tried with a finger when it was tight: "tight" or "loose"
