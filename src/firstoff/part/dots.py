"""A drawing for the terminal: the visible lines of views set in raised-dot letters, two dots wide and four high."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from firstoff.part.shapes import View

COLUMNS = 72                             # of letters, at most
ROWS = 24                                # of letters, at most, for one view
BLANK = 0x2800                           # the letter without dots (ISO/IEC 10646)
_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))     # by row and column within a letter

Dot = tuple[int, int]


def picture(views: Iterable[View], names: Sequence[str] = ("plan", "front")) -> list[str]:
    """The views one above the other, to one scale, each over its name.

    Args:
        views: hidden-line drawings; those with other names are left out.
        names: which, from above downwards.

    Returns:
        Lines of text; none where the views have no lines.
    """
    known = {view.name: view for view in views}
    drawn = [known[name] for name in names if name in known and known[name].visible]
    scale = min((_scale(view) for view in drawn), default=0.0)
    out: list[str] = []
    for view in drawn:
        out += [*_letters(_dots(view, scale)), view.name, ""]
    return out[:-1]


def _box(view: View) -> tuple[float, float, float, float]:
    points = [point for line in view.visible for point in line]
    return (min(x for x, _ in points), min(y for _, y in points),
            max(x for x, _ in points), max(y for _, y in points))


def _scale(view: View) -> float:
    """Dots a mm, so that the view fills its letters one way."""
    x0, y0, x1, y1 = _box(view)
    return min((2 * COLUMNS - 1) / max(x1 - x0, 1e-9), (4 * ROWS - 1) / max(y1 - y0, 1e-9))


def _dots(view: View, scale: float) -> set[Dot]:
    """The dots that the visible lines pass, counted from the left and from the top."""
    x0, _, _, y1 = _box(view)
    out: set[Dot] = set()
    for line in view.visible:
        places = [((x - x0) * scale, (y1 - y) * scale) for x, y in line]
        for (a, b), (c, d) in pairwise(places):
            steps = max(math.ceil(max(abs(c - a), abs(d - b))), 1)
            out |= {(round(a + (c - a) * k / steps), round(b + (d - b) * k / steps)) for k in range(steps + 1)}
    return out


def _letters(dots: set[Dot]) -> list[str]:
    rows: dict[int, dict[int, int]] = {}
    for x, y in dots:
        row = rows.setdefault(y // 4, {})
        row[x // 2] = row.get(x // 2, BLANK) | _BITS[y % 4][x % 2]
    return ["".join(chr(rows.get(k, {}).get(n, BLANK)) for n in range(max(rows.get(k, {0: 0})) + 1))
            for k in range(max(rows, default=-1) + 1)]
