"""Stock: blocks and bars are as large as they should be, wherever they lie on the grid."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.removal.stock import Stock

SIZE = st.floats(1.0, 12.0)
PLACE = st.floats(-50.0, 50.0)


@settings(deadline=None, max_examples=30)
@given(SIZE, SIZE, SIZE, PLACE, PLACE, PLACE)
def test_block(length: float, width: float, height: float, x: float, y: float, z: float) -> None:
    stock = Stock.block((length, width, height), (x, y, z))
    assert stock.volume == pytest.approx(length * width * height, rel=1e-3)
    assert stock.ceiling == z + height


def test_bar() -> None:
    stock = Stock.bar(20.0, 30.0, (3.0, -4.0, 5.0))
    assert stock.volume == pytest.approx(math.pi * 100.0 * 30.0, rel=1e-4)


def test_intervals_over_a_point() -> None:
    stock = Stock.block((10.0, 10.0, 4.0), (0.0, 0.0, 1.0))
    assert stock.intervals(5.0, 5.0) == [(1.0, 5.0)]
    assert stock.intervals(-1.0, 5.0) == [] and stock.intervals(500.0, 5.0) == []


@given(st.lists(st.tuples(PLACE, PLACE, PLACE), min_size=1, max_size=5))
def test_places_and_points_are_each_other_s_way_back(points: list[tuple[float, float, float]]) -> None:
    stock = Stock.block((5.0, 5.0, 1.0))
    given_points = np.array(points)
    assert stock.points(stock.places(given_points)) == pytest.approx(given_points, abs=1e-9)


@pytest.mark.parametrize(("size", "cell"), [
    ((0.0, 1.0, 1.0), 0.1), ((1.0, math.inf, 1.0), 0.1), ((1.0, 1.0, 1.0), 0.0), ((1e4, 1e4, 1.0), 0.01)])
def test_what_is_no_stock_is_refused(size: tuple[float, float, float], cell: float) -> None:
    with pytest.raises(OutOfRange):
        Stock.block(size, cell=cell)


def test_a_wider_pool_keeps_what_is_in_it() -> None:
    stock = Stock.block((10.0, 10.0, 10.0), cell=0.5)
    stock.links[:3], stock.links[-1] = [1, 2, -1], 3
    stock.pool[0, :3] = [3.0, 2.0, 1.0]
    room = len(stock.links) - 1
    stock.widen()
    assert len(stock.links) == 2 * room + 1 and stock.pool.shape == (2, 2 * room)
    assert stock.links[:3].tolist() == [1, 2, -1] and stock.links[-1] == 3
    assert stock.pool[0, :3].tolist() == [3.0, 2.0, 1.0]
