"""Kernel: along the path piece by piece, and a window written wherever one ends."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ._cells import CORNER, NO, OVERLAP, TOP, VOLUME, YES, Line, Work, larger, smaller
from ._edge import book_owed, cut_beside, cut_front, owe
from ._flat import cut_flat, leave_flat
from ._pieces import HOW, KIND, LASTS, LINE, LONG, PER_TOOTH, PX, PY, PZ, QX, QY, QZ
from ._round import Form, cut_ahead, cut_behind, cut_round, height_at, stamp
from ._spans import row_spans
from ._under import cramped, cut_under
from ._window import PLACE, S0, S1, SECONDS, WHOLE, close
from .compiling import entry, inner, kernel

Reals = NDArray[np.float64]
Singles = NDArray[np.float32]
Longs = NDArray[np.int64]

SHARP = 0.985       #: cosine of a turn after which the front is cut to its edge: 10°
BREAK = 0.866       #: cosine of a turn at which a window ends: 30°
MOVED = 0.25        #: of the radius: a change of slope that moves the lowest place further is as a sharp turn
SHORTEST = 1.0e-6   #: [cells] a move that goes no further as seen from above goes straight up or down
JOINED = 1.0e-4     #: [cells, mm] a piece begins where the last one ended
TOUCH = 0.01        #: [mm] less deep is touching
BENT = 5.0e-13      #: 1 - cosine of a turn that is none: 1e-6 rad
MOST_ARCS = 8       #: of engagement in one slice

#: What is kept from piece to piece.
S, BEGAN, TIME, PATH, X, Y, Z, UX, UY, FEED, GOING, TURNED, OPEN, RISE, AT = range(15)
WRITTEN, USED, HIT = 0, 1, 2    #: places in `counts`
RAPID, PLUNGE, SHORT, TURN = 1, 4, 8, 16


class Log(NamedTuple):
    """What has been done, and the windows of it.

    Fields:
        state: what is kept from piece to piece, see above, shape (24,).
        last: line and kind of the last piece, shape (3,).
        rows: numbers of each window, see `_window`, shape (windows, 16).
        tags: line, kind and how of each window, shape (windows, 3).
        slices: see `_window`, shape (slices, 6).
        ends: how many slices there are after each window, shape (windows,).
        counts: how many windows, slices and hits are written, shape (3,).
        window: path in a window, at least [mm].
        guards: radius [cells] and height above the tip [mm] of what must not touch the stock, shape (g, 2).
        hits: piece of path, guard and depth [mm] of each time that one does, shape (hits, 3).
        piece: room for pieces that go straight on and are cut as one, shape (9,).
    """

    state: Reals
    last: Longs
    rows: Reals
    tags: Longs
    slices: Reals
    ends: Longs
    counts: Longs
    window: float
    guards: Reals
    hits: Reals
    piece: Reals


@kernel
def slope_of(aheads: Singles, rise: float, form: Form, ahead: Singles) -> float:
    """The row of the table of places for a slope, into the first row of `ahead`, the last slope's into the second.

    Returns:
        How far the lowest place moves from the last slope to this one, at most [cells].
    """
    last = len(aheads) - 1
    at = abs(math.atan(rise / form.cell)) / (0.5 * math.pi) * last
    k = smaller(int(at), last - 1)
    part, sign = np.float32(at - k), np.float32(1.0 if rise > 0.0 else -1.0 if rise < 0.0 else 0.0)
    moved = np.float32(0.0)
    for e in range(ahead.shape[1]):
        ahead[1, e] = ahead[0, e]
        ahead[0, e] = sign * (aheads[k, e] + (aheads[k + 1, e] - aheads[k, e]) * part)
        moved = larger(moved, abs(ahead[0, e] - ahead[1, e]))
    return float(moved * form.radius / form.cell)


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
def settle(work: Work, form: Form, state: Reals, ceiling: float, ahead: Singles) -> None:
    """Cut what lies under the tool and on its edge in front, where it stands after it came along a path."""
    if state[GOING] == 0.0:
        return
    state[GOING] = 0.0
    if form.neck > 0.0:
        return
    line = Line(state[X], state[Y], state[Z], state[UX], state[UY], 0.0, state[RISE])
    above, radius = ceiling - line.z, form.radius / form.cell
    if form.flat < form.radius:
        back = OVERLAP
        for ratio in ahead:
            back = larger(back, OVERLAP - ratio * radius)
        reach = smaller(contact_reach(form, above), radius - CORNER)
        cut_ahead(work, line, form, back, reach, NO)
    elif state[RISE] < 0.0:
        stamp(work, Line(state[X], state[Y], state[Z], 1.0, 0.0, 0.0, 0.0), form)
    if state[RISE] < 0.0:
        cut_behind(work, line, form)
    if above > height_at(form, form.radius - form.cell):
        cut_front(work, line, form, OVERLAP, NO)


@inner
def owe_there(work: Work, form: Form, state: Reals, line: Line) -> int:
    """Where a flat tool goes on at a level, what it owes there, see `_edge.owe`; -1 where it must be cut."""
    if form.neck > 0.0:
        return 0
    if form.flat < form.radius or state[RISE] != 0.0 or line.rise != 0.0 or state[GOING] == 0.0:
        return -1
    if work.floor >= line.z:
        return -1
    there = Line(state[X], state[Y], state[Z], state[UX], state[UY], 0.0, 0.0)
    return owe(work, there, form.radius / form.cell)


@kernel
def stand(work: Work, form: Form, line: Line) -> None:
    """Cut all under the tool as it stands, or goes straight up or down."""
    if form.neck > 0.0:
        cut_under(work, form, line, 1.0, False)
        return
    stamp(work, line, form)
    foot = Line(line.x, line.y, line.z + smaller(line.rise, 0.0), 1.0, 0.0, 0.0, 0.0)
    cut_front(work, foot, form, form.radius / form.cell + 2.0, YES)


@inner
def go(
    work: Work, form: Form, line: Line, wedge: float, slack: float, ceiling: float, ahead: Singles,
) -> None:
    """Cut along a line that is not straight up or down."""
    above = ceiling - line.z - smaller(line.rise * line.length, 0.0)
    if above <= 0.0:
        return
    if form.neck > 0.0:
        cut_under(work, form, line, 1.0, True)
        return
    if form.flat >= form.radius:
        cut_flat(work, line, form.radius / form.cell)
        if line.rise < 0.0:
            leave_flat(work, line, form.radius / form.cell)
    else:
        cut_round(work, line, form, ahead, slack, contact_reach(form, above))
    if above > height_at(form, form.radius - form.cell):
        cut_beside(work, line, form, wedge)


@inner
def watch(work: Work, log: Log, line: Line, p: int, ceiling: float) -> None:
    """Find what of the tool above its teeth goes into the stock along a piece of path: cells that it comes over anew,
    all where it goes down; a piece that slopes counts as low as its lowest end."""
    tip = line.z + smaller(line.rise * larger(line.length, 1.0 if line.length == 0.0 else 0.0), 0.0)
    whole = line.rise < 0.0 or line.length == 0.0
    for g in range(len(log.guards)):
        radius, foot = log.guards[g, 0], tip + log.guards[g, 1]
        if foot + TOUCH >= ceiling:
            continue
        back = radius + 2.0 if whole else 0.0
        first, last = row_spans(
            line.x, line.y, line.ux, line.uy, line.length, back, radius, 0.0 if whole else radius, work)
        deepest = 0.0
        for j in range(first, last):
            for piece in range(2):
                for i in range(work.spans[2 * piece, j - first], work.spans[2 * piece + 1, j - first]):
                    deepest = larger(deepest, work.rods[TOP, j * work.columns + i] - foot)
        if deepest > TOUCH and log.counts[HIT] < len(log.hits):
            at = log.counts[HIT]
            log.hits[at, 0], log.hits[at, 1], log.hits[at, 2] = p, g, deepest
            log.counts[HIT] += 1


@inner
def ends(log: Log, piece: Reals, tag: Longs, cosine: float) -> bool:
    """Whether the open window ends before this piece."""
    state, last = log.state, log.last
    if state[OPEN] == 0.0:
        return False
    if state[PATH] >= log.window or tag[KIND] != last[KIND] or cosine < BREAK:
        return True
    other_rapid = tag[KIND] == RAPID and tag[LINE] != last[LINE]
    return bool(other_rapid or abs(piece[PER_TOOTH] - state[FEED]) > 0.01 * abs(state[FEED]))


@kernel
def write(work: Work, log: Log, form: Form, air: float) -> None:
    """Write the open window and begin a new one; the book is kept if it was all `air`."""
    state, last, at = log.state, log.last, log.counts[WRITTEN]
    row, tag = log.rows[at], log.tags[at]
    row[S0], row[S1], row[SECONDS], row[PLACE + 6] = state[BEGAN], state[S], state[TIME], state[FEED]
    for k in range(6):
        row[PLACE + k] = state[AT + k]
    if air > NO:
        for k in range(WHOLE, PLACE):
            row[k] = 0.0
    else:
        log.counts[USED] = close(work, form, state[PATH], row, log.slices, log.counts[USED])
    length = state[S] - state[BEGAN]
    tag[LINE], tag[KIND], tag[HOW] = last[LINE], last[KIND], last[KIND] & RAPID
    tag[HOW] |= (PLUNGE if state[PATH] < 0.5 * length else 0) | (SHORT if length < log.window else 0)
    tag[HOW] |= TURN if state[TURNED] > 0.0 else 0
    state[BEGAN], state[TIME], state[PATH], state[TURNED], state[OPEN] = state[S], 0.0, 0.0, 0.0, 0.0
    log.ends[at] = log.counts[USED]
    log.counts[WRITTEN] += 1


@inner
def note_piece(log: Log, piece: Reals, tag: Longs, cosine: float, line: Line, goes: bool, length: float) -> None:
    """Book a piece of path: where and how it goes, how long it took, its `length` as seen from above [mm]."""
    state = log.state
    if state[OPEN] == 0.0:
        for k in range(3):
            state[AT + k] = piece[PX + k]
        state[TURNED] = 1.0 if cosine < BREAK else 0.0
    for k in range(3):
        state[AT + 3 + k] = state[X + k] = piece[QX + k]
    state[OPEN], state[FEED] = 1.0, piece[PER_TOOTH]
    state[UX], state[UY], state[RISE] = (line.ux, line.uy, line.rise) if goes else (0.0, 0.0, 0.0)
    state[S] += piece[LONG]
    state[TIME] += piece[LASTS]
    state[PATH] += length
    log.last[LINE], log.last[KIND] = tag[LINE], tag[KIND]


@inner
def full(log: Log, room: int) -> bool:
    """Whether another piece might find no room: for three windows, twice so many slices, a hit of each guard."""
    if log.counts[WRITTEN] + 3 > len(log.rows) or log.counts[USED] + 2 * room > len(log.slices):
        return True
    return bool(log.counts[HIT] + len(log.guards) > len(log.hits))


@inner
def gather(log: Log, pieces: Reals, tags: Longs, p: int) -> int:
    """Into `log.piece` a piece and those after it that just go straight on with one chip, up to the end of a window.

    Returns:
        The next piece.
    """
    whole, last, rapid = log.piece, pieces[p], tags[p, KIND]
    for k in range(len(whole)):
        whole[k] = last[k]
    path = log.state[PATH]
    room = log.window - (path if log.state[OPEN] > 0.0 and path < log.window else 0.0)
    p += 1
    while p < len(pieces) and rapid != RAPID and tags[p, KIND] != RAPID and whole[LONG] < room:
        piece = pieces[p]
        if piece[PER_TOOTH] != last[PER_TOOTH] or not goes_on(last, piece):
            break
        whole[QX], whole[QY], whole[QZ] = piece[QX], piece[QY], piece[QZ]
        whole[LASTS] += piece[LASTS]
        whole[LONG] += piece[LONG]
        last = piece
        p += 1
    return p


@inner
def goes_on(last: Reals, piece: Reals) -> bool:
    """Whether a piece goes straight on from the end of another."""
    if piece[PX] != last[QX] or piece[PY] != last[QY] or piece[PZ] != last[QZ]:
        return False
    dot = one = other = 0.0
    for k in range(3):
        a, b = last[QX + k] - last[PX + k], piece[QX + k] - piece[PX + k]
        dot, one, other = dot + a * b, one + a * a, other + b * b
    return dot > 0.0 and dot * dot >= (1.0 - 2.0 * BENT) * one * other


@inner
def bearing(state: Reals, piece: Reals) -> tuple[Line, bool, bool, float]:
    """A piece as a line, whether it goes anywhere as seen from above, whether it begins where the last one ended,
    and the cosine of the turn between them; 1 where there is none."""
    dx, dy, dz = piece[QX] - piece[PX], piece[QY] - piece[PY], piece[QZ] - piece[PZ]
    length = math.sqrt(dx * dx + dy * dy)
    goes = length > SHORTEST
    joined = abs(state[X] - piece[PX]) + abs(state[Y] - piece[PY]) + abs(state[Z] - piece[PZ]) < JOINED
    ux, uy = (dx / length, dy / length) if goes else (1.0, 0.0)
    cosine = 1.0
    if joined and state[OPEN] > 0.0:
        cosine = ux * state[UX] + uy * state[UY] if goes else 0.0
    rise = dz / length if goes else dz
    return Line(piece[PX], piece[PY], piece[PZ], ux, uy, length if goes else 0.0, rise), goes, joined, cosine


@entry
def drive(
    work: Work, log: Log, form: Form, aheads: Singles, ahead: Singles, pieces: Reals, tags: Longs, begin: int,
    ceiling: float, finish: bool,
) -> int:
    """Cut along pieces of path until all are cut or the room for windows, slices or hits is full.

    Args:
        work: on what.
        log: what has been done, windows written into it.
        form: of the cutter.
        aheads: table of places, see `cutters.contact_places`.
        ahead: its rows for this slope and for the last one, shape (2, places).
        pieces: see `paths.pieces_of`.
        tags: see `paths.pieces_of`.
        begin: the first piece.
        ceiling: nothing of the stock is above it [mm].
        finish: whether the window that is open in the end is written, too.

    Returns:
        The next piece.
    """
    state, sums, radius = log.state, len(work.edges), form.radius / form.cell
    p, piece = begin, log.piece
    while p < len(pieces):
        first = p
        if full(log, MOST_ARCS * sums):
            return p
        p = gather(log, pieces, tags, p)
        if form.neck > 0.0 and cramped(work, form, piece[LONG] / form.cell):
            return first
        tag = tags[p - 1]
        line, goes, joined, cosine = bearing(state, piece)
        closing = ends(log, piece, tag, cosine)
        moved = slope_of(aheads, line.rise, form, ahead) if goes and form.flat < form.radius else 0.0
        onward = goes and joined and cosine >= SHARP and moved <= MOVED * radius
        turn = radius * math.sqrt(larger(1.0 - cosine * cosine, 0.0)) / cosine if cosine >= SHARP else 0.0
        owed = owe_there(work, form, state, line) if onward and closing else -1
        if owed < 0 and (closing or not onward or state[RISE] < 0.0 <= line.rise):
            settle(work, form, state, ceiling, ahead[1 if goes else 0])
            moved = 0.0
        if closing and (work.book[sums, VOLUME] > 0.0 or tag[KIND] != log.last[KIND]):
            write(work, log, form, NO)
        if owed > 0:
            book_owed(work, owed, line.z, radius, -1.0)
        before, state[GOING] = work.book[sums, VOLUME], 0.0
        if smaller(piece[PZ], piece[QZ]) < ceiling:
            if not joined:
                stand(work, form, Line(line.x, line.y, line.z, 1.0, 0.0, 0.0, 0.0))
            if goes:
                go(work, form, line, OVERLAP + turn, OVERLAP + turn + moved, ceiling, ahead[0])
            else:
                stand(work, form, line)
            watch(work, log, line, first, ceiling)
            state[GOING] = 1.0 if goes else 0.0
        if before == 0.0 and state[OPEN] > 0.0 and work.book[sums, VOLUME] > 0.0:
            write(work, log, form, YES)
        note_piece(log, piece, tag, cosine, line, goes, line.length * form.cell)
    if finish and state[OPEN] > 0.0:
        settle(work, form, state, ceiling, ahead[0])
        write(work, log, form, NO)
    return len(pieces)
