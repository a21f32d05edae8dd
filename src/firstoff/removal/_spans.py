"""Kernel: which cells of each row a tool reaches anew as it goes along a line."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ._cells import Line, Work, larger, smaller
from .compiling import inner, kernel

Singles = NDArray[np.float32]

HUGE = 1.0e12        #: [cells]
FAR = 1.0e7          #: [cells] further no cell is
MARGIN = 0.3         #: [cells] by which a step of the walk along a dome is widened
STEPS_A_CELL = 0.6   #: of that walk over half the cutter
LEAST_STEPS = 8
SEAM = 2.0e-3        #: [cells] so far what was reached before is reached again, as single numbers round


@inner
def chord(radius: float, y: float) -> float:
    """Half the width of a circle at y from its middle; less than nothing where there is none."""
    rest = radius * abs(radius) - y * y
    return math.sqrt(larger(rest, 0.0)) if rest > 0.0 else -HUGE


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
    low, high = smaller(-beside, length * uy - outer), larger(beside, length * uy + outer)
    first = larger(0, math.ceil(y0 + low))
    last = smaller(work.rows, math.floor(y0 + high) + 1)
    over_x, over_y = steep(ux), steep(uy)
    ex, ey = length * ux, length * uy
    wide = float(work.columns)
    from_start = outer if back > 0.0 else -1.0
    for at in range(last - first):
        y = at + (first - y0)
        s_one, s_two = -y * uy * over_x, (length - y * uy) * over_x
        q_one, q_two = (y * ux - outer) * over_y, (y * ux + outer) * over_y
        begin = larger(smaller(s_one, s_two), smaller(q_one, q_two))
        end = smaller(larger(s_one, s_two), larger(q_one, q_two))
        none = end < begin
        at_end, at_start, hole = chord(outer, y - ey), chord(from_start, y), chord(inner, y)
        begin = smaller(smaller(HUGE if none else begin, ex - at_end), -at_start)
        end = larger(larger(-HUGE if none else end, ex + at_end), at_start)
        behind = (-back - y * uy) * over_x
        begin = larger(begin, behind) if over_x > 0.0 else begin
        end = end if over_x > 0.0 else smaller(end, behind)
        a = math.ceil(smaller(larger(x0 + begin, 0.0), wide))
        b = larger(math.floor(smaller(larger(x0 + end, -1.0), wide - 1.0)) + 1.0, a)
        c = smaller(larger(math.ceil(x0 - hole), a), b)
        d = larger(smaller(math.floor(x0 + hole) + 1.0, b), c)
        work.spans[0, at], work.spans[1, at] = np.int32(a), np.int32(c)
        work.spans[2, at], work.spans[3, at] = np.int32(d), np.int32(b)
    return first, larger(first, last)


@kernel
def crescent_spans(line: Line, outer: float, work: Work) -> tuple[int, int]:
    """Cells within `outer` of a line and not so near to its start; as `row_spans`, in single numbers.

    Args:
        line: the path, of some length.
        outer: how far from it cells count [cells].
        work: for each row first and last-but-one of two pieces are written into its spans.

    Returns:
        First row, and the row after the last one.
    """
    one, wide = np.float32, np.float32(work.columns)
    length, radius, inside = one(line.length), one(outer), one(outer - SEAM)
    ux, uy = one(line.ux), one(line.uy)
    ex, ey = length * ux, length * uy
    over_x, over_y = one(steep(line.ux)), one(steep(line.uy))
    whole = math.floor(line.x)
    x0, column = one(line.x - whole), one(whole)
    beside, far = abs(line.ux) * outer, line.length * line.uy
    first = larger(0, math.ceil(line.y + smaller(-beside, far - outer)))
    last = smaller(work.rows, math.floor(line.y + larger(beside, far + outer)) + 1)
    none, least, square, reached = one(0.0), one(-HUGE), radius * radius, inside * inside
    below = one(first - line.y)
    for at in range(last - first):
        y = one(np.int32(at)) + below
        s_one, s_two = -y * uy * over_x, (length - y * uy) * over_x
        q_one, q_two = (y * ux - radius) * over_y, (y * ux + radius) * over_y
        begin = larger(smaller(s_one, s_two), smaller(q_one, q_two))
        end = smaller(larger(s_one, s_two), larger(q_one, q_two))
        short = end < begin
        from_end, at_start = square - (y - ey) * (y - ey), reached - y * y
        half = np.sqrt(larger(from_end, none)) if from_end > none else least
        low, high = smaller(-least if short else begin, ex - half), larger(least if short else end, ex + half)
        hole = np.sqrt(larger(at_start, none)) if at_start > none else least
        low, high = larger(low, one(-FAR)), smaller(high, one(FAR))
        a = smaller(larger(np.ceil(x0 + low) + column, none), wide)
        b = larger(np.floor(smaller(x0 + high + column, wide - one(1.0))) + one(1.0), a)
        c = smaller(larger(np.ceil(x0 - hole) + column, a), b)
        d = larger(smaller(np.floor(x0 + hole) + column + one(1.0), b), c)
        work.spans[0, at], work.spans[1, at] = np.int32(a), np.int32(c)
        work.spans[2, at], work.spans[3, at] = np.int32(d), np.int32(b)
    return first, larger(first, last)


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
    low, high = smaller(-back * uy, ahead * uy) - outer * abs(ux), larger(-back * uy, ahead * uy) + outer * abs(ux)
    first = larger(0, math.ceil(y0 + low))
    last = smaller(work.rows, math.floor(y0 + high) + 1)
    over_x, over_y = steep(ux), steep(uy)
    wide = float(work.columns)
    for at in range(last - first):
        y = at + (first - y0)
        s_one, s_two = (-back - y * uy) * over_x, (ahead - y * uy) * over_x
        q_one, q_two = (y * ux - outer) * over_y, (y * ux + outer) * over_y
        begin = larger(smaller(s_one, s_two), smaller(q_one, q_two))
        end = smaller(larger(s_one, s_two), larger(q_one, q_two))
        a = math.ceil(smaller(larger(x0 + begin, 0.0), wide))
        b = larger(math.floor(smaller(larger(x0 + end, -1.0), wide - 1.0)) + 1.0, a)
        work.spans[0, at], work.spans[1, at] = np.int32(a), np.int32(b)
    return first, larger(first, last)


@inner
def place_of(ahead: Singles, across: float, radius: float) -> float:
    """How far ahead of the tool's middle it is lowest over a cell, `across` from the path; all in cells."""
    last = len(ahead) - 1
    at = smaller(abs(across) / radius, 1.0) * last
    k = smaller(int(at), last - 1)
    ratio = ahead[k] + (ahead[k + 1] - ahead[k]) * (at - k)
    return float(ratio) * math.sqrt(larger(radius * radius - across * across, 0.0))


@inner
def widen(work: Work, half: int, one: float, other: float, low: int, high: int) -> None:
    """Let the spans of rows low … high take in columns `one` to `other` [cells], in either order."""
    a = larger(math.ceil(smaller(one, other) - MARGIN), 0)
    b = smaller(math.floor(larger(one, other) + MARGIN) + 1, work.columns)
    for at in range(low, high):
        work.spans[2 * half, at] = smaller(work.spans[2 * half, at], a)
        work.spans[2 * half + 1, at] = larger(work.spans[2 * half + 1, at], b)


@kernel
def dome_spans(
    line: Line, ahead: Singles, radius: float, slack: float, outer: float, work: Work,
) -> tuple[int, int, int]:
    """Cells whose lowest place a cutter may pass along a line that rises or falls: a few more, none less.

    The places form a dome over the width of the cutter. Each half of it is walked along, and each step, drawn out
    along the line, widens the spans of the rows that it goes over.

    Args:
        line: the path.
        ahead: table of lowest places for its slope, see `cutters.contact_places`.
        radius: of the cutter [cells].
        slack: how far before its start cells count [cells].
        outer: how far from the line they count [cells].
        work: for each row first and last-but-one of a piece for each half are written into its spans.

    Returns:
        Row of the first span, first row with cells, and the row after the last one.
    """
    furthest = line.length + slack + outer + radius + 2.0
    first = larger(0, math.floor(line.y - furthest))
    rows = larger(0, smaller(work.rows, math.ceil(line.y + furthest) + 1) - first)
    for at in range(rows):
        work.spans[0, at] = work.spans[2, at] = work.columns
        work.spans[1, at] = work.spans[3, at] = 0
    lowest, highest = rows, 0
    drawn, steps = line.length + slack, int(outer * STEPS_A_CELL) + LEAST_STEPS
    x0, y0 = line.x - slack * line.ux, line.y - slack * line.uy - first
    before, wide = place_of(ahead, 0.0, radius), 0.0
    for k in range(1, steps + 1):
        u = 1.0 - k / steps
        q = outer * (1.0 - u * u)
        s = place_of(ahead, q, radius)
        for half in range(2):
            hand = 1.0 - 2.0 * half
            ya, yb = y0 + before * line.uy + hand * wide * line.ux, y0 + s * line.uy + hand * q * line.ux
            xa, xb = x0 + before * line.ux - hand * wide * line.uy, x0 + s * line.ux - hand * q * line.uy
            up, along = drawn * line.uy, drawn * line.ux
            low = larger(math.ceil(smaller(ya, yb) + smaller(up, 0.0) - MARGIN), 0)
            high = smaller(math.floor(larger(ya, yb) + larger(up, 0.0) + MARGIN) + 1, rows)
            widen(work, half, smaller(xa, xb) + smaller(along, 0.0), larger(xa, xb) + larger(along, 0.0), low, high)
            lowest, highest = smaller(lowest, low), larger(highest, high)
        before, wide = s, q
    return first, first + lowest, first + larger(lowest, highest)
