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
    _in_reach(moves)
    arcs, way = bool(moves.turns.any()), moves.end - moves.start
    length = lengths(moves) if arcs else np.sqrt(np.einsum("ij,ij->i", way, way))
    if not arcs and (length < 2.0 * longest).all():
        return np.arange(len(moves)), moves.start, moves.end
    count = parts_of(length, longest)
    angle = np.zeros(len(moves))
    if arcs:
        angle = swept(moves)
        radius = np.linalg.norm(moves.start - moves.centre, axis=1)
        chord = np.sqrt(8.0 * sagitta / np.maximum(radius, sagitta))
        count = np.maximum(count, np.ceil(np.abs(angle) / chord).astype(np.int64))
    move = np.repeat(np.arange(len(moves)), count)
    start, stop = moves.start[move], moves.end[move]
    many = np.flatnonzero(count[move] > 1)
    if len(many):
        own = move[many]
        step = (np.arange(len(move)) - np.repeat(np.cumsum(count) - count, count))[many]
        start[many] = _at(moves, angle, own, (step / count[own])[:, None])
        stop[many] = _at(moves, angle, own, ((step + 1) / count[own])[:, None])
    return move, start, stop


def _in_reach(moves: Moves) -> None:
    """Raise OutOfRange for the first move that goes too far, or nowhere that is a place."""
    ends = (moves.start, moves.end)
    if not len(moves) or all(points.min() >= -FURTHEST and points.max() <= FURTHEST for points in ends):
        return
    far = ~np.logical_and(*(np.abs(points) <= FURTHEST for points in ends)).all(axis=1)
    raise OutOfRange(f"line {int(moves.line[far][0])} goes further than {FURTHEST:g} mm from zero",
                     right="coordinates in reach of the machine")


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
    from ._pieces import lay

    if moves.turns.any():
        move, begin, end = straight(moves, longest)
        parts = np.ones(len(move), dtype=np.int64)
    else:
        _in_reach(moves)
        move, begin, end = np.arange(len(moves)), moves.start, moves.end
        way = end - begin
        parts = parts_of(np.sqrt(np.einsum("ij,ij->i", way, way)), longest)
    many = int(parts.sum())
    pieces, tags = np.empty((many, 9)), np.empty((many, 3), dtype=np.int64)
    grid = np.array([*stock.placing, 1.0 / stock.cell, *stock.corner])
    lay(begin, end, parts, move, moves.line, moves.kind, moves.feed, moves.spindle,
        np.zeros(0) if seconds is None else seconds, grid, 0.5 * teeth / np.pi, np.zeros(len(moves)), pieces, tags)
    return pieces, tags


def parts_of(length: Floats, longest: float) -> Longs:
    """In how many even parts lines of these lengths [mm] are divided: a part is up to twice `longest` [mm] long."""
    return np.maximum(length * ((1.0 + 1e-9) / longest), 1.0).astype(np.int64)
