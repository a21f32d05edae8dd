"""Turning a piece over: what was cut from one side, seen from the other. Geometry; mm.

Nothing is resampled: new rods are laid through the new piece of stock, and the moves so far are made again on them as
swept cutters, from above, from below, from the side or at an angle. What is left does not depend on the order: what
makes hollows is last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from ..errors import OutOfRange
from .cutters import Cutter
from .cutting import Cutting
from .moves import Kind, Moves, moves_of
from .paths import certain, pieces_of, straight
from .stock import BOTTOM, EMPTY, LOW, PART, TOP, Stock

if TYPE_CHECKING:
    from ._cells import Work

Floats = NDArray[np.float64]
Longs = NDArray[np.int64]

LEAST: Final = 2.0e-6       #: [mm] as in `_cells`
SQUARE: Final = 1.0e-9      #: [1] how far a turn may be from one
_HIGH: Final = 1.0e9        # as in `_from_side`
DIVIDED: Final = 4.0        #: [mm] pieces of the way of a cutter at an angle
LONGEST: Final = 1.0        #: [mm] pieces of the way of a cutter with an undercut
HALF: Final = 0.5           #: a cell of which more is cut counts as cut, from the other side


@dataclass(frozen=True)
class Past:
    """What was cut in an earlier setting.

    Fields:
        moves: in the axes of that setting.
        cutter: with which.
        turn: its axes in those of the new setting, columns x, y and z [1], shape (3, 3).
        shift: where its zero lies in the new setting [mm], shape (3,).
    """

    moves: Moves
    cutter: Cutter
    turn: Floats
    shift: Floats


def replay(stock: Stock, pasts: Sequence[Past]) -> None:
    """Cut a fresh piece of stock by all that was cut before.

    Args:
        stock: uncut, in the axes of the new setting; changed.
        pasts: in the order in which they were cut.

    Raises:
        OutOfRange: where a setting's axes are not three square ones.
    """
    for past in sorted(pasts, key=lambda past: (past.cutter.neck > 0.0) + 2 * (abs(_sense(past)) < 1.0)):
        up = _sense(past)
        if up == 0.0:
            from_side(stock, past)
            continue
        if abs(up) < 1.0:
            from_askew(stock, past)
            continue
        if past.cutter.neck > 0.0:
            from_under(stock, past, up)
            continue
        if up < 0.0:
            turn_over(stock)
        work = Cutting(stock, past.cutter)
        for _ in work.along(_placed(past, up)):
            pass            # what it did to the cutter was told when it was cut
        work.rest()
        if up < 0.0:
            turn_over(stock)


def _sense(past: Past) -> float:
    """1 where the cutter stood upright as now, -1 where it would come from below, 0 where it would lie level; between
    them at an angle."""
    turn = np.asarray(past.turn, dtype=np.float64)
    if turn.shape != (3, 3) or np.abs(turn @ turn.T - np.eye(3)).max() > SQUARE:
        raise OutOfRange("an earlier setting is not turned square to this one", right="three axes, each of length 1")
    askew = SQUARE < abs(turn[2, 2]) < 1.0 - SQUARE
    return float(turn[2, 2] if askew else np.round(turn[2, 2]))


def from_side(stock: Stock, past: Past) -> None:
    """Cut a piece of stock by what was cut in a setting whose cutter would lie level now.

    Args:
        stock: in the axes of the new setting; changed.
        past: what was cut.
    """
    from ._from_side import cut_from_side

    turn = np.asarray(past.turn, dtype=np.float64)
    axis = turn[:, 2]
    across = np.array([-axis[1], axis[0], 0.0])
    pieces = _lying(past, axis, across, stock.cell)
    corner, along, away = stock.points(np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]))
    places = [(float(way @ corner), float(way @ (along - corner)), float(way @ (away - corner)))
              for way in (across, axis)]
    done = 0
    while done < len(pieces):
        done = cut_from_side(_work(stock), past.cutter.form(stock.cell), pieces, done, *places[0], *places[1])
        if done < len(pieces):
            stock.widen()
    stock.bound()


def from_askew(stock: Stock, past: Past) -> None:
    """Cut a piece of stock by what was cut in a setting whose cutter would stand at an angle now.

    Args:
        stock: in the axes of the new setting; changed.
        past: what was cut.
    """
    from ._askew import cut_askew

    frame = _frame(np.asarray(past.turn, dtype=np.float64)[:, 2])
    begin, end = _short(past, DIVIDED)
    bounds, near = _reached(stock, begin, end, frame[2], past.cutter.radius)
    begin, end, bounds = begin[near], end[near], bounds[near]
    pieces = np.concatenate([begin @ frame.T, end @ frame.T], axis=1)
    corner, along, away = stock.points(np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]))
    grid = np.stack([frame @ corner, frame @ (along - corner), frame @ (away - corner)])
    rod = np.concatenate([np.zeros(3), frame[:, 2]])
    rounds, hull = rounds_of(past.cutter, stock.cell)
    done = 0
    while done < len(pieces):
        before = done
        done = cut_askew(_work(stock), rounds, pieces, bounds, done, grid, rod, np.zeros(2), hull)
        if done == before:
            stock.widen()
    stock.bound()


def rounds_of(cutter: Cutter, cell: float) -> tuple[Floats, float]:
    """A cutter as a stack of rounds, their steps no larger than half a cell; of one with a neck its teeth alone.

    Args:
        cutter: its profile.
        cell: side of a cell [mm].

    Returns:
        Radius, lower and upper end above the tip [mm], shape (n, 3), and 1 where they are convex together, else 0.
    """
    endless = 2.0 * _HIGH
    if cutter.neck > 0.0:
        narrows = 2.0 * (cutter.radius - cutter.neck) / cell if cutter.land < cutter.length else 0.0
        steps = int(np.ceil(narrows))
        ends = np.linspace(cutter.land, cutter.length, steps + 1)
        wide = np.linspace(cutter.radius, cutter.neck, steps + 1) if steps else np.zeros(1)
        teeth = [(cutter.radius, 0.0, cutter.land)] if cutter.land > 0.0 else []
        teeth += [(0.5 * (wide[k] + wide[k + 1]), ends[k], ends[k + 1]) for k in range(steps)]
        return np.array(teeth), 0.0
    away = cutter.radius * (1.0 - np.linspace(1.0, 0.0, 2001)**2)
    away = np.maximum(away, min(cutter.flat, cutter.radius))
    height = cutter.height(away)
    far = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(away), np.diff(height)))])
    steps = max(int(np.ceil(2.0 * far[-1] / cell)), 1)
    begins, middles = ((np.arange(steps) + part) / steps * far[-1] for part in (0.0, 0.5))
    rounds = np.stack(
        [np.interp(middles, far, away), np.interp(begins, far, height), np.full(steps, endless)], axis=1)
    return np.concatenate([rounds, [(cutter.radius, height[-1], endless)]]), 1.0


def _frame(axis: Floats) -> Floats:
    """Two ways square to an axis, and the axis, as rows, shape (3, 3)."""
    level = np.array([-axis[1], axis[0], 0.0]) / np.hypot(axis[0], axis[1])
    return np.stack([np.cross(level, axis), level, axis])


def _short(past: Past, longest: float) -> tuple[Floats, Floats]:
    """The way of a cutter in the axes of the new setting, in straight pieces no longer than told [mm]."""
    _, begin, end = straight(certain(past.moves), np.inf)
    begin, end = (points @ np.asarray(past.turn).T + np.asarray(past.shift) for points in (begin, end))
    count = np.maximum(np.ceil(np.linalg.norm(end - begin, axis=1) / longest), 1.0).astype(np.int64)
    piece = np.repeat(np.arange(len(begin)), count)
    step = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
    one, two = (begin[piece] + (end - begin)[piece] * ((step + k) / count[piece])[:, None] for k in (0, 1))
    return one, two


def _reached(
    stock: Stock, begin: Floats, end: Floats, axis: Floats, radius: float,
) -> tuple[Longs, NDArray[np.bool_]]:
    """First and last column and row that a cutter may reach in the stock along each piece, shape (p, 4), and where it
    reaches any height of it."""
    there = stock.rods[TOP] > 0.5 * EMPTY
    low = float(stock.rods[BOTTOM][there].min()) if there.any() else 0.0
    level = radius * float(np.hypot(axis[0], axis[1]))
    ends = np.stack([begin[:, 2], end[:, 2]])
    if axis[2] > 0.0:
        far, near = (stock.ceiling - ends.min(axis=0) + level) / axis[2], ends.min(axis=0) - level < stock.ceiling
    else:
        far, near = (low - ends.max(axis=0) - level) / axis[2], ends.max(axis=0) + level > low
    up = np.maximum(far, 0.0)[:, None] * axis
    points = [stock.places(at)[:, :2] for at in (begin, end, begin + up, end + up)]
    room = radius / stock.cell + 1.0
    least, most = np.floor(np.minimum.reduce(points) - room), np.ceil(np.maximum.reduce(points) + room)
    rows, columns = stock.shape
    bounds = np.stack([least[:, 0], most[:, 0], least[:, 1], most[:, 1]], axis=1)
    bounds = np.clip(bounds, -1.0, max(rows, columns)).astype(np.int64)
    return bounds, near


def from_under(stock: Stock, past: Past, up: float) -> None:
    """Cut a piece of stock by a cutter wider than its neck that came from above (`up` 1) or from below (-1).

    Args:
        stock: in the axes of the new setting; changed.
        past: what was cut.
        up: 1 or -1.
    """
    from ._under import cut_all_under

    pieces, _ = pieces_of(_placed(past, up), stock, 1, LONGEST)
    done = 0
    while done < len(pieces):
        before = done
        done = cut_all_under(_work(stock), past.cutter.form(stock.cell), pieces, done, up)
        if done == before:
            stock.widen()
    stock.bound()


def _work(stock: Stock) -> Work:
    """A stock as kernels take it, with a book that nobody reads."""
    from ._cells import Work

    return Work(stock.rods, stock.more, stock.pool, stock.links, *stock.shape, np.zeros((3, 64)),
                np.array([0.0, 1.0]), np.zeros((4, stock.shape[0]), dtype=np.int32), np.zeros(1, dtype=np.int32),
                np.zeros((4, 1), dtype=np.float32), 0.0)


def _lying(past: Past, axis: Floats, across: Floats, cell: float) -> Floats:
    """The way of a level cutter: place across, height, at both ends, and its tip along the axis; see `_from_side`.

    What goes along the axis is divided so finely that the tip moves by no more than half a cell in a piece.
    """
    known = certain(past.moves)
    _, begin, end = straight(known, np.inf)
    begin, end = (points @ np.asarray(past.turn).T + np.asarray(past.shift) for points in (begin, end))
    count = np.maximum(np.ceil(np.abs((end - begin) @ axis) / (0.5 * cell)), 1.0).astype(np.int64)
    piece = np.repeat(np.arange(len(begin)), count)
    step = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
    one, two = (begin[piece] + (end - begin)[piece] * ((step + k) / count[piece])[:, None] for k in (0, 1))
    return np.stack([one @ across, one[:, 2], two @ across, two[:, 2], 0.5 * (one + two) @ axis], axis=1)


def _placed(past: Past, up: float) -> Moves:
    """Moves in the axes of the new setting, arcs as chords; heights as on a stock that was turned over."""
    known = certain(past.moves)
    move, begin, end = straight(known, np.inf)
    begin, end = (points @ np.asarray(past.turn).T + np.asarray(past.shift) for points in (begin, end))
    begin[:, 2], end[:, 2] = begin[:, 2] * up, end[:, 2] * up
    kind = np.where(known.kind[move] == Kind.RAPID, Kind.RAPID, Kind.LINE).astype(np.int8)
    return replace(known.take(move), start=begin, end=end, centre=end, kind=kind) if len(move) else moves_of([])


def turn_over(stock: Stock) -> None:
    """Look at a stock from below: heights change their sign. Walls keep to the nearest cell.

    Args:
        stock: changed; of one interval in each cell.

    Raises:
        OutOfRange: where a cell has more intervals.
    """
    if (stock.more >= 0).any():
        raise OutOfRange("a stock with undercuts cannot be turned over", right="make its moves again on fresh stock")
    top, bottom, low, part = stock.rods
    there = top > 0.5 * EMPTY
    through = low <= bottom + LEAST
    cut = ~through & (part >= HALF)
    upper = np.where(cut, low, top)
    stock.rods[TOP], stock.rods[BOTTOM] = np.where(there, -bottom, EMPTY), np.where(there, -upper, EMPTY)
    stock.rods[LOW] = stock.rods[BOTTOM]
    stock.rods[PART] = np.where(there & through, part, 0.0)
    stock.bound()
