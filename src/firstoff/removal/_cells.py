"""Kernels on one cell: how much of it a tool covers, and what is taken from its intervals.

A cell is a square of the grid with a rod of material on it. Row by row `rods` holds: TOP and BOTTOM, the ends of its
highest interval; PART, how much of the cell has been cut down to LOW while the rest stands to TOP: so walls lie where
they are and not at the next cell. `more` leads to the intervals below, in a pool. Kernels take bare arrays: what
stands in a tuple is counted again at each call, at ten times the cost.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .compiling import inner, kernel

TOP, BOTTOM, LOW, PART = 0, 1, 2, 3     #: rows of `rods`
EMPTY = -1.0e9      #: [mm] top and bottom of a cell without material
LEAST = 2.0e-6      #: [mm] less than this is rounding, not material
CORNER = 0.70711    #: [cells] from the middle of a cell to its corner
BINS = 64           #: across the path, from the right of the tool to its left
ALIKE = 1.0e-4      #: [mm] rods of one height within this are counted together
VOLUME, FLOOR, LOWEST, HIGHEST, SAME = 0, 1, 2, 3, 4    #: places in the last row of a `book`

Reals = NDArray[np.float64]
Singles = NDArray[np.float32]
Counts = NDArray[np.int32]


class Line(NamedTuple):
    """A straight piece of path over the grid, from where the tool has cut before.

    Fields:
        x: start, along the rows [cells].
        y: start, across the rows [cells].
        z: start [mm].
        ux: direction along the rows [1].
        uy: direction across the rows [1].
        length: as seen from above [cells].
        rise: for each cell of length; of a move straight up or down its whole height [mm].
    """

    x: float
    y: float
    z: float
    ux: float
    uy: float
    length: float
    rise: float


@inner
def covered(edge: float, across: float, along: float) -> float:
    """Share of a square cell on the inner side of a straight edge.

    Args:
        edge: from the middle of the cell to the edge, positive where the middle is inside [cells].
        across: first part of the edge's unit normal [1].
        along: second part of it [1].

    Returns:
        Share of the cell [1].
    """
    wide, small = max(abs(across), abs(along)), min(abs(across), abs(along))
    half = 0.5 * (wide + small)
    away = abs(edge)
    if away >= half:
        return 1.0 if edge > 0.0 else 0.0
    if away <= 0.5 * (wide - small):
        return 0.5 + edge / wide
    tail = (half - away) * (half - away) / (2.0 * wide * small)
    return 1.0 - tail if edge > 0.0 else tail


@kernel
def drop_below(rods: Singles, more: Counts, pool: Singles, links: Counts, k: int, z: float) -> float:
    """Take the highest interval of a cell away, and of those below what lies above z; the height of that [mm]."""
    removed = 0.0
    place = more[k]
    while place >= 0 and z <= pool[BOTTOM, place]:
        removed += pool[TOP, place] - pool[BOTTOM, place]
        place = links[place]
    rods[PART, k] = 0.0
    if place < 0:
        rods[TOP, k] = EMPTY
        rods[BOTTOM, k] = EMPTY
        more[k] = -1
        return removed
    top = pool[TOP, place]
    if z < top:
        removed += top - z
        top = z
    rods[TOP, k] = top
    rods[BOTTOM, k] = pool[BOTTOM, place]
    more[k] = links[place]
    return removed


@kernel
def take_all(rods: Singles, more: Counts, pool: Singles, links: Counts, k: int, z: float) -> float:
    """Cut a whole cell down to z, below its top; the height removed, as if of the whole cell [mm]."""
    top, bottom, part = float(rods[TOP, k]), float(rods[BOTTOM, k]), float(rods[PART, k])
    floor = max(z, bottom)
    removed = top - floor
    if part > 0.0:
        low = float(rods[LOW, k])
        removed -= part * (top - max(low, floor))
        if low >= floor - LEAST:
            rods[PART, k] = 0.0
    if z <= bottom:
        return removed + drop_below(rods, more, pool, links, k, z)
    rods[TOP, k] = z
    return removed


@inner
def take_part(rods: Singles, k: int, z: float, share: float) -> float:
    """Cut a share of a cell down to z, below its top; the height removed, as if of the whole cell [mm].

    The part that was cut before lies within the share or holds it. Where that leaves three heights, the two lower
    ones become one that leaves as much material.
    """
    top, part, low = float(rods[TOP, k]), float(rods[PART, k]), float(rods[LOW, k])
    floor = max(z, float(rods[BOTTOM, k]))
    if part == 0.0:
        rods[PART, k] = share
        rods[LOW, k] = floor
        return share * (top - floor)
    deeper = low - floor
    if share < part:
        if deeper <= 0.0:
            return 0.0
        rods[LOW, k] = low - share / part * deeper
        return share * deeper
    wider = (share - part) * (top - floor)
    rods[PART, k] = share
    if deeper >= 0.0:
        rods[LOW, k] = floor
        return part * deeper + wider
    rods[LOW, k] = (part * low + (share - part) * floor) / share
    return wider


@inner
def take(rods: Singles, more: Counts, pool: Singles, links: Counts, k: int, z: float, share: float) -> float:
    """Cut a share of a cell down to z, below its top; the height removed, as if of the whole cell [mm]."""
    if share >= 1.0:
        return take_all(rods, more, pool, links, k, z)
    if share <= 0.0:
        return 0.0
    return take_part(rods, k, z, share)


@kernel
def spread(book: Reals, edges: Reals, place: int, low: float, high: float, removed: float) -> None:
    """Divide a rod of chip among the slices; see `engage`, `place` being the bin across the path."""
    if high <= low:
        return
    last = len(edges) - 2
    weight = removed / (high - low)
    k = 0
    while k < last and edges[k + 1] <= low:
        k += 1
    while k < last and edges[k + 1] < high:
        book[k, place] += (edges[k + 1] - low) * weight
        low = edges[k + 1]
        k += 1
    book[k, place] += (high - low) * weight


@inner
def engage(book: Reals, edges: Reals, across: float, low: float, high: float, removed: float) -> None:
    """Add a rod of chip to the engagement.

    Args:
        book: height of chip by slice and bin, shape (slices + 2, BINS). The row before the last holds rods that go
            from the tip to SAME, the last row the sums [mm].
        edges: lower edges of the slices, then the highest [mm], shape (slices + 1,).
        across: left of the path over the radius, -1 to 1 [1].
        low: lower end of the rod above the tip [mm].
        high: upper end of it [mm].
        removed: how much of that was there, as if of the whole cell [mm].
    """
    place = min(max(int((across + 1.0) * (0.5 * BINS)), 0), BINS - 1)
    sums = len(edges)
    if low == 0.0 and abs(high - book[sums, SAME]) < ALIKE:
        book[sums - 1, place] += removed
    elif low == 0.0 and book[sums, SAME] == 0.0:
        book[sums, SAME] = high
        book[sums - 1, place] += removed
    else:
        spread(book, edges, place, low, high, removed)


@inner
def side(book: Reals, edges: Reals, across: float, low: float, high: float, removed: float) -> None:
    """Book what the side of a tool took; see `engage`."""
    if removed > 0.0:
        note(book, removed, low, high)
        engage(book, edges, across, low, high, removed)


@inner
def note(book: Reals, removed: float, low: float, high: float) -> None:
    """Book a volume by the side of the tool, and between which heights above the tip [mm] it was met."""
    sums = len(book) - 1
    book[sums, VOLUME] += removed
    book[sums, LOWEST] = min(book[sums, LOWEST], low)
    book[sums, HIGHEST] = max(book[sums, HIGHEST], high)


@inner
def below(book: Reals, removed: float) -> None:
    """Book what the end of a tool took [mm]: no engagement of its side."""
    book[len(book) - 1, VOLUME] += removed
    book[len(book) - 1, FLOOR] += removed


@inner
def take_whole(rods: Singles, more: Counts, pool: Singles, links: Counts, k: int, z: float) -> float:
    """As `take_all`, the usual case first."""
    if rods[PART, k] == 0.0 and rods[BOTTOM, k] < z:
        removed = rods[TOP, k] - z
        rods[TOP, k] = z
        return removed
    return take_all(rods, more, pool, links, k, z)
