"""Kernels on one cell: how much of it a tool covers, and what is taken from its intervals.

A cell is a square of the grid with a rod of material on it. Row by row `rods` holds: TOP and BOTTOM, the ends of its
highest interval; PART, how much of the cell has been cut down to LOW while the rest stands to TOP: so walls lie where
they are and not at the next cell. `more` leads to the intervals below, in a pool.
"""

from __future__ import annotations

from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from .compiling import fetching, inner, kernel

fetch = fetching()

TOP, BOTTOM, LOW, PART = 0, 1, 2, 3     #: rows of `rods`
EMPTY = -1.0e9      #: [mm] top and bottom of a cell without material
LEAST = 2.0e-6      #: [mm] less than this is rounding, not material
SOON = 16           #: [cells] ahead of what is cut now: as many as memory hands over in one go
SLIM = 0.01         #: [1] an edge within so much of a side of the cell is not told from it
WHOLE = 1.0 - 1e-9  #: [1] more of a cell is all of it
SLIVER = 0.02       #: of a cell: a thinner rod does not say how deep a cut is
YES, NO = 1.0, 0.0  #: for kernels: true and false are types of their own to the compiler, which then compiles twice
CORNER = 0.70711    #: [cells] from the middle of a cell to its corner
OVERLAP = 0.5       #: [cells] pieces beside each other overlap so far at their edges
BINS = 64           #: across the path, from the right of the tool to its left
ALIKE = 1.0e-4      #: [mm] rods of one height within this are counted together
VOLUME, FLOOR, LOWEST, HIGHEST, SAME = 0, 1, 2, 3, 4    #: places in the last row of a `book`
THIN = 4            #: [cells] so wide most spans are on the edge of a tool
#: Rows of `places`: left of a line and along it from its start [cells], height of the envelope [mm], how far along
#: the line the tool is lowest there [cells].
ACROSS, ALONG, HEIGHT, PASSED = 0, 1, 2, 3

Reals = NDArray[np.float64]
Singles = NDArray[np.float32]
Counts = NDArray[np.int32]
Number = TypeVar("Number", bound=Any)


class Work(NamedTuple):
    """A stock as it is cut, and the book of what is taken.

    Fields:
        rods: highest interval of each cell and its part, shape (4, cells).
        more: place in the pool of the next interval below, -1 for none, shape (cells,).
        pool: ends of the intervals below, shape (2, p).
        links: the next below each of them, -1 for none; in its last place how many are taken, shape (p + 1,).
        rows: of the grid [1].
        columns: of the grid [1].
        book: height of chip by slice and bin, shape (slices + 2, BINS). The row before the last holds rods that go
            from the tip to SAME, the last row the sums [mm].
        edges: lower edges of the slices, then the highest [mm], shape (slices + 1,).
        spans: room for what cells of each row are reached, shape (4, rows).
        picked: room for cells that may be cut, shape (p,), p more than twice the columns and the cells of one go.
        places: room for what is known of each of them, by ACROSS, ALONG, HEIGHT and PASSED, shape (4, p).
        floor: no interval ends below above it [mm].
    """

    rods: Singles
    more: Counts
    pool: Singles
    links: Counts
    rows: int
    columns: int
    book: Reals
    edges: Reals
    spans: Counts
    picked: Counts
    places: Singles
    floor: float


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
def long(number: Any) -> Any:
    """A whole number of 64 bits: to the compiler 0, an index of 32 bits and one of 64 are three types."""
    return np.int64(number)


@inner
def spot(place: Any) -> Any:
    """A place in an array that is not below 0: of any other the compiler asks, each time, whether it counts from the
    end."""
    return np.uint64(place)


@inner
def larger(one: Number, other: Number) -> Number:
    """The larger of two numbers: what Python has for it is not made part of its callers."""
    return one if one > other else other


@inner
def smaller(one: Number, other: Number) -> Number:
    """The smaller of two numbers."""
    return one if one < other else other


@inner
def covered(edge: float, across: float, along: float) -> float:
    """Share of a square cell on the inner side of a straight edge; without branches, which no processor foresees.

    Args:
        edge: from the middle of the cell to the edge, positive where the middle is inside [cells].
        across: first part of the edge's unit normal [1].
        along: second part of it [1].

    Returns:
        Share of the cell [1].
    """
    wide, small = larger(abs(across), abs(along)), larger(smaller(abs(across), abs(along)), SLIM)
    outer, flat = 0.5 * (wide + small), 0.5 * (wide - small)
    a, b = larger(edge + outer, 0.0), larger(edge + flat, 0.0)
    c, d = larger(edge - flat, 0.0), larger(edge - outer, 0.0)
    share = (a * a - b * b - c * c + d * d) / (2.0 * wide * small)
    share = share if share < WHOLE else 1.0
    return share if share > 1.0 - WHOLE else 0.0


@inner
def bottom_of(work: Work, k: int, z: float) -> float:
    """Where the highest interval of a cell ends below [mm]; nowhere if that is surely below z."""
    return EMPTY if z > work.floor else float(work.rods[BOTTOM, spot(k)])


@kernel
def drop_below(work: Work, k: int, z: float) -> float:
    """Take the highest interval of a cell away, and of those below what lies above z; the height of that [mm]."""
    removed = 0.0
    place = work.more[k]
    while place >= 0 and z <= work.pool[BOTTOM, place]:
        removed += work.pool[TOP, place] - work.pool[BOTTOM, place]
        place = work.links[place]
    work.rods[PART, k] = 0.0
    if place < 0:
        work.rods[TOP, k] = EMPTY
        work.rods[BOTTOM, k] = EMPTY
        work.more[k] = -1
        return removed
    top = work.pool[TOP, place]
    if z < top:
        removed += top - z
        top = z
    work.rods[TOP, k] = top
    work.rods[BOTTOM, k] = work.pool[BOTTOM, place]
    work.more[k] = work.links[place]
    return removed


@kernel
def take_all(work: Work, k: int, z: float) -> float:
    """Cut a whole cell down to z, below its top; the height removed, as if of the whole cell [mm]."""
    top, part, bottom = float(work.rods[TOP, spot(k)]), float(work.rods[PART, spot(k)]), bottom_of(work, k, z)
    floor = larger(z, bottom)
    removed = top - floor
    if part > 0.0:
        low = float(work.rods[LOW, spot(k)])
        removed -= part * (top - larger(low, floor))
        if low >= floor - LEAST:
            work.rods[PART, spot(k)] = 0.0
    if z <= bottom:
        return removed + drop_below(work, k, z)
    work.rods[TOP, spot(k)] = z
    return removed


@inner
def take_part(work: Work, k: int, z: float, share: float) -> float:
    """Cut a share of a cell down to z, below its top; the height removed, as if of the whole cell [mm].

    The part that was cut before lies within the share or holds it. Where that leaves three heights, the two lower
    ones become one that leaves as much material.
    """
    top, part = float(work.rods[TOP, spot(k)]), float(work.rods[PART, spot(k)])
    floor = larger(z, bottom_of(work, k, z))
    if part == 0.0:
        work.rods[PART, spot(k)] = share
        work.rods[LOW, spot(k)] = floor
        return share * (top - floor)
    low = float(work.rods[LOW, spot(k)])
    deeper = low - floor
    if share < part:
        if deeper <= 0.0:
            return 0.0
        work.rods[LOW, spot(k)] = low - share / part * deeper
        return share * deeper
    wider = (share - part) * (top - floor)
    work.rods[PART, spot(k)] = share
    if deeper >= 0.0:
        work.rods[LOW, spot(k)] = floor
        return part * deeper + wider
    work.rods[LOW, spot(k)] = (part * low + (share - part) * floor) / share
    return wider


@inner
def take(work: Work, k: int, z: float, share: float) -> float:
    """Cut a share of a cell down to z, below its top; the height removed, as if of the whole cell [mm]."""
    if share >= 1.0:
        return take_all(work, k, z)
    if share <= 0.0:
        return 0.0
    return take_part(work, k, z, share)


@kernel
def spread(work: Work, place: int, low: float, high: float, removed: float) -> None:
    """Divide a rod of chip among the slices; see `engage`, `place` being the bin across the path."""
    if high <= low:
        return
    last = len(work.edges) - 2
    weight = removed / (high - low)
    k = 0
    while k < last and work.edges[k + 1] <= low:
        k += 1
    while k < last and work.edges[k + 1] < high:
        work.book[k, place] += (work.edges[k + 1] - low) * weight
        low = work.edges[k + 1]
        k += 1
    work.book[k, place] += (high - low) * weight


@inner
def engage(work: Work, across: float, low: float, high: float, removed: float) -> None:
    """Add a rod of chip to the engagement.

    Args:
        work: in whose book.
        across: left of the path over the radius, -1 to 1 [1].
        low: lower end of the rod above the tip [mm].
        high: upper end of it [mm].
        removed: how much of that was there, as if of the whole cell [mm].
    """
    place = smaller(larger(int((across + 1.0) * (0.5 * BINS)), 0), BINS - 1)
    sums = len(work.edges)
    if low == 0.0 and abs(high - work.book[sums, SAME]) < ALIKE:
        work.book[sums - 1, spot(place)] += removed
    elif low == 0.0 and work.book[sums, SAME] == 0.0:
        work.book[sums, SAME] = high
        work.book[sums - 1, spot(place)] += removed
    else:
        spread(work, place, low, high, removed)


@inner
def side(work: Work, across: float, low: float, high: float, removed: float) -> None:
    """Book what the side of a tool took; see `engage`."""
    if removed > 0.0:
        note(work, removed, low, high)
        engage(work, across, low, high, removed)


@inner
def widened(work: Work, k: int, z: float, share: float) -> float:
    """What `take` would cut, down to z, off that part of a cell which still stands to its top [mm]: the rest of what
    it cuts stood only to LOW, since an edge has gone by before."""
    part = float(work.rods[PART, spot(k)])
    return larger(share - part, 0.0) * (float(work.rods[TOP, spot(k)]) - larger(z, bottom_of(work, k, z)))


@inner
def take_side(work: Work, k: int, z: float, share: float, across: float, low: float, tip: float) -> None:
    """Cut a share of a cell down to z by the side of a tool with its tip at `tip`, and book it from `low` above that
    on: of a cell that was cut in part before, what stood to its top and what stood to LOW, each as high as it was.
    """
    top = float(work.rods[TOP, spot(k)])
    if work.rods[PART, spot(k)] == 0.0:
        side(work, across, low, top - tip, take(work, k, z, share))
        return
    was, wide = float(work.rods[LOW, spot(k)]), widened(work, k, z, share)
    removed = take(work, k, z, share)
    wide = smaller(wide, removed)
    side(work, across, low, top - tip, wide)
    side(work, across, low, larger(was - tip, low), removed - wide)


@inner
def higher(highest: float, high: float, removed: float) -> float:
    """The height up to which a cut was met: a sliver that rounding has left on a wall is none."""
    return high if high > highest and removed > SLIVER * high else highest


@inner
def note(work: Work, removed: float, low: float, high: float) -> None:
    """Book a volume by the side of the tool, and between which heights above the tip [mm] it was met."""
    sums = len(work.book) - 1
    work.book[sums, VOLUME] += removed
    if removed <= SLIVER * (high - low) or high <= low:
        return
    work.book[sums, LOWEST] = smaller(work.book[sums, LOWEST], low)
    work.book[sums, HIGHEST] = larger(work.book[sums, HIGHEST], high)


@inner
def below(work: Work, removed: float) -> None:
    """Book what the end of a tool took [mm]: no engagement of its side."""
    work.book[len(work.book) - 1, VOLUME] += removed
    work.book[len(work.book) - 1, FLOOR] += removed


@inner
def soon(work: Work, k: int) -> None:
    """Cells about k will be cut soon: have them at hand. Else a third of the time goes by waiting for memory."""
    fetch(work.rods, TOP, k)
    fetch(work.rods, PART, k)


@inner
def take_whole(work: Work, k: int, z: float) -> float:
    """As `take_all`, the usual case first."""
    if work.rods[PART, spot(k)] == 0.0 and work.floor < z:
        removed = float(work.rods[TOP, spot(k)] - z)
        work.rods[TOP, spot(k)] = z
        return removed
    return take_all(work, k, z)


@inner
def keep(work: Work, k: int, least: float, count: int) -> int:
    """Note a cell as picked if it stands higher than `least`; how many there are then. No branch to guess."""
    work.picked[spot(count)] = k
    return count + int(work.rods[TOP, spot(k)] > least)


@kernel
def pick(
    work: Work, line: Line, first: int, row: int, last: int, piece: int, least: float,
) -> tuple[int, int]:
    """The cells of spans that stand higher than `least`, as many as there is room for.

    Args:
        work: with the spans; picked and places are filled.
        line: from whose start places are told.
        first: row of the first span.
        row: where to begin.
        last: the row after the last one.
        piece: of the spans, 0 or 1.
        least: height [mm].

    Returns:
        The next row, and how many are picked.
    """
    room, count = work.picked.shape[0] - work.columns - 2, long(0)
    short: Any = np.float32(least)
    while row < last and count <= room:
        begin, end = work.spans[2 * piece, row - first], work.spans[2 * piece + 1, row - first]
        at = row * work.columns
        if begin < end:
            soon(work, at + (end + SOON if line.ux > 0.0 else begin - SOON))
        for i in range(begin, end):
            count = keep(work, at + i, short, count)
        row += 1
    place_picked(work, line, first, count)
    return row, count


@inner
def place_picked(work: Work, line: Line, first: int, count: int) -> None:
    """Where the cells that are picked lie, along a line and across it; `first`: a row near them."""
    one, over = np.float32, 1.0 / work.columns
    ux, uy = one(line.ux), one(line.uy)
    x0, y0 = one(line.x), one(line.y - first)
    wide, first_row = np.int32(work.columns), np.int32(first)
    for e in range(count):
        k = work.picked[e]
        j = np.int32((k + 0.5) * over)
        x, y = one(np.int32(k - j * wide)) - x0, one(np.int32(j - first_row)) - y0
        work.places[ACROSS, e], work.places[ALONG, e] = y * ux - x * uy, y * uy + x * ux


@inner
def list_thin(work: Work, begin: int, end: int, count: int) -> int:
    """Note cells begin … end, most often few: with no loop to guess the end of; how many there are then."""
    for d in range(THIN):
        work.picked[spot(count + d)] = begin + d
    for d in range(THIN, end - begin):
        work.picked[spot(count + d)] = begin + d
    return count + end - begin


@kernel
def pick_thin(work: Work, line: Line, first: int, row: int, last: int, least: float) -> tuple[int, int]:
    """As `pick`, of both pieces of spans that are a few cells wide."""
    room, count, kept = work.picked.shape[0] - 2 * (work.columns + THIN), long(0), long(0)
    spans = work.spans
    while row < last and count <= room:
        e, at = row - first, row * work.columns
        count = list_thin(work, at + spans[0, e], at + spans[1, e], count)
        count = list_thin(work, at + spans[2, e], at + spans[3, e], count)
        row += 1
    short: Any = np.float32(least)
    for e in range(count):
        k = work.picked[e]
        work.picked[spot(kept)] = k
        kept += int(work.rods[TOP, spot(k)] > short)
    place_picked(work, line, first, kept)
    return row, kept
