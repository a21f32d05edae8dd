"""Kernel: a cutter with a flat end and straight sides along a line, level, up or down.

Cells that the tool covers whole are cut as it goes; cells on its edge beside the path, too (`_edge`). What lies under
it, or on its edge in front, as it goes down is cut where it turns, stops or a window ends: until then the next piece
of path is about to cut it deeper.
"""

from __future__ import annotations

import math

import numpy as np

from ._cells import (
    ALIKE,
    BINS,
    CORNER,
    LEAST,
    SAME,
    SOON,
    TOP,
    Line,
    Work,
    below,
    engage,
    note,
    side,
    soon,
    take_whole,
)
from ._spans import crescent_spans
from .compiling import inner, kernel

NARROW = 2.0 / BINS     #: [1] across the path over the radius: cells so near each other are booked together


@inner
def cut_level(
    work: Work, row: int, begin: int, end: int, z: float, across: float, step: float,
) -> tuple[float, float]:
    """Cells begin … end of a row whose first cell is at `row`, by a level move.

    Cells of one height are booked together, if they are not too far apart for that.

    Args:
        work: on what.
        row: place of the row's first cell.
        begin: the first column.
        end: the column after the last one.
        z: of the move [mm].
        across: of the row's first cell, left of the path over the radius [1].
        step: how much that falls from column to column [1].

    Returns:
        Height removed, and the highest rod of it [mm].
    """
    least, sums = np.float32(z + LEAST), len(work.edges)
    same = work.book[sums, SAME] if abs(step) * (end - begin) < NARROW else -1.0
    volume, highest, alike = 0.0, 0.0, 0.0
    for i in range(begin, end):
        k = row + i
        if work.rods[TOP, k] <= least:
            continue
        high = work.rods[TOP, k] - z
        removed = take_whole(work, k, z)
        volume += removed
        highest = max(highest, high)
        if abs(high - same) < ALIKE:
            alike += removed
        else:
            engage(work, across - i * step, 0.0, high, removed)
    if alike > 0.0:
        engage(work, across - 0.5 * (begin + end - 1) * step, 0.0, same, alike)
    return volume, highest


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
    first, last = crescent_spans(line, radius - CORNER, work)
    over, level = 1.0 / radius, line.rise == 0.0
    start, step = line.x * line.uy - line.y * line.ux, line.uy * over
    volume, highest = 0.0, 0.0
    for j in range(first, last):
        for piece in range(2):
            begin, end = work.spans[2 * piece, j - first], work.spans[2 * piece + 1, j - first]
            if begin < end:
                soon(work, j * work.columns + (end + SOON if line.ux > 0.0 else begin - SOON))
            if begin < end and level:
                removed, high = cut_level(
                    work, j * work.columns, begin, end, line.z, (j * line.ux + start) * over, step)
                volume, highest = volume + removed, max(highest, high)
            elif begin < end:
                cut_met(work, j * work.columns, j - line.y, begin, end, line, radius)
    if volume > 0.0:
        note(work, volume, 0.0, highest)


@kernel
def leave_flat(work: Work, line: Line, radius: float) -> None:
    """Cut all cells that a flat end of this radius [cells] no longer covers whole as it goes down along a line."""
    x, y = line.x + line.ux * line.length, line.y + line.uy * line.length
    first, last = crescent_spans(Line(x, y, line.z, -line.ux, -line.uy, line.length, line.rise), radius, work)
    for j in range(first, last):
        for piece in range(2):
            begin, end = work.spans[2 * piece, j - first], work.spans[2 * piece + 1, j - first]
            cut_left(work, j * work.columns, j - line.y, begin, end, line, radius)
