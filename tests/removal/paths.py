"""Paths for the tests of removal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from firstoff.removal.cutters import Cutter
from firstoff.removal.moves import Kind, Move, Moves, Vector, moves_of
from firstoff.removal.stock import TOP, Stock

Point = Sequence[float]

CUTTERS = {
    "flat": Cutter.end_mill(3.0), "ball": Cutter.ball(3.0), "rounded": Cutter.end_mill(3.0, 0.5),
    "tapered": Cutter.tapered(3.0, math.radians(15.0), corner=0.4),
    "chamfer": Cutter.chamfer(3.0, math.radians(90.0), tip=0.4), "point": Cutter.chamfer(3.0, math.radians(118.0)),
}


def vector(point: Point) -> Vector:
    """Three numbers."""
    x, y, z = (float(p) for p in point)
    return x, y, z


def along(*points: Point, feed: float = 10.0, spindle: float = 1000.0, kind: Kind = Kind.LINE) -> Moves:
    """Moves from point to point, one line of program each."""
    ends = [vector(point) for point in points]
    return moves_of([
        Move(k + 1, kind, start, end, end, 17, feed, spindle, 1)
        for k, (start, end) in enumerate(pairwise(ends))])


def arc(start: Point, end: Point, centre: Point, kind: Kind = Kind.COUNTER, line: int = 1) -> Move:
    """An arc in plan."""
    return Move(line, kind, vector(start), vector(end), vector(centre), 17, 10.0, 1000.0, 1)


def envelope(
    stock: Stock, cutter: Cutter, points: Sequence[Point], steps: int,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Lowest height of a cutter over each cell, tried step by step: wherever it covers the middle of the cell,
    wherever it covers the whole cell; and how near its axis came."""
    rows, columns = np.divmod(np.arange(stock.rods.shape[1]), stock.shape[1])
    plan = stock.points(np.stack([columns, rows], axis=1).astype(np.float64))
    middle, whole, near = (np.full(len(plan), np.inf) for _ in range(3))
    for start, end in pairwise(points):
        for share in np.linspace(0.0, 1.0, steps):
            x, y, z = np.array(start) + (np.array(end) - np.array(start)) * share
            away = np.hypot(plan[:, 0] - x, plan[:, 1] - y)
            near = np.minimum(near, away)
            for best, radius in ((middle, cutter.radius), (whole, cutter.radius - 0.7072 * stock.cell)):
                inside = away < radius
                best[inside] = np.minimum(best[inside], z + cutter.height(away[inside]))
    return middle, whole, near


def tops(stock: Stock) -> NDArray[np.float64]:
    """Height of each cell."""
    top: NDArray[np.float64] = stock.rods[TOP].astype(np.float64)
    return top
