"""Kernel: along the path piece by piece, and a window written wherever one ends."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ._cells import VOLUME, Line
from ._edge import cut_beside, cut_front
from ._flat import cut_flat, leave_flat
from ._round import Form, cut_ahead, cut_behind, cut_round, height_at, stamp
from ._window import PLACE, S0, S1, SECONDS, WHOLE, close
from .compiling import kernel

Reals = NDArray[np.float64]
Singles = NDArray[np.float32]
Counts = NDArray[np.int32]
Longs = NDArray[np.int64]

SHARP = 0.985       #: cosine of a turn after which the front is cut to its edge: 10°
BREAK = 0.866       #: cosine of a turn at which a window ends: 30°
MOVED = 0.25        #: of the radius: after a change of slope that moves the lowest place further, what is under is cut
OVERLAP = 0.5       #: [cells] pieces beside each other overlap so far at their edges

#: What is kept from piece to piece.
S, BEGAN, TIME, PATH, X, Y, Z, UX, UY, FEED, GOING, TURNED, OPEN, RISE, AT = range(15)
#: Columns of `pieces`: start, end, how long it takes, feed per tooth, length.
PX, PY, PZ, QX, QY, QZ, LASTS, PER_TOOTH, LONG = range(9)
#: Columns of `tags`, of pieces and of windows: line, kind; how it is: see windows.Flag.
LINE, KIND, HOW = 0, 1, 2
RAPID, PLUNGE, SHORT, TURN = 1, 4, 8, 16


@kernel
def slope_of(aheads: Singles, rise: float, form: Form, ahead: Singles) -> float:
    """The row of the table of places for a slope, into the first row of `ahead`, the last slope's into the second.

    Returns:
        How far the lowest place moves from the last slope to this one, at most [cells].
    """
    last = len(aheads) - 1
    at = abs(math.atan(rise / form.cell)) / (0.5 * math.pi) * last
    k = min(int(at), last - 1)
    part, sign = np.float32(at - k), np.float32(1.0 if rise > 0.0 else -1.0 if rise < 0.0 else 0.0)
    moved = np.float32(0.0)
    for e in range(ahead.shape[1]):
        ahead[1, e] = ahead[0, e]
        ahead[0, e] = sign * (aheads[k, e] + (aheads[k + 1, e] - aheads[k, e]) * part)
        moved = max(moved, abs(ahead[0, e] - ahead[1, e]))
    return moved * form.radius / form.cell


@kernel
def contact_reach(form: Form, ceiling: float) -> float:
    """How far from the axis anything is cut, the highest material `ceiling` above the tip [cells]."""
    cells = form.radius / form.cell
    if ceiling >= height_at(form, form.radius - form.cell):
        return cells + 1.0
    low, high = 0.0, form.radius
    for _ in range(10):
        middle = 0.5 * (low + high)
        if height_at(form, middle) < ceiling:
            low = middle
        else:
            high = middle
    return high / form.cell + 1.0


@kernel
def settle(
    rods: Singles, more: Counts, pool: Singles, links: Counts, shape: tuple[int, int], form: Form, state: Reals,
    ceiling: float, ahead: Singles, book: Reals, edges: Reals, spans: Counts, heights: Singles,
) -> None:
    """Cut what lies under the tool and on its edge in front, where it stands after it came along a path."""
    if state[GOING] == 0.0:
        return
    state[GOING] = 0.0
    line = Line(state[X], state[Y], state[Z], state[UX], state[UY], 0.0, state[RISE])
    above = ceiling - line.z
    if form.flat < form.radius:
        back = OVERLAP
        for ratio in ahead:
            back = max(back, OVERLAP - ratio * form.radius / form.cell)
        reach = contact_reach(form, above)
        cut_ahead(rods, more, pool, links, shape, line, form, ahead, back, reach, book, edges, spans, heights)
    elif line.rise < 0.0:
        stamp(rods, more, pool, links, shape, Line(line.x, line.y, line.z, 1.0, 0.0, 0.0, 0.0), form, book, spans)
    if line.rise < 0.0:
        cut_behind(rods, more, pool, links, shape, line, form, book, spans)
    if above > height_at(form, form.radius - form.cell):
        level = Line(line.x, line.y, line.z, line.ux, line.uy, 0.0, 0.0)
        cut_front(rods, more, pool, links, shape, level, form, OVERLAP, False, book, edges, spans)


@kernel
def stand(
    rods: Singles, more: Counts, pool: Singles, links: Counts, shape: tuple[int, int], form: Form, line: Line,
    book: Reals, edges: Reals, spans: Counts,
) -> None:
    """Cut all under the tool as it stands, or goes straight up or down."""
    stamp(rods, more, pool, links, shape, line, form, book, spans)
    back = form.radius / form.cell + 2.0
    cut_front(rods, more, pool, links, shape, line, form, back, True, book, edges, spans)


@kernel
def go(
    rods: Singles, more: Counts, pool: Singles, links: Counts, shape: tuple[int, int], form: Form, line: Line,
    wedge: float, slack: float, ceiling: float, ahead: Singles, book: Reals, edges: Reals, spans: Counts,
    heights: Singles,
) -> None:
    """Cut along a line that is not straight up or down."""
    above = ceiling - line.z - min(line.rise * line.length, 0.0)
    if above <= 0.0:
        return
    if form.flat >= form.radius:
        cut_flat(rods, more, pool, links, shape, line, form.radius / form.cell, book, edges, spans)
        if line.rise < 0.0:
            leave_flat(rods, more, pool, links, shape, line, form.radius / form.cell, book, spans)
    else:
        reach = contact_reach(form, above)
        cut_round(rods, more, pool, links, shape, line, form, ahead, slack, reach, book, edges, spans, heights)
    if above > height_at(form, form.radius - form.cell):
        cut_beside(rods, more, pool, links, shape, line, form, wedge, book, edges)


@kernel
def ends(piece: Reals, tag: Longs, state: Reals, window: float, last: Longs, cosine: float) -> bool:
    """Whether the open window ends before this piece."""
    if state[PATH] >= window or tag[KIND] != last[KIND] or cosine < BREAK:
        return True
    return abs(piece[PER_TOOTH] - state[FEED]) > 0.01 * state[FEED] or (tag[KIND] == RAPID and tag[LINE] != last[LINE])


@kernel
def write(
    state: Reals, last: Longs, window: float, form: Form, book: Reals, edges: Reals, row: Reals, tag: Longs,
    slices: Reals, used: int, air: bool,
) -> int:
    """Write the open window and begin a new one, the book kept if it was all `air`; how many slices there are."""
    row[S0], row[S1], row[SECONDS] = state[BEGAN], state[S], state[TIME]
    for k in range(6):
        row[PLACE + k] = state[AT + k]
    row[PLACE + 6] = state[FEED]
    if air:
        for k in range(WHOLE, PLACE):
            row[k] = 0.0
    else:
        used = close(book, edges, form, state[PATH], row, slices, used)
    tag[LINE], tag[KIND] = last[LINE], last[KIND]
    upright = PLUNGE if state[PATH] < 0.5 * (state[S] - state[BEGAN]) else 0
    short = SHORT if state[S] - state[BEGAN] < window else 0
    tag[HOW] = (last[KIND] & RAPID) | upright | short | (TURN if state[TURNED] > 0.0 else 0)
    state[BEGAN], state[TIME], state[PATH], state[TURNED], state[OPEN] = state[S], 0.0, 0.0, 0.0, 0.0
    return used


@kernel
def along(piece: Reals, state: Reals, cosine: float, ux: float, uy: float) -> None:
    """Book a piece of path: where it is, how long it took."""
    if state[OPEN] == 0.0:
        for k in range(3):
            state[AT + k] = piece[PX + k]
        state[TURNED] = 1.0 if cosine < BREAK else 0.0
    for k in range(3):
        state[AT + 3 + k] = state[X + k] = piece[QX + k]
    state[OPEN], state[FEED] = 1.0, piece[PER_TOOTH]
    state[S] += piece[LONG]
    state[TIME] += piece[LASTS]
    state[UX], state[UY] = ux, uy


@kernel
def drive(
    rods: Singles, more: Counts, pool: Singles, links: Counts, shape: tuple[int, int], form: Form, aheads: Singles,
    ahead: Singles, pieces: Reals, tags: Longs, begin: int, window: float, ceiling: float, state: Reals, last: Longs, book: Reals,
    edges: Reals, spans: Counts, heights: Singles, rows: Reals, row_tags: Longs, slices: Reals, ends_of: Longs,
    finish: bool,
) -> tuple[int, int]:
    """Cut along pieces of path from `begin` on until all are cut or `rows` or `slices` are full; with `finish` the
    open window is written, too.

    Returns:
        The next piece, how many windows were written.
    """
    written, used = 0, 0
    room = 2 * len(edges) * 8
    sums = len(edges)
    for p in range(begin, len(pieces)):
        if written + 2 > len(rows) or used + room > len(slices):
            return p, written
        piece, tag = pieces[p], tags[p]
        dx, dy, dz = piece[QX] - piece[PX], piece[QY] - piece[PY], piece[QZ] - piece[PZ]
        length = math.sqrt(dx * dx + dy * dy)
        flat = length > 1.0e-6
        ux, uy = (dx / length, dy / length) if flat else (0.0, 0.0)
        joined = abs(state[X] - piece[PX]) + abs(state[Y] - piece[PY]) + abs(state[Z] - piece[PZ]) < 1.0e-4
        cosine = ux * state[UX] + uy * state[UY] if joined and state[OPEN] > 0.0 else 1.0
        closing = state[OPEN] > 0.0 and ends(piece, tag, state, window, last, cosine)
        rise = dz / length if flat else dz
        moved = slope_of(aheads, rise, form, ahead[:2]) if flat and form.flat < form.radius else 0.0
        turn = math.sqrt(max(1.0 - cosine * cosine, 0.0)) / max(cosine, 0.1) * form.radius / form.cell
        over = not flat or cosine < SHARP or moved > MOVED * form.radius / form.cell or (state[RISE] < 0.0 <= rise)
        if closing or not joined or over:
            settle(rods, more, pool, links, shape, form, state, ceiling, ahead[1 if flat else 0], book, edges, spans,
                   heights)
            turn = turn if cosine >= SHARP else 0.0
            moved = 0.0
        if closing and (book[sums, VOLUME] > 0.0 or tag[KIND] != last[KIND]):
            used = write(state, last, window, form, book, edges, rows[written], row_tags[written], slices, used, False)
            ends_of[written] = used
            written += 1
        start = Line(piece[PX], piece[PY], piece[PZ], ux, uy, 0.0, 0.0)
        if not joined and piece[PZ] < ceiling:
            stand(rods, more, pool, links, shape, form, start, book, edges, spans)
        before = book[sums, VOLUME]
        if not flat:
            if min(piece[PZ], piece[QZ]) < ceiling:
                line = Line(piece[PX], piece[PY], piece[PZ], 1.0, 0.0, 0.0, dz)
                stand(rods, more, pool, links, shape, form, line, book, edges, spans)
        else:
            line = Line(piece[PX], piece[PY], piece[PZ], ux, uy, length, rise)
            go(rods, more, pool, links, shape, form, line, OVERLAP + turn, OVERLAP + turn + moved, ceiling, ahead[0],
               book, edges, spans, heights)
        state[RISE] = rise if flat else 0.0
        if before == 0.0 and state[OPEN] > 0.0 and book[sums, VOLUME] > 0.0:
            used = write(state, last, window, form, book, edges, rows[written], row_tags[written], slices, used, True)
            ends_of[written] = used
            written += 1
        along(piece, state, cosine, ux, uy)
        state[PATH] += length * form.cell
        state[GOING] = 1.0 if flat and min(piece[PZ], piece[QZ]) < ceiling else 0.0
        last[LINE], last[KIND] = tag[LINE], tag[KIND]
    if finish and state[OPEN] > 0.0:
        settle(rods, more, pool, links, shape, form, state, ceiling, ahead[0], book, edges, spans, heights)
        used = write(state, last, window, form, book, edges, rows[written], row_tags[written], slices, used, False)
        ends_of[written] = used
        written += 1
    return len(pieces), written
