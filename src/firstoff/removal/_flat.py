"""Kernel: a cutter with a flat end and straight sides along a line, level, up or down.

Cells that the tool covers whole are cut as it goes; cells on its edge beside the path, too (`_edge`). What lies under
it, or on its edge in front, as it goes down is cut where it turns, stops or a window ends: until then the next piece
of path is about to cut it deeper.
"""

from __future__ import annotations

import math

import numpy as np

from ._cells import CORNER, LEAST, TOP, Line, Work, below, engage, note, side, take_whole
from ._spans import row_spans
from .compiling import inner, kernel


@inner
def cut_level(work: Work, row: int, y: float, begin: int, end: int, line: Line, over: float) -> None:
    """Cells begin … end of a row whose first cell is at `row`, by a level move; `over` is one over the radius."""
    z = line.z
    least = np.float32(z + LEAST)
    base = (y * line.ux + line.x * line.uy) * over
    step = line.uy * over
    volume, highest = 0.0, 0.0
    for i in range(begin, end):
        k = row + i
        top = work.rods[TOP, k]
        if top <= least:
            continue
        removed = take_whole(work, k, z)
        volume += removed
        highest = max(highest, top - z)
        engage(work, base - i * step, 0.0, top - z, removed)
    if volume > 0.0:
        note(work, volume, 0.0, highest)


@inner
def cut_met(work: Work, row: int, y: float, begin: int, end: int, line: Line, radius: float) -> None:
    """The same by a move that rises or falls: down to where its side meets each cell."""
    over = 1.0 / radius
    for i in range(begin, end):
        k = row + i
        x = i - line.x
        across, along = y * line.ux - x * line.uy, x * line.ux + y * line.uy
        half = math.sqrt(max(radius * radius - across * across, 0.0))
        met = line.z + line.rise * min(max(along - half, 0.0), line.length)
        top = work.rods[TOP, k]
        if top > met + LEAST:
            side(work, across * over, 0.0, top - met, take_whole(work, k, met))


@inner
def cut_left(work: Work, row: int, y: float, begin: int, end: int, line: Line, radius: float) -> None:
    """By a move that falls: down to where its end leaves each cell."""
    for i in range(begin, end):
        k = row + i
        x = i - line.x
        across, along = y * line.ux - x * line.uy, x * line.ux + y * line.uy
        if abs(across) > radius - CORNER:
            continue
        half = math.sqrt(radius * radius - across * across)
        left = line.z + line.rise * min(max(along + half, 0.0), line.length)
        if work.rods[TOP, k] > left + LEAST:
            below(work, take_whole(work, k, left))


@inner
def cut_flat(work: Work, line: Line, radius: float) -> None:
    """Cut all cells that a flat end of this radius [cells] comes to cover whole as it goes along a line."""
    inside = radius - CORNER
    first, last = row_spans(
        line.x, line.y, line.ux, line.uy, line.length, 0.0, inside, inside, work)
    for j in range(first, last):
        at = j - first
        row, y = j * work.columns, j - line.y
        for piece in range(2):
            begin, end = work.spans[2 * piece, at], work.spans[2 * piece + 1, at]
            if line.rise == 0.0:
                cut_level(work, row, y, begin, end, line, 1.0 / radius)
            else:
                cut_met(work, row, y, begin, end, line, radius)


@kernel
def leave_flat(work: Work, line: Line, radius: float) -> None:
    """Cut all cells that a flat end of this radius [cells] no longer covers whole as it goes down along a line."""
    x, y = line.x + line.ux * line.length, line.y + line.uy * line.length
    first, last = row_spans(x, y, -line.ux, -line.uy, line.length, 0.0, radius, radius, work)
    for j in range(first, last):
        at = j - first
        for piece in range(2):
            begin, end = work.spans[2 * piece, at], work.spans[2 * piece + 1, at]
            cut_left(work, j * work.columns, j - line.y, begin, end, line, radius)
