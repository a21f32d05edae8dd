"""Removal: moves a second by cutter and cell, beside general-purpose ways of doing the same; a program of 20 minutes.

A block of 100 × 60 mm, a cutter of 6 mm, volume and engagement recorded. A flat end goes in rows 3 mm apart in moves
of 0.1 mm (those that go straight on with one chip are cut as one, up to a window of 1 mm: so there is a crooked path,
too); ball and rounded corner go over a wavy face in rows 0.5 mm apart in moves of 0.1 mm, and up to 0.9 mm deep.
Run with `make benchmark`; nothing fails on time. `moves_a_second` stands in the extra figures of each.
"""

from __future__ import annotations

import math
import time
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from benchmarks.peers import level_sets, meshes
from firstoff.removal.cutters import Cutter
from firstoff.removal.cutting import Cutting, cut
from firstoff.removal.moves import Moves
from firstoff.removal.stock import Stock

SIZE = (100.0, 60.0, 20.0)
CUTTERS = {"flat": Cutter.end_mill(6.0), "ball": Cutter.ball(6.0), "corner": Cutter.end_mill(6.0, 1.0)}
MOST = 60_000       #: moves of one path


def rows(apart: float, step: float, wave: float, height: float) -> NDArray[np.float64]:
    """There and back over the block; a wave of this height, shape (n, 3)."""
    lines = []
    for k, y in enumerate(np.arange(3.0, 57.1, apart)):
        x = np.arange(3.0, 97.0, step)[:: -1 if k % 2 else 1]
        lines.append(np.stack([x, np.full(len(x), y), height + wave * np.sin(x / 8.0) * np.cos(y / 9.0)], axis=1))
    return np.concatenate(lines)[:MOST]


def moves_along(points: NDArray[np.float64], feed: float = 10.0) -> Moves:
    """One move from each point to the next."""
    n = len(points) - 1
    one = np.ones(n, dtype=np.int8)
    return Moves(np.arange(n), one, points[:-1], points[1:], points[1:], 17 * one, np.full(n, feed),
                 np.full(n, 1000.0), np.ones(n, dtype=np.int64), one, np.zeros(n), np.zeros(n, dtype=np.bool_),
                 np.zeros(n, dtype=np.uint8))


PATHS = {"flat": rows(3.0, 0.1, 0.0, 18.0), "ball": rows(0.5, 0.1, 0.4, 19.5), "corner": rows(0.5, 0.1, 0.4, 19.5)}
SHORT = PATHS["flat"][:300]     #: in one slot: what peers are given


@pytest.mark.parametrize("cell", [0.1, 0.05])
@pytest.mark.parametrize("name", CUTTERS)
def test_moves_a_second(benchmark: Any, name: str, cell: float) -> None:
    moves, cutter = moves_along(PATHS[name]), CUTTERS[name]
    cut(Stock.block(SIZE, cell=cell), moves.take(slice(0, 100)), cutter)      # compiled by now
    spent: list[float] = []

    def whole() -> None:
        stock = Stock.block(SIZE, cell=cell)
        begin = time.process_time()
        cut(stock, moves, cutter)
        spent.append(time.process_time() - begin)

    benchmark.pedantic(whole, rounds=5)
    benchmark.extra_info["moves_a_second"] = round(len(moves) / min(spent))


@pytest.mark.parametrize("cell", [0.1, 0.05])
def test_moves_that_are_not_gathered(benchmark: Any, cell: float) -> None:
    """The flat path a little crooked: no two of its moves go straight on, and each is cut for itself."""
    points = PATHS["flat"].copy()
    points[:, 1] += 2.0e-4 * (np.arange(len(points)) % 2)
    moves, spent = moves_along(points), []
    cut(Stock.block(SIZE, cell=cell), moves.take(slice(0, 100)), CUTTERS["flat"])

    def whole() -> None:
        stock = Stock.block(SIZE, cell=cell)
        begin = time.process_time()
        cut(stock, moves, CUTTERS["flat"])
        spent.append(time.process_time() - begin)

    benchmark.pedantic(whole, rounds=5)
    benchmark.extra_info["moves_a_second"] = round(len(moves) / min(spent))


def ours(points: NDArray[np.float64]) -> float:
    """Moves a second along a short path on fresh stock; the best of twenty."""
    moves, spent = moves_along(points), []
    for _ in range(20):
        work = Cutting(Stock.block(SIZE), CUTTERS["flat"])
        begin = time.process_time()
        list(work.along(moves))
        work.rest()
        spent.append(time.process_time() - begin)
    return len(moves) / min(spent)


def test_meshes(benchmark: Any) -> None:
    """Booleans of meshes on a short path, ours on the same; `times` says how many times faster ours is."""
    pytest.importorskip("manifold3d", reason="pip install 'firstoff[benchmark]'")
    points, spent = SHORT, []

    def whole() -> float:
        begin = time.process_time()
        left = meshes.cut(meshes.block(SIZE), points, 3.0, 30.0)
        spent.append(time.process_time() - begin)
        return float(left.volume())

    left = benchmark.pedantic(whole, rounds=1)
    stock = Stock.block(SIZE)
    cut(stock, moves_along(points), CUTTERS["flat"])
    assert left == pytest.approx(stock.volume, rel=0.01)
    told(benchmark, (len(points) - 1) / min(spent), ours(points))


def test_level_sets(benchmark: Any) -> None:
    """Level sets of the same cell on the same short path, volume recorded as ours does."""
    points, spent = SHORT, []

    def whole() -> float:
        field = level_sets.block(SIZE, 0.1)
        begin = time.process_time()
        removed = level_sets.cut(field, points, 3.0, 0.1)
        spent.append(time.process_time() - begin)
        length = 0.1 * (len(points) - 1)
        assert (field < 0.0).sum() * 1e-3 == pytest.approx(
            120_000.0 - 2.0 * (length * 6.0 + math.pi * 9.0), rel=0.001)
        return sum(removed)

    assert benchmark.pedantic(whole, rounds=1) == pytest.approx(2.0 * (6.0 * 29.9 + math.pi * 9.0), rel=0.03)
    told(benchmark, (len(points) - 1) / min(spent), ours(points))


def told(benchmark: Any, theirs: float, own: float) -> None:
    """Moves a second of a peer, of ours, and how many times as many those are."""
    benchmark.extra_info.update(moves_a_second=round(theirs, 1), ours=round(own), times=round(own / theirs))


def test_twenty_minutes(benchmark: Any) -> None:
    """A finish by a ball at 1200 mm a minute, 24 m long, on a part of 100 mm."""
    points = np.concatenate([rows(0.25, 0.2, 0.4, 19.5 - 0.1 * k) for k in range(3)])
    moves = moves_along(points, 20.0)
    length = np.linalg.norm(moves.end - moves.start, axis=1).cumsum()
    moves = moves.take(length < 24_000.0)
    windows = benchmark.pedantic(lambda: cut(Stock.block(SIZE), moves, CUTTERS["ball"]), rounds=1)
    assert windows.minutes == pytest.approx(20.0, rel=0.05)


@pytest.mark.parametrize("times", [1, 2, 4])
def test_time_by_length(benchmark: Any, times: int) -> None:
    """The same path once, twice and four times as long, over fresh metal: the time for each metre should not grow."""
    points = np.concatenate([rows(3.0, 0.5, 0.0, 19.5 - 0.5 * k) for k in range(times)])
    moves = moves_along(points)
    cut(Stock.block(SIZE), moves.take(slice(0, 100)), CUTTERS["flat"])
    spent: list[float] = []

    def whole() -> None:
        stock = Stock.block(SIZE)
        begin = time.process_time()
        cut(stock, moves, CUTTERS["flat"])
        spent.append(time.process_time() - begin)

    benchmark.pedantic(whole, rounds=3)
    metres = float(np.linalg.norm(moves.end - moves.start, axis=1).sum()) / 1000.0
    benchmark.extra_info["milliseconds_a_metre"] = round(1000.0 * min(spent) / metres, 2)
