"""Moves: what a program makes and removal takes. Geometry; mm, mm/s, s, rad/s. Streamed in chunks of arrays."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from enum import IntEnum, IntFlag
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Vector = tuple[float, float, float]

#: plane -> (first axis, second axis, axis across): counter-clockwise turns the first towards the second
AXES: Final = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}


class Kind(IntEnum):
    """What a move is. A stand (dwell, stop, tool change) goes nowhere and cuts nothing."""

    RAPID = 0
    LINE = 1
    CLOCKWISE = 2
    COUNTER = 3
    STAND = 4


class Doubt(IntFlag):
    """What of a move can't be said."""

    START = 1       #: where it begins: until each axis has been told where to go
    END = 2         #: where it ends
    PATH = 4        #: the way between: an arc that does not close, a cutter radius that nobody gave
    FEED = 8        #: how fast
    SPINDLE = 16    #: how fast the spindle turns
    TOOL = 32       #: which tool is in it
    UNIT = 64       #: whether its numbers are mm or inch: they stand as they were written
    UNREAD = 128    #: something before it was not understood, so it may mean something else
    X = 256         #: where it ends along X; so with Y and Z
    Y = 512
    Z = 1024


CERTAIN: Final = Doubt(0)


@dataclass(frozen=True)
class Move:
    """One move of the tool's tip; see `Moves` for the fields."""

    line: int
    kind: Kind
    start: Vector
    end: Vector
    centre: Vector
    plane: int
    feed: float
    spindle: float
    tool: int
    zero: int = 1
    wait: float = 0.0
    exact: bool = False
    doubt: Doubt = CERTAIN


@dataclass(frozen=True)
class Moves:
    """Struct of arrays over n moves, in the order in which they are made.

    Fields:
        line: line of the program, shape (n,).
        kind: see `Kind`, shape (n,).
        start: where the tip begins, from the work zero [mm], shape (n, 3).
        end: where it ends [mm], shape (n, 3).
        centre: of an arc; the end of any other move [mm], shape (n, 3).
        plane: of an arc: 17 XY, 18 ZX, 19 YZ, shape (n,).
        feed: as programmed [mm/s]; 0 for a rapid, which goes as fast as the machine can, shape (n,).
        spindle: speed [rad/s], clockwise positive, counter-clockwise negative, 0 off, shape (n,).
        tool: number of the tool in the spindle, 0 where none was called, shape (n,).
        zero: 1 to 9 for G54 to G59.3; 0 where the machine's own zero counts, shape (n,).
        wait: how long a stand lasts [s], shape (n,).
        exact: whether the machine stops at its end, shape (n,).
        doubt: see `Doubt`, shape (n,).
    """

    line: NDArray[np.int64]
    kind: NDArray[np.int8]
    start: Floats
    end: Floats
    centre: Floats
    plane: NDArray[np.int8]
    feed: Floats
    spindle: Floats
    tool: NDArray[np.int64]
    zero: NDArray[np.int8]
    wait: Floats
    exact: NDArray[np.bool_]
    doubt: NDArray[np.uint16]

    def __len__(self) -> int:
        """How many moves."""
        return len(self.line)

    def __getitem__(self, index: int) -> Move:
        """One of them."""
        return Move(
            int(self.line[index]), Kind(int(self.kind[index])), _vector(self.start[index]), _vector(self.end[index]),
            _vector(self.centre[index]), int(self.plane[index]), float(self.feed[index]), float(self.spindle[index]),
            int(self.tool[index]), int(self.zero[index]), float(self.wait[index]), bool(self.exact[index]),
            Doubt(int(self.doubt[index])))

    def __iter__(self) -> Iterator[Move]:
        """One after the other."""
        return (self[index] for index in range(len(self)))

    def take(self, which: NDArray[np.bool_] | NDArray[np.int64] | slice) -> Moves:
        """Some of them, in order."""
        return Moves(**{f.name: getattr(self, f.name)[which] for f in fields(self)})

    @property
    def turns(self) -> NDArray[np.bool_]:
        """Which of them are arcs, shape (n,)."""
        arcs: NDArray[np.bool_] = (self.kind == Kind.CLOCKWISE) | (self.kind == Kind.COUNTER)
        return arcs


_TYPES: Final = {"line": np.int64, "kind": np.int8, "plane": np.int8, "tool": np.int64, "zero": np.int8,
                 "exact": np.bool_, "doubt": np.uint16}


def moves_of(rows: Sequence[Move]) -> Moves:
    """The same moves as a struct of arrays."""
    def column(name: str) -> NDArray[Any]:
        values: NDArray[Any] = np.array([getattr(row, name) for row in rows], dtype=_TYPES.get(name, np.float64))
        return values.reshape(len(rows), 3) if name in ("start", "end", "centre") else values

    return Moves(**{f.name: column(f.name) for f in fields(Moves)})


def joined(chunks: Sequence[Moves]) -> Moves:
    """Chunks one after the other as one."""
    if not chunks:
        return moves_of([])
    return Moves(**{f.name: np.concatenate([getattr(chunk, f.name) for chunk in chunks]) for f in fields(Moves)})


def swept(moves: Moves) -> Floats:
    """How far each arc turns.

    Args:
        moves: n of them.

    Returns:
        Angle about the centre, counter-clockwise positive [rad], a whole turn where start and end are one
        point of the plane; 0 for what is no arc, shape (n,).
    """
    angle = np.zeros(len(moves))
    for plane, (first, second, _) in AXES.items():
        at = np.flatnonzero(moves.turns & (moves.plane == plane))
        start, end = (getattr(moves, name)[at] - moves.centre[at] for name in ("start", "end"))
        cross = start[:, first] * end[:, second] - start[:, second] * end[:, first]
        along = start[:, first] * end[:, first] + start[:, second] * end[:, second]
        left = np.mod(np.arctan2(cross, along), 2.0 * np.pi)
        whole = (moves.start[at][:, [first, second]] == moves.end[at][:, [first, second]]).all(axis=1)
        left[whole] = 0.0
        turned = np.where(moves.kind[at] == Kind.COUNTER, left, left - 2.0 * np.pi)
        angle[at] = np.where(whole, np.where(moves.kind[at] == Kind.COUNTER, 2.0, -2.0) * np.pi, turned)
    return angle


def lengths(moves: Moves) -> Floats:
    """How long the way of each move is; the radius of an arc goes evenly from its start to its end.

    Args:
        moves: n of them.

    Returns:
        Length [mm], helices with their rise, shape (n,).
    """
    length: Floats = np.sqrt(((moves.end - moves.start) ** 2).sum(axis=1))
    angle = np.abs(swept(moves))
    for plane, (first, second, across) in AXES.items():
        at = np.flatnonzero(moves.turns & (moves.plane == plane))
        radius = 0.5 * sum(
            np.hypot(*(side[at] - moves.centre[at])[:, [first, second]].T) for side in (moves.start, moves.end))
        rise = (moves.end - moves.start)[at, across]
        length[at] = np.hypot(radius * angle[at], rise)
    return length


def extents(moves: Moves) -> tuple[Floats, Floats]:
    """Lowest and highest place of each move, arcs with the quarters that they pass.

    Args:
        moves: n of them.

    Returns:
        Lowest and highest coordinate on each axis [mm], each of shape (n, 3).
    """
    low, high = np.minimum(moves.start, moves.end), np.maximum(moves.start, moves.end)
    angle = swept(moves)
    for plane, (first, second, _) in AXES.items():
        at = np.flatnonzero(moves.turns & (moves.plane == plane))
        out, back = (getattr(moves, name)[at] - moves.centre[at] for name in ("start", "end"))
        from_radius, to_radius = (np.hypot(side[:, first], side[:, second]) for side in (out, back))
        begin = np.arctan2(out[:, second], out[:, first])
        for quarter in range(4):
            turn = np.mod(np.where(angle[at] > 0, 1.0, -1.0) * (quarter * 0.5 * np.pi - begin), 2.0 * np.pi)
            span = np.abs(angle[at])
            passed = turn < span
            share = np.divide(turn, span, out=np.zeros_like(turn), where=span > 0.0)
            radius = from_radius + (to_radius - from_radius) * share
            axis, sign = (first, second)[quarter % 2], (1.0, 1.0, -1.0, -1.0)[quarter]
            reach = moves.centre[at, axis] + sign * radius
            low[at, axis] = np.where(passed, np.minimum(low[at, axis], reach), low[at, axis])
            high[at, axis] = np.where(passed, np.maximum(high[at, axis], reach), high[at, axis])
    return low, high


def _vector(row: Floats) -> Vector:
    x, y, z = row.tolist()
    return x, y, z
