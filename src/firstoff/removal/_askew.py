"""Kernels: what a cutter with its axis at an angle took off earlier, as intervals of rods that stand upright.

A cutter is a stack of rounds, each of one radius between two heights above its tip. A round that goes along a
straight piece sweeps what is convex, so a rod meets it between two heights. Those are sought over the plane of height
on the rod and share of the piece: the round's wall is a quadratic there, its ends and those of the piece are straight
lines, and the highest and lowest place lies where two of them meet, or where the wall is touched. In closed form.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ._cells import PART, TOP, Work, larger, smaller
from ._from_side import HIGH, take_between, whole
from .compiling import entry, inner

Reals = NDArray[np.float64]
Longs = NDArray[np.int64]

NEAR = 1.0e-9       #: [mm, 1] so far outside an end still counts as on it
SMALL = 1.0e-12     #: [1]
#: Columns of `rounds`: radius, lower and upper end above the tip [mm].
ROUND, FROM, TO = 0, 1, 2
#: Columns of `pieces`: start and end of the tip, square to the cutter's axis (two ways) and along it [mm].
A1, A2, A3, B1, B2, B3 = range(6)
#: Places in `rod`: where it is at height 0 (along both ways and the axis), how that changes with height.
E1, E2, E3, K1, K2, K3 = range(6)
#: Places in `found`: lowest and highest.
LOWEST, HIGHEST = 0, 1


@inner
def offer(found: Reals, piece: Reals, rod: Reals, cut: Reals, z: float, t: float) -> None:
    """Let `found` hold a height at a share of the piece, if the round is there."""
    if t < -NEAR or t > 1.0 + NEAR:
        return
    one = rod[E1] + z * rod[K1] - piece[A1] - t * (piece[B1] - piece[A1])
    two = rod[E2] + z * rod[K2] - piece[A2] - t * (piece[B2] - piece[A2])
    along = rod[E3] + z * rod[K3] - piece[A3] - t * (piece[B3] - piece[A3])
    if along < cut[FROM] - NEAR or along > cut[TO] + NEAR:
        return
    if one * one + two * two > cut[ROUND] * cut[ROUND] + NEAR:
        return
    found[LOWEST], found[HIGHEST] = smaller(found[LOWEST], z), larger(found[HIGHEST], z)


@inner
def at_ends(found: Reals, piece: Reals, rod: Reals, cut: Reals) -> None:
    """Heights where the wall or an end of the round is met as it stands at the start and at the end of the piece."""
    square = rod[K1] * rod[K1] + rod[K2] * rod[K2]
    for end in range(2):
        t = float(end)
        c1 = rod[E1] - piece[A1] - t * (piece[B1] - piece[A1])
        c2 = rod[E2] - piece[A2] - t * (piece[B2] - piece[A2])
        c3 = rod[E3] - piece[A3] - t * (piece[B3] - piece[A3])
        half = c1 * rod[K1] + c2 * rod[K2]
        rest = half * half - square * (c1 * c1 + c2 * c2 - cut[ROUND] * cut[ROUND])
        if rest >= 0.0:
            root = math.sqrt(rest)
            offer(found, piece, rod, cut, (-half - root) / square, t)
            offer(found, piece, rod, cut, (-half + root) / square, t)
        offer(found, piece, rod, cut, (cut[FROM] - c3) / rod[K3], t)
        if cut[TO] < HIGH:
            offer(found, piece, rod, cut, (cut[TO] - c3) / rod[K3], t)


@inner
def on_wall(found: Reals, piece: Reals, rod: Reals, cut: Reals) -> None:
    """Heights where the rod touches what the wall sweeps."""
    v1, v2 = piece[B1] - piece[A1], piece[B2] - piece[A2]
    length = math.sqrt(v1 * v1 + v2 * v2)
    if length < NEAR:
        return
    n1, n2 = -v2 / length, v1 / length
    e1, e2, change = rod[E1] - piece[A1], rod[E2] - piece[A2], n1 * rod[K1] + n2 * rod[K2]
    if abs(change) < SMALL:
        return
    for hand in (-1.0, 1.0):
        z = (hand * cut[ROUND] - n1 * e1 - n2 * e2) / change
        offer(found, piece, rod, cut, z, (v1 * (e1 + z * rod[K1]) + v2 * (e2 + z * rod[K2])) / (length * length))


@inner
def on_rims(found: Reals, piece: Reals, rod: Reals, cut: Reals) -> None:
    """Heights where the rod meets what the rims at the ends of the round sweep."""
    v1, v2, v3 = piece[B1] - piece[A1], piece[B2] - piece[A2], piece[B3] - piece[A3]
    slope = v3 / rod[K3]
    w1, w2 = slope * rod[K1] - v1, slope * rod[K2] - v2
    square = w1 * w1 + w2 * w2
    if square < NEAR * NEAR:
        return
    for end in range(2):
        if end == 1 and cut[TO] >= HIGH:
            continue
        z = ((cut[FROM] if end == 0 else cut[TO]) - rod[E3] + piece[A3]) / rod[K3]
        c1, c2 = rod[E1] - piece[A1] + z * rod[K1], rod[E2] - piece[A2] + z * rod[K2]
        half = c1 * w1 + c2 * w2
        rest = half * half - square * (c1 * c1 + c2 * c2 - cut[ROUND] * cut[ROUND])
        if rest >= 0.0:
            for hand in (-1.0, 1.0):
                t = (-half + hand * math.sqrt(rest)) / square
                offer(found, piece, rod, cut, z + slope * t, t)


@inner
def met(found: Reals, piece: Reals, rod: Reals, cut: Reals) -> None:
    """Let `found` hold between which heights a rod lies in what a round sweeps along a piece."""
    at_ends(found, piece, rod, cut)
    on_wall(found, piece, rod, cut)
    on_rims(found, piece, rod, cut)


@inner
def misses(piece: Reals, rod: Reals, most: float) -> bool:
    """Whether a rod surely passes beside all that the cutter sweeps, further than its radius away."""
    v1, v2 = piece[B1] - piece[A1], piece[B2] - piece[A2]
    size = math.sqrt(rod[K1] * rod[K1] + rod[K2] * rod[K2])
    one = ((rod[E1] - piece[A1]) * rod[K2] - (rod[E2] - piece[A2]) * rod[K1]) / size
    other = one - (v1 * rod[K2] - v2 * rod[K1]) / size
    return bool(smaller(one, other) > most or larger(one, other) < -most)


@entry
def cut_askew(
    work: Work, rounds: Reals, pieces: Reals, bounds: Longs, begin: int, grid: Reals, rod: Reals, found: Reals,
    hull: float,
) -> int:
    """Cut stock by the pieces of an earlier setting whose cutter stood at an angle.

    Args:
        work: the stock; its book is left alone.
        rounds: of the cutter, shape (n, 3).
        pieces: of the way of its tip, shape (p, 6).
        bounds: first and last column, first and last row that each piece may reach, shape (p, 4).
        begin: the first piece.
        grid: place of the first cell along both ways and the axis [mm], how that changes along the rows and across
            them [mm], shape (3, 3).
        rod: room, its last three filled: how far both ways and the axis change with height [1], shape (6,).
        found: room, shape (2,).
        hull: above 0 where the rounds together are convex, and what lies between them is cut, too.

    Returns:
        The piece at which the pool had no more room; their number where all are cut.
    """
    last, most = len(work.links) - 1, 0.0
    for n in range(len(rounds)):
        most = larger(most, rounds[n, ROUND])
    for p in range(begin, len(pieces)):
        piece = pieces[p]
        for j in range(larger(bounds[p, 2], 0), smaller(bounds[p, 3] + 1, work.rows)):
            for i in range(larger(bounds[p, 0], 0), smaller(bounds[p, 1] + 1, work.columns)):
                k = j * work.columns + i
                if work.rods[TOP, k] < -0.5 * HIGH:
                    continue
                for e in range(3):
                    rod[e] = grid[0, e] + i * grid[1, e] + j * grid[2, e]
                if misses(piece, rod, most):
                    continue
                if work.links[last] + 2 * len(rounds) >= last:
                    return p
                found[LOWEST], found[HIGHEST] = HIGH, -HIGH
                for n in range(len(rounds)):
                    met(found, piece, rod, rounds[n])
                    if (hull <= 0.0 or n == len(rounds) - 1) and found[HIGHEST] > found[LOWEST]:
                        if work.rods[PART, k] > 0.0:
                            whole(work, k)
                        take_between(work, k, found[LOWEST], found[HIGHEST])
                        found[LOWEST], found[HIGHEST] = HIGH, -HIGH
    return len(pieces)
