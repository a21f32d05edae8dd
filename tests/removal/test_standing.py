"""A stock from above: heights as they were cut, edges where they change."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.removal.cutters import Cutter
from firstoff.removal.cutting import cut
from firstoff.removal.standing import SQUARES, standing
from firstoff.removal.stock import Stock
from tests.removal.paths import along


def test_heights_are_those_of_the_stock() -> None:
    stock = Stock.block((40.0, 20.0, 10.0))
    cut(stock, along((-5, 10, 7.0), (45, 10, 7.0)), Cutter.end_mill(6.0))
    seen = standing(stock, (0.0, 0.0), (40.0, 20.0))
    assert seen.heights.shape == (100, 200) and seen.step == pytest.approx(0.2)
    _, y = seen.middles()
    in_slot = np.abs(y - 10.0) < 2.8
    inner = seen.heights[:, 1:-1]                                       # the sides of the block cross their cells
    assert inner[in_slot] == pytest.approx(7.0, abs=1e-5)
    assert inner[1:-1][np.abs(y - 10.0)[1:-1] > 3.2] == pytest.approx(10.0, abs=1e-5)
    assert seen.heights[in_slot].sum() * 0.04 == pytest.approx(7.0 * 40.0 * 5.6, rel=1e-3)


def test_a_cut_through_leaves_nothing() -> None:
    stock = Stock.block((20.0, 20.0, 5.0))
    cut(stock, along((10, 10, 6.0), (10, 10, -1.0)), Cutter.end_mill(6.0))
    seen = standing(stock, (0.0, 0.0), (20.0, 20.0))
    bare = np.isnan(seen.heights).sum() * seen.step**2
    assert bare == pytest.approx(np.pi * 9.0, rel=0.05)


def test_edges_run_where_the_height_changes() -> None:
    stock = Stock.block((40.0, 20.0, 10.0))
    cut(stock, along((-5, 10, 7.0), (45, 10, 7.0)), Cutter.end_mill(6.0))
    seen = standing(stock, (0.0, 0.0), (40.0, 20.0))
    long = [line for line in seen.edges() if abs(line[0][0] - line[1][0]) > 30.0]
    at = sorted({round(line[0][1], 3) for line in long})
    assert at[0] == pytest.approx(0.0, abs=0.01) and at[-1] == pytest.approx(20.0, abs=0.01)
    assert any(abs(y - 7.0) <= seen.step for y in at) and any(abs(y - 13.0) <= seen.step for y in at)
    assert not any(8.0 < y < 12.0 for y in at)


def test_a_large_piece_has_no_more_squares() -> None:
    stock = Stock.block((300.0, 100.0, 5.0), cell=0.5)
    assert max(standing(stock, (0.0, 0.0), (300.0, 100.0)).heights.shape) == SQUARES
