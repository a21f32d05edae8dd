"""Kernels: what a cutter with its axis level took off earlier, as intervals of rods that stand upright.

Across its axis the way of a level cutter is a capsule; an upright rod meets it between two heights, in closed form.
Walls keep to the nearest cell, as they do where a piece is turned over.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ._cells import BOTTOM, LEAST, LOW, PART, TOP, Work, drop_below, larger, smaller
from ._round import Form
from ._window import radius_at
from .compiling import entry, inner, kernel

Reals = NDArray[np.float64]

HIGH = 1.0e9        #: [mm] above all material
HALF = 0.5          #: of a cell: more of it cut counts as all
SMALL = 1.0e-12     #: [1]
#: Columns of `pieces`: start and end across the cutter's axis, as height and along the table [mm]; its tip [mm].
U0, V0, U1, V1, TIP = range(5)


@inner
def whole(work: Work, k: int) -> None:
    """Let a cell that is cut in part be cut whole, or not at all."""
    cut = work.rods[PART, k] >= HALF
    work.rods[PART, k] = 0.0
    if cut:
        work.rods[TOP, k] = larger(work.rods[LOW, k], work.rods[BOTTOM, k])
        if work.rods[TOP, k] <= work.rods[BOTTOM, k] + LEAST:
            drop_below(work, k, HIGH)


@inner
def put(work: Work, low: float, high: float, next_one: int) -> int:
    """A new interval in the pool; its place."""
    last = len(work.links) - 1
    place = work.links[last]
    work.links[last] = place + 1
    work.pool[TOP, place], work.pool[BOTTOM, place], work.links[place] = high, low, next_one
    return int(place)


@kernel
def take_between(work: Work, k: int, low: float, high: float) -> None:
    """Take all material of a cell from `low` to `high` [mm]; two more intervals may come into the pool."""
    while work.rods[TOP, k] > low + LEAST and work.rods[BOTTOM, k] >= low and work.rods[TOP, k] <= high:
        drop_below(work, k, HIGH)
    top, bottom = float(work.rods[TOP, k]), float(work.rods[BOTTOM, k])
    if bottom < low < top and high < top:
        work.more[k] = put(work, bottom, low, work.more[k])
        work.rods[BOTTOM, k] = high
    elif bottom < low < top:
        work.rods[TOP, k] = low
    elif low <= bottom < high < top:
        work.rods[BOTTOM, k] = high
    before, place = -1, int(work.more[k])
    while place >= 0:
        top, bottom, after = float(work.pool[TOP, place]), float(work.pool[BOTTOM, place]), int(work.links[place])
        if low <= bottom and top <= high:
            if before < 0:
                work.more[k] = after
            else:
                work.links[before] = after
            place = after
            continue
        if bottom < low < top and high < top:
            work.links[place] = put(work, bottom, low, after)
            work.pool[BOTTOM, place] = high
        elif bottom < low < top:
            work.pool[TOP, place] = low
        elif low <= bottom < high < top:
            work.pool[BOTTOM, place] = high
        before, place = place, after


@inner
def heights(piece: Reals, u: float, radius: float) -> tuple[float, float]:
    """Between which heights an upright line at u [mm] lies in the capsule of a piece; nowhere if they are crossed."""
    du, dv = piece[U1] - piece[U0], piece[V1] - piece[V0]
    length = math.sqrt(du * du + dv * dv)
    low, high = HIGH, -HIGH
    for end in range(2):
        away = u - piece[U0 if end == 0 else U1]
        rest = radius * radius - away * away
        if rest > 0.0:
            half, middle = math.sqrt(rest), piece[V0 if end == 0 else V1]
            low, high = smaller(low, middle - half), larger(high, middle + half)
    if length > 0.0 and abs(du) > SMALL * length:
        c, s = du / length, dv / length
        for hand in (-1.0, 1.0):
            along = (u - piece[U0] + hand * radius * s) / c
            if 0.0 <= along <= length:
                v = piece[V0] + along * s + hand * radius * c
                low, high = smaller(low, v), larger(high, v)
    return low, high


@entry
def cut_from_side(
    work: Work, form: Form, pieces: Reals, begin: int, u0: float, ux: float, uy: float, w0: float, wx: float,
    wy: float,
) -> int:
    """Cut stock by the pieces of an earlier setting whose cutter lay level.

    Args:
        work: the stock; its book is left alone.
        form: of the cutter.
        pieces: of its way, shape (p, 5).
        begin: the first piece.
        u0: place across the cutter's axis of the first cell [mm].
        ux: how that changes along the rows, from cell to cell [mm].
        uy: and across the rows [mm].
        w0: place along the axis of the first cell, from tip to shank [mm].
        wx: how that changes along the rows [mm].
        wy: and across the rows [mm].

    Returns:
        The piece at which the pool had no more room; their number where all are cut.
    """
    last = len(work.links) - 1
    for p in range(begin, len(pieces)):
        piece = pieces[p]
        left, right = smaller(piece[U0], piece[U1]) - form.radius, larger(piece[U0], piece[U1]) + form.radius
        for j in range(work.rows):
            one, two = (left - u0 - j * uy) / ux, (right - u0 - j * uy) / ux
            first = larger(math.ceil(smaller(one, two)), 0)
            for i in range(first, smaller(math.floor(larger(one, two)) + 1, work.columns)):
                u, w = u0 + i * ux + j * uy, w0 + i * wx + j * wy
                k = j * work.columns + i
                if w < piece[TIP] or work.rods[TOP, k] < -0.5 * HIGH:
                    continue
                low, high = heights(piece, u, radius_at(form, w - piece[TIP]))
                if high > low:
                    if work.rods[PART, k] > 0.0:
                        whole(work, k)
                    if work.links[last] + 2 >= last:
                        return p
                    take_between(work, k, low, high)
    return len(pieces)
