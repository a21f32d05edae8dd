"""Kernel: which cells of each row a tool reaches anew as it goes along a line."""

from __future__ import annotations

import math

import numpy as np

from ._cells import Work
from .compiling import inner, kernel

HUGE = 1.0e12


@inner
def chord(radius: float, y: float) -> float:
    """Half the width of a circle at y from its middle; less than nothing where there is none."""
    rest = radius * abs(radius) - y * y
    return math.sqrt(max(rest, 0.0)) if rest > 0.0 else -HUGE


@inner
def steep(value: float) -> float:
    """One over a number, very large where there is none."""
    return 1.0 / value if abs(value) > 1.0 / HUGE else HUGE


@kernel
def row_spans(
    x0: float, y0: float, ux: float, uy: float, length: float, back: float, outer: float, inner: float,
    work: Work,
) -> tuple[int, int]:
    """Cells within `outer` of a line, not further than `back` behind its start, not within `inner` of its start.

    All lengths are in cells; the middle of cell (row j, column i) is at (i, j).

    Args:
        x0: start of the line.
        y0: start of the line.
        ux: direction of the line [1].
        uy: direction of the line [1].
        length: of the line.
        back: how far behind the start cells count.
        outer: how far from the line they count.
        inner: how near to the start they were reached before; 0 for none.
        work: for each row first and last-but-one of two pieces are written into its spans.

    Returns:
        First row, and the row after the last one.
    """
    beside = outer if back > 0.0 else abs(ux) * outer
    low, high = min(-beside, length * uy - outer), max(beside, length * uy + outer)
    first = max(0, math.ceil(y0 + low))
    last = min(work.rows, math.floor(y0 + high) + 1)
    over_x, over_y = steep(ux), steep(uy)
    ex, ey = length * ux, length * uy
    wide = float(work.columns)
    from_start = outer if back > 0.0 else -1.0
    for at in range(last - first):
        y = at + (first - y0)
        s_one, s_two = -y * uy * over_x, (length - y * uy) * over_x
        q_one, q_two = (y * ux - outer) * over_y, (y * ux + outer) * over_y
        begin = max(min(s_one, s_two), min(q_one, q_two))
        end = min(max(s_one, s_two), max(q_one, q_two))
        none = end < begin
        at_end, at_start, hole = chord(outer, y - ey), chord(from_start, y), chord(inner, y)
        begin = min(HUGE if none else begin, ex - at_end, -at_start)
        end = max(-HUGE if none else end, ex + at_end, at_start)
        behind = (-back - y * uy) * over_x
        begin = max(begin, behind) if over_x > 0.0 else begin
        end = end if over_x > 0.0 else min(end, behind)
        a = math.ceil(min(max(x0 + begin, 0.0), wide))
        b = max(math.floor(min(max(x0 + end, -1.0), wide - 1.0)) + 1.0, a)
        c = min(max(math.ceil(x0 - hole), a), b)
        d = max(min(math.floor(x0 + hole) + 1.0, b), c)
        work.spans[0, at], work.spans[1, at] = np.int32(a), np.int32(c)
        work.spans[2, at], work.spans[3, at] = np.int32(d), np.int32(b)
    return first, max(first, last)


@kernel
def band_spans(
    x0: float, y0: float, ux: float, uy: float, back: float, ahead: float, outer: float, work: Work,
) -> tuple[int, int]:
    """Cells from `back` behind a point to `ahead` of it, within `outer` beside the line through it; all in cells.

    Args:
        x0: the point.
        y0: the point.
        ux: direction of the line [1].
        uy: direction of the line [1].
        back: where the band begins.
        ahead: where it ends.
        outer: how far beside the line it goes.
        work: for each row first and last-but-one of a piece are written into its spans.

    Returns:
        First row, and the row after the last one.
    """
    low, high = min(-back * uy, ahead * uy) - outer * abs(ux), max(-back * uy, ahead * uy) + outer * abs(ux)
    first = max(0, math.ceil(y0 + low))
    last = min(work.rows, math.floor(y0 + high) + 1)
    over_x, over_y = steep(ux), steep(uy)
    wide = float(work.columns)
    for at in range(last - first):
        y = at + (first - y0)
        s_one, s_two = (-back - y * uy) * over_x, (ahead - y * uy) * over_x
        q_one, q_two = (y * ux - outer) * over_y, (y * ux + outer) * over_y
        begin = max(min(s_one, s_two), min(q_one, q_two))
        end = min(max(s_one, s_two), max(q_one, q_two))
        a = math.ceil(min(max(x0 + begin, 0.0), wide))
        b = max(math.floor(min(max(x0 + end, -1.0), wide - 1.0)) + 1.0, a)
        work.spans[0, at], work.spans[1, at] = np.int32(a), np.int32(b)
    return first, max(first, last)
