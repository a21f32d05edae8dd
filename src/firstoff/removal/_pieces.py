"""Kernel: straight pieces of path laid over the grid of a stock, with the time and the chip of their moves."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .compiling import entry, inner

Reals = NDArray[np.float64]
Longs = NDArray[np.int64]
Codes = NDArray[np.int8]

RAPID = 0       # as in `moves.Kind`
#: Columns of `pieces`: start, end, how long it takes, feed per tooth, length.
PX, PY, PZ, QX, QY, QZ, LASTS, PER_TOOTH, LONG = range(9)
#: Columns of `tags`, of pieces and of windows: line, whether it is a rapid, how it is: see windows.Flag.
LINE, KIND, HOW = 0, 1, 2


@inner
def place(point: Reals, piece: Reals, at: int, grid: Reals) -> None:
    """A point [mm] as a place on the grid [cells, cells, mm], into a piece."""
    c, s = grid[0] * grid[2], grid[1] * grid[2]
    piece[at], piece[at + 1] = point[0] * c + point[1] * s - grid[3], point[1] * c - point[0] * s - grid[4]
    piece[at + 2] = point[2]


@inner
def divide(begin: Reals, end: Reals, parts: int, first: int, pieces: Reals) -> None:
    """The ends of all parts of a stretch between those of the first and of the last; so long is each."""
    dx, dy, dz = end[0] - begin[0], end[1] - begin[1], end[2] - begin[2]
    length = math.sqrt(dx * dx + dy * dy + dz * dz) / parts
    last = first + parts - 1
    pieces[first, LONG] = length
    for p in range(first + 1, first + parts):
        share = (p - first) / parts
        for k in range(3):
            pieces[p, PX + k] = pieces[first, PX + k] + (pieces[last, QX + k] - pieces[first, PX + k]) * share
            pieces[p - 1, QX + k] = pieces[p, PX + k]
        pieces[p, LONG] = length


@inner
def joined(begin: Reals, end: Reals, r: int) -> bool:
    """Whether a stretch begins just where the one before ends."""
    return r > 0 and begin[r, 0] == end[r - 1, 0] and begin[r, 1] == end[r - 1, 1] and begin[r, 2] == end[r - 1, 2]


@entry
def lay(
    begin: Reals, end: Reals, parts: Longs, move: Longs, line: Longs, kind: Codes, feed: Reals, spindle: Reals,
    seconds: Reals, grid: Reals, per_turn: float, whole: Reals, pieces: Reals, tags: Longs,
) -> None:
    """Write what `_drive` takes.

    Args:
        begin: where stretches begin [mm], shape (r, 3).
        end: where they end [mm], shape (r, 3).
        parts: in how many pieces each is divided evenly, shape (r,).
        move: place of the move of each, rising, shape (r,).
        line: of each move, shape (n,).
        kind: of each move, shape (n,).
        feed: of each move [mm/s], shape (n,).
        spindle: speed at each move [rad/s], shape (n,).
        seconds: how long each move takes [s], shape (n,), or none: by its feed.
        grid: cosine and sine of its angle, cells in 1 mm, place of its corner along and across [cells], shape (5,).
        per_turn: teeth in 1 rad.
        whole: room for the length of each move [mm], shape (n,), zeros.
        pieces: written, see above: ends [cells, cells, mm], time [s], feed per tooth, negative where the spindle
            turns counter-clockwise [mm], length [mm], shape (m, 9).
        tags: written, see above, shape (m, 3).
    """
    p = 0
    for r in range(len(move)):
        last = p + parts[r] - 1
        if joined(begin, end, r):
            for k in range(3):
                pieces[p, PX + k] = pieces[p - 1, QX + k]
        else:
            place(begin[r], pieces[p], PX, grid)
        place(end[r], pieces[last], QX, grid)
        divide(begin[r], end[r], parts[r], p, pieces)
        whole[move[r]] += pieces[p, LONG] * parts[r]
        for q in range(p, last + 1):
            tags[q, LINE], tags[q, KIND], tags[q, HOW] = line[move[r]], 1 if kind[move[r]] == RAPID else 0, move[r]
        p = last + 1
    for q in range(p):
        n = tags[q, HOW]
        length, turns, lasts = whole[n], spindle[n] * per_turn, 0.0
        if len(seconds) > 0:
            lasts = seconds[n]
        elif feed[n] > 0.0:
            lasts = length / feed[n]
        pieces[q, LASTS] = lasts * (pieces[q, LONG] / length if length > 0.0 else 1.0)
        pieces[q, PER_TOOTH] = feed[n] / turns if turns != 0.0 else 0.0
        tags[q, HOW] = 0
