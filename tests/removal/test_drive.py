"""Along the path: moves that go straight on are cut as one, and what is owed in front is booked once."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from firstoff.removal.cutters import Cutter
from firstoff.removal.cutting import Cutting, cut
from firstoff.removal.moves import Kind
from firstoff.removal.stock import Stock
from tests.removal.paths import along

SIX = Cutter.end_mill(6.0)
SIZE = (40.0, 20.0, 10.0)


def steps(step: float, bend: float = 0.0) -> list[tuple[float, float, float]]:
    """From end to end of the block in short steps, each other one `bend` aside [mm]."""
    return [(-4.0 + step * k, 6.0 + bend * (k % 2), 8.0) for k in range(round(48.0 / step) + 1)]


@pytest.mark.parametrize("step", [0.1, 0.3, 0.7])
def test_short_moves_straight_on_are_as_one_line(step: float) -> None:
    """The same stock, the same windows of 1 mm or a little more; times are sums, the line told is the last one's."""
    one, other = Stock.block(SIZE), Stock.block(SIZE)
    points = steps(step)
    whole, many = cut(one, along(points[0], points[-1]), SIX), cut(other, along(*points, feed=2.0), SIX)
    assert (one.rods[0] == other.rods[0]).mean() > 0.9999
    assert many.volume.sum() == pytest.approx(whole.volume.sum(), rel=1e-6)
    inner = many.take((many.volume > 0.0) & (many.s0 > 8.0) & (many.s1 < 40.0))
    long = inner.s1 - inner.s0
    assert long.min() >= 0.999 and long.max() <= 1.0 + 2.0 * step
    assert inner.volume == pytest.approx(12.0 * long, rel=0.003)
    assert many.seconds.sum() == pytest.approx(48.0 / 2.0, rel=0.02)
    assert many.line[-1] == len(points) - 1


def test_moves_that_bend_stay_alone_and_are_as_good() -> None:
    windows = cut(Stock.block(SIZE), along(*steps(0.1, 2e-4)), SIX)
    inner = windows.take((windows.volume > 0.0) & (windows.s0 > 8.0) & (windows.s1 < 40.0))
    assert inner.volume == pytest.approx(12.0 * (inner.s1 - inner.s0), rel=0.005)


def test_two_chips_are_two_windows() -> None:
    moves = along(*steps(0.1))
    feed = np.where(np.arange(len(moves)) < 200, 2.0, 3.0)
    windows = cut(Stock.block(SIZE), replace(moves, feed=feed), SIX)
    slow = windows.take(windows.line <= 200)
    assert slow.feed_per_tooth.max() < 0.9 * windows.feed_per_tooth.max()
    assert slow.s1[-1] == pytest.approx(20.0)


def test_rapids_are_not_gathered() -> None:
    windows = cut(Stock.block(SIZE), along(*steps(0.5), kind=Kind.RAPID, feed=0.0), SIX)
    assert len(windows) >= 70


@pytest.mark.parametrize("angle", [0.0, 20.9, 45.0])
def test_what_is_owed_in_front_is_booked_once(angle: float) -> None:
    """Windows that end in the metal: each has its own volume, their sum is what the stock has lost at any time."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    stock = Stock.block((40.0, 40.0, 10.0))
    before, work = stock.volume, Cutting(stock, SIX)
    points = [(20.0 + t * c, 20.0 + t * s, 8.0) for t in np.arange(-8.0, 8.1, 0.4)]
    windows = [w for k in range(len(points) - 1) for w in work.along(along(*points[k:k + 2]))]
    windows.append(work.rest())
    volumes = np.concatenate([w.volume for w in windows])
    assert volumes.sum() == pytest.approx(before - stock.volume, rel=1e-6)
    assert volumes[2:-2] == pytest.approx(np.concatenate([12.0 * (w.s1 - w.s0) for w in windows])[2:-2], rel=0.003)
    assert volumes.sum() == pytest.approx(16.0 * 12.0 + 2.0 * math.pi * 9.0, rel=0.002)


def test_level_after_level_along_one_wall_each_is_as_deep_as_it_is() -> None:
    """What an edge left of a wall's cells was cut by the levels before: only what stands there now counts."""
    stock = Stock.block((40.0, 30.0, 10.0))
    round_about = [(8.0, 8.0), (32.0, 8.0), (32.0, 22.0), (8.0, 22.0), (8.0, 8.0)]
    for k in range(1, 5):
        z = 10.0 - 0.4 * k
        windows = cut(stock, along((8.0, 8.0, z + 0.4), *((x, y, z) for x, y in round_about)), SIX)
        real = windows.take((windows.volume > 0.1) & (windows.floor < 0.5 * windows.volume))
        assert len(real) > 40
        assert (real.depth < 0.4 + 0.01).mean() > 0.95 and np.median(real.depth) == pytest.approx(0.4, abs=0.01)
