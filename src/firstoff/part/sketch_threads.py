"""Metric threads by their names: pitch and tap drill. Lengths in mm."""

from __future__ import annotations

from firstoff.part.sketch import Size
from firstoff.part.sketch_words import Words

#: Pitch and tap drill of coarse metric threads (iso724, iso2306) [mm].
COARSE: dict[str, tuple[float, float]] = {
    "M2": (0.4, 1.6), "M2.5": (0.45, 2.05), "M3": (0.5, 2.5), "M4": (0.7, 3.3), "M5": (0.8, 4.2), "M6": (1.0, 5.0),
    "M8": (1.25, 6.8), "M10": (1.5, 8.5), "M12": (1.75, 10.2), "M16": (2.0, 14.0), "M20": (2.5, 17.5),
}


def read(words: Words) -> tuple[str, float, Size]:
    """Name, pitch and tap drill of the metric thread that comes next in a line [mm]."""
    name, _, fine = words.take().text.upper().partition("X")
    nominal = float(name[1:])
    if fine:
        pitch = float(fine)
        if not 0.0 < pitch < nominal / 2:
            words.fail(f"a pitch of {fine} is none for {name}", "M4x0.5")
        return f"{name}x{fine}", pitch, Size(round(nominal - pitch, 6))
    if name not in COARSE:
        words.fail(f"the coarse pitch of {name} is not in the table here",
                   f"one of {', '.join(COARSE)}, or with its pitch: M7x1")
    return name, COARSE[name][0], Size(COARSE[name][1])
