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
    PART,
    SAME,
    SOON,
    TOP,
    Line,
    Work,
    below,
    engage,
    larger,
    note,
    smaller,
    soon,
    spot,
    take_side,
    take_whole,
)
from ._spans import crescent_spans
from .compiling import inner, kernel


@inner
def run_of(work: Work, k: int, last: int, z: float) -> int:
    """The place after the last of those from k on that stand as high as it, whole and in one piece down to z."""
    top, alike, i = work.rods[TOP, spot(k)], np.float32(ALIKE), k
    if work.floor >= z:
        return k
    while i < last and abs(work.rods[TOP, spot(i)] - top) < alike and work.rods[PART, spot(i)] == 0.0:
        i += 1
    return i


@inner
def engage_run(work: Work, left: float, right: float, high: float, removed: float) -> None:
    """As `engage`, for rods of one height side by side between two places across the path."""
    sums = len(work.edges)
    if work.book[sums, SAME] == 0.0:
        work.book[sums, SAME] = high
    low, wide = (0.5 * BINS) * (1.0 + right), (0.5 * BINS) * (left - right)
    first, last = int(low), int(low + wide)
    if abs(high - work.book[sums, SAME]) >= ALIKE or first < 0 or last >= BINS:
        engage(work, 0.5 * (left + right), 0.0, high, removed)
    elif first == last:
        work.book[sums - 1, spot(first)] += removed
    else:
        for b in range(first, last + 1):
            inside = smaller(low + wide, b + 1.0) - larger(low, float(b))
            work.book[sums - 1, spot(b)] += removed * inside / wide


@inner
def cut_level(
    work: Work, row: int, begin: int, end: int, z: float, across: float, step: float,
) -> tuple[float, float]:
    """Cells begin … end of a row whose first cell is at `row`, by a level move.

    Cells of one height side by side are cut and booked together.

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
    least, low, half = np.float32(z + LEAST), np.float32(z), 0.5 * abs(step)
    volume, highest = 0.0, 0.0
    i = begin
    while i < end:
        k = row + i
        if work.rods[TOP, spot(k)] <= least:
            i += 1
            continue
        high = float(work.rods[TOP, spot(k)]) - z
        many = run_of(work, k, row + end, z) - k
        if many > 0:
            for at in range(k, k + many):
                work.rods[TOP, spot(at)] = low
            one, other = across - i * step, across - (i + many - 1) * step
            engage_run(work, larger(one, other) + half, smaller(one, other) - half, high, high * many)
            volume, highest = volume + high * many, larger(highest, high)
            i += many
        else:
            take_side(work, k, z, 1.0, across - i * step, 0.0, z)
            i += 1
    return volume, highest


@inner
def cut_met(work: Work, row: int, y: float, begin: int, end: int, line: Line, radius: float) -> None:
    """The same by a move that rises or falls: down to where its side meets each cell."""
    over = 1.0 / radius
    for i in range(begin, end):
        k = row + i
        x = i - line.x
        across, along = y * line.ux - x * line.uy, x * line.ux + y * line.uy
        half = math.sqrt(larger(radius * radius - across * across, 0.0))
        met = line.z + line.rise * smaller(larger(along - half, 0.0), line.length)
        top = work.rods[TOP, spot(k)]
        if top > met + LEAST:
            take_side(work, k, met, 1.0, across * over, 0.0, met)


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
        left = line.z + line.rise * smaller(larger(along + half, 0.0), line.length)
        if work.rods[TOP, spot(k)] > left + LEAST:
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
                volume, highest = volume + removed, larger(highest, high)
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
