"""Moves as short straight pieces over the grid of a stock. Geometry; mm, s."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..errors import OutOfRange
from .moves import AXES, Doubt, Kind, Moves, lengths, swept
from .stock import Stock

Floats = NDArray[np.float64]
Longs = NDArray[np.int64]

SAGITTA: Final = 2.0e-4         #: [mm] a chord leaves its arc by no more
TOGETHER: Final = 0.5           #: of the longest piece: moves that go straight on are cut as one up to there
BENT: Final = 5.0e-13           #: 1 - cosine of a turn that is none: 1e-6 rad
FURTHEST: Final = 1.0e5         #: [mm] no machine goes so far
UNKNOWN_WAY: Final = Doubt.START | Doubt.END | Doubt.PATH | Doubt.UNIT | Doubt.TOOL


def known(moves: Moves) -> NDArray[np.bool_]:
    """Of which moves it is known where they go, and which go anywhere."""
    sure: NDArray[np.bool_] = ((moves.doubt & int(UNKNOWN_WAY)) == 0) & (moves.kind != Kind.STAND)
    return sure


def certain(moves: Moves) -> Moves:
    """Those of which it is known where they go, and that go anywhere."""
    return moves.take(known(moves))


def straight(moves: Moves, longest: float, sagitta: float = SAGITTA) -> tuple[Longs, Floats, Floats]:
    """Moves as straight pieces: arcs as chords, long lines divided.

    Args:
        moves: n of them.
        longest: pieces of a line are up to twice as long [mm].
        sagitta: a chord leaves its arc by no more [mm].

    Returns:
        For each of the m pieces the place of its move, where it begins and where it ends [mm]:
        shapes (m,), (m, 3), (m, 3).

    Raises:
        OutOfRange: where a move goes further than any machine.
    """
    far = ~((np.abs(moves.start) <= FURTHEST) & (np.abs(moves.end) <= FURTHEST)).all(axis=1)
    if far.any():
        raise OutOfRange(f"line {int(moves.line[far][0])} goes further than {FURTHEST:g} mm from zero",
                         right="coordinates in reach of the machine")
    arcs = bool(moves.turns.any())
    length = lengths(moves) if arcs else np.linalg.norm(moves.end - moves.start, axis=1)
    if not arcs and (length < 2.0 * longest).all():
        return np.arange(len(moves)), moves.start, moves.end
    count = np.maximum(np.floor(length / longest * (1.0 + 1e-9)), 1.0)
    angle = np.zeros(len(moves))
    if arcs:
        angle = swept(moves)
        radius = np.linalg.norm(moves.start - moves.centre, axis=1)
        chord = np.sqrt(8.0 * sagitta / np.maximum(radius, sagitta))
        count = np.maximum(count, np.ceil(np.abs(angle) / chord))
    whole = count.astype(np.int64)
    move = np.repeat(np.arange(len(moves)), whole)
    start, stop = moves.start[move], moves.end[move]
    many = np.flatnonzero(whole[move] > 1)
    if len(many):
        own = move[many]
        step = (np.arange(len(move)) - np.repeat(np.cumsum(whole) - whole, whole))[many]
        start[many] = _at(moves, angle, own, (step / whole[own])[:, None])
        stop[many] = _at(moves, angle, own, ((step + 1) / whole[own])[:, None])
    return move, start, stop


def _at(moves: Moves, angle: Floats, move: Longs, share: Floats) -> Floats:
    """Points of moves, at a share of each: shape (m, 3)."""
    start, end = moves.start[move], moves.end[move]
    point = start + (end - start) * share
    point[share[:, 0] >= 1.0] = end[share[:, 0] >= 1.0]
    for plane, (first, second, _) in AXES.items():
        at = np.flatnonzero((angle[move] != 0.0) & (moves.plane[move] == plane) & (share[:, 0] < 1.0))
        out, back = ((side[at] - moves.centre[move[at]])[:, [first, second]] for side in (start, end))
        part = share[at, 0]
        turned = np.arctan2(out[:, 1], out[:, 0]) + angle[move[at]] * part
        radius = np.hypot(*out.T) * (1.0 - part) + np.hypot(*back.T) * part
        point[at, first] = moves.centre[move[at], first] + radius * np.cos(turned)
        point[at, second] = moves.centre[move[at], second] + radius * np.sin(turned)
    return point


def pieces_of(
    moves: Moves, stock: Stock, teeth: int, longest: float, seconds: Floats | None = None,
) -> tuple[Floats, Longs]:
    """What `_drive` takes: pieces over the grid of a stock, and the line and kind of each.

    Args:
        moves: n of them, all certain.
        stock: whose grid.
        teeth: of the cutter [1].
        longest: pieces of a line are up to twice as long [mm].
        seconds: how long each move takes [s], shape (n,); by the programmed feed where not given.

    Returns:
        Start and end [cells, cells, mm], time [s], feed per tooth [mm], negative where the spindle turns
        counter-clockwise, and length [mm], shape (m, 9); line and whether it is a rapid, shape (m, 3).
    """
    move, begin, end = straight(moves, longest)
    way = end - begin
    length = np.sqrt(np.einsum("ij,ij->i", way, way))
    whole = length if len(move) == len(moves) else np.bincount(move, length, len(moves))
    if seconds is None:
        seconds = np.divide(whole, moves.feed, out=np.zeros_like(whole), where=moves.feed > 0.0)
    turns = moves.spindle * (0.5 * teeth / np.pi)
    chip = np.divide(moves.feed, turns, out=np.zeros_like(turns), where=turns != 0.0)[move]
    lasts = seconds[move]
    if whole is not length:
        lasts = lasts * np.divide(length, whole[move], out=np.zeros_like(length), where=whole[move] > 0.0)
    rapid = moves.kind[move] == Kind.RAPID
    first = _firsts(way, begin, end, length, np.where(rapid, np.nan, chip), TOGETHER * longest)
    if len(first) < len(move):
        last = np.append(first[1:], len(move)) - 1
        length, lasts = np.add.reduceat(length, first), np.add.reduceat(lasts, first)
        begin, end, chip, rapid, move = begin[first], end[last], chip[last], rapid[last], move[last]
    pieces = np.empty((len(move), 9))
    pieces[:, :3], pieces[:, 3:6] = stock.places(begin), stock.places(end)
    pieces[:, 6], pieces[:, 7], pieces[:, 8] = lasts, chip, length
    tags = np.zeros((len(move), 3), dtype=np.int64)
    tags[:, 0], tags[:, 1] = moves.line[move], rapid
    return pieces, tags


def _firsts(way: Floats, begin: Floats, end: Floats, length: Floats, chip: Floats, most: float) -> Longs:
    """Which pieces do not just go on with the one before: straight on, with the same chip, no more than `most` [mm].

    Args:
        way: from start to end of n pieces [mm], shape (n, 3).
        begin: where they begin [mm], shape (n, 3).
        end: where they end [mm], shape (n, 3).
        length: of them [mm], shape (n,).
        chip: feed per tooth [mm]; nan where pieces stay alone, shape (n,).
        most: so long together [mm].

    Returns:
        Places of the first of each.
    """
    every = np.arange(len(length))
    if len(length) < 2 or not (length < 0.5 * most).any():
        return every
    straight_on = np.einsum("ij,ij->i", way[1:], way[:-1]) >= (1.0 - BENT) * length[1:] * length[:-1]
    goes_on = straight_on & (chip[1:] == chip[:-1]) & (length[1:] > 0.0) & (length[:-1] > 0.0)
    goes_on &= (begin[1:] == end[:-1]).all(axis=1)
    if not goes_on.any():
        return every
    run = np.concatenate([np.ones(1, dtype=np.bool_), ~goes_on])
    since = np.cumsum(length) - length
    since -= np.repeat(since[run], np.diff(np.append(np.flatnonzero(run), len(run))))
    bin_of = (since / most).astype(np.int64)
    run[1:] |= bin_of[1:] != bin_of[:-1]
    return np.flatnonzero(run)
