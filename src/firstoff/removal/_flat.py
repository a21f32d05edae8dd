"""Kernel: a cutter with a flat end and straight sides along a line, level, up or down.

Cells that the tool covers whole are cut as it goes; cells on its edge beside the path, too (`_edge`). What lies under
it, or on its edge in front, as it goes down is cut where it turns, stops or a window ends: until then the next piece
of path is about to cut it deeper.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ._cells import CORNER, LEAST, TOP, Line, below, engage, note, side, take_whole
from ._spans import row_spans
from .compiling import inner, kernel

Reals = NDArray[np.float64]
Singles = NDArray[np.float32]
Counts = NDArray[np.int32]


@inner
def cut_level(
    rods: Singles, more: Counts, pool: Singles, links: Counts, row: int, y: float, begin: int, end: int, line: Line,
    over: float, book: Reals, edges: Reals,
) -> None:
    """Cells begin … end of a row whose first cell is at `row`, by a level move; `over` is one over the radius."""
    z = line.z
    least = np.float32(z + LEAST)
    base = (y * line.ux + line.x * line.uy) * over
    step = line.uy * over
    volume, highest = 0.0, 0.0
    for i in range(begin, end):
        k = row + i
        top = rods[TOP, k]
        if top <= least:
            continue
        removed = take_whole(rods, more, pool, links, k, z)
        volume += removed
        highest = max(highest, top - z)
        engage(book, edges, base - i * step, 0.0, top - z, removed)
    if volume > 0.0:
        note(book, volume, 0.0, highest)


@inner
def cut_met(
    rods: Singles, more: Counts, pool: Singles, links: Counts, row: int, y: float, begin: int, end: int, line: Line,
    radius: float, book: Reals, edges: Reals,
) -> None:
    """The same by a move that rises or falls: down to where its side meets each cell."""
    over = 1.0 / radius
    for i in range(begin, end):
        k = row + i
        x = i - line.x
        across, along = y * line.ux - x * line.uy, x * line.ux + y * line.uy
        half = math.sqrt(max(radius * radius - across * across, 0.0))
        met = line.z + line.rise * min(max(along - half, 0.0), line.length)
        top = rods[TOP, k]
        if top > met + LEAST:
            side(book, edges, across * over, 0.0, top - met, take_whole(rods, more, pool, links, k, met))


@inner
def cut_left(
    rods: Singles, more: Counts, pool: Singles, links: Counts, row: int, y: float, begin: int, end: int, line: Line,
    radius: float, book: Reals,
) -> None:
    """By a move that falls: down to where its end leaves each cell."""
    for i in range(begin, end):
        k = row + i
        x = i - line.x
        across, along = y * line.ux - x * line.uy, x * line.ux + y * line.uy
        if abs(across) > radius - CORNER:
            continue
        half = math.sqrt(radius * radius - across * across)
        left = line.z + line.rise * min(max(along + half, 0.0), line.length)
        if rods[TOP, k] > left + LEAST:
            below(book, take_whole(rods, more, pool, links, k, left))


@kernel
def cut_flat(
    rods: Singles, more: Counts, pool: Singles, links: Counts, shape: tuple[int, int], line: Line, radius: float,
    book: Reals, edges: Reals, spans: Counts,
) -> None:
    """Cut all cells that a flat end of this radius [cells] comes to cover whole as it goes along a line."""
    inside = radius - CORNER
    first, last = row_spans(
        line.x, line.y, line.ux, line.uy, line.length, 0.0, inside, inside, shape, spans)
    for j in range(first, last):
        at = j - first
        row, y = j * shape[1], j - line.y
        for piece in range(2):
            begin, end = spans[2 * piece, at], spans[2 * piece + 1, at]
            if line.rise == 0.0:
                cut_level(rods, more, pool, links, row, y, begin, end, line, 1.0 / radius, book, edges)
            else:
                cut_met(rods, more, pool, links, row, y, begin, end, line, radius, book, edges)


@kernel
def leave_flat(
    rods: Singles, more: Counts, pool: Singles, links: Counts, shape: tuple[int, int], line: Line, radius: float,
    book: Reals, spans: Counts,
) -> None:
    """Cut all cells that a flat end of this radius [cells] no longer covers whole as it goes down along a line."""
    x, y = line.x + line.ux * line.length, line.y + line.uy * line.length
    first, last = row_spans(x, y, -line.ux, -line.uy, line.length, 0.0, radius, radius, shape, spans)
    for j in range(first, last):
        at = j - first
        for piece in range(2):
            begin, end = spans[2 * piece, at], spans[2 * piece + 1, at]
            cut_left(rods, more, pool, links, j * shape[1], j - line.y, begin, end, line, radius, book)
