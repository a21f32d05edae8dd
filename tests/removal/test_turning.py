"""Turning over: what was cut from one side is there from the other, as exact, and can be cut on."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstoff.errors import OutOfRange
from firstoff.removal.cutters import Cutter
from firstoff.removal.cutting import cut
from firstoff.removal.moves import moves_of
from firstoff.removal.stock import Stock
from firstoff.removal.turning import Past, replay, turn_over
from tests.removal.paths import CUTTERS, along, arc

OVER_X = np.diag([1.0, -1.0, -1.0])             # turned over about x: its back to the front
SHIFT = np.array([0.0, 20.0, 10.0])
BLOCK = (30.0, 20.0, 10.0)
SLOT = ((5.0, 6.0, 7.0), (25.0, 6.0, 6.0), (25.0, 12.0, 6.5))


def over(stock: Stock, x: float, y: float) -> list[float]:
    """Ends of the intervals over a point."""
    return [end for interval in stock.intervals(x, y) for end in interval]


@pytest.mark.parametrize("name", CUTTERS)
def test_as_much_is_left_from_either_side(name: str) -> None:
    above, below = Stock.block(BLOCK), Stock.block(BLOCK)
    cut(above, along(*SLOT), CUTTERS[name])
    replay(below, [Past(along(*SLOT), CUTTERS[name], OVER_X, SHIFT)])
    assert 6000.0 - below.volume == pytest.approx(6000.0 - above.volume, rel=0.004)


def test_a_slot_from_below_is_where_it_was() -> None:
    stock = Stock.block(BLOCK)
    replay(stock, [Past(along((5, 6, 7.0), (25, 6, 7.0)), Cutter.end_mill(6.0), OVER_X, SHIFT)])
    assert over(stock, 15.0, 14.0) == pytest.approx([3.0, 10.0])
    assert over(stock, 15.0, 6.0) == pytest.approx([0.0, 10.0])


def test_a_cut_from_the_other_side_leaves_the_web_or_breaks_through() -> None:
    stock = Stock.block(BLOCK)
    replay(stock, [Past(along((5, 6, 7.0), (25, 6, 7.0)), Cutter.end_mill(6.0), OVER_X, SHIFT)])
    web = cut(stock, along((5, 14, 4.0), (25, 14, 4.0)), Cutter.end_mill(6.0))
    assert over(stock, 15.0, 14.0) == pytest.approx([3.0, 4.0])
    through = cut(stock, along((5, 14, 1.0), (25, 14, 1.0)), Cutter.end_mill(6.0))
    area = 20.0 * 6.0 + math.pi * 9.0
    assert web.volume.sum() == pytest.approx(area * 6.0, rel=0.004)
    assert through.volume.sum() == pytest.approx(area * 1.0, rel=0.01)
    assert stock.intervals(15.0, 14.0) == []


def test_a_setting_turned_about_the_cutter_s_axis() -> None:
    quarter = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    stock = Stock.block(BLOCK)
    replay(stock, [Past(along((5, -15, 7.0), (15, -15, 7.0)), Cutter.end_mill(6.0), quarter, np.zeros(3))])
    assert over(stock, 15.0, 10.0) == pytest.approx([0.0, 7.0])


def test_arcs_turn_with_the_rest() -> None:
    stock = Stock.block(BLOCK)
    ring = moves_of([arc((18, 10, 8.0), (12, 10, 8.0), (15, 10, 8.0))])      # over the side of greater y
    replay(stock, [Past(ring, Cutter.end_mill(2.0), OVER_X, SHIFT)])
    assert over(stock, 15.0, 7.0) == pytest.approx([2.0, 10.0])
    assert over(stock, 15.0, 13.0) == pytest.approx([0.0, 10.0])


def test_over_and_back_is_as_before() -> None:
    stock = Stock.block(BLOCK)
    rods = stock.rods.copy()
    turn_over(stock)
    turn_over(stock)
    assert stock.rods == pytest.approx(rods)


@pytest.mark.parametrize("turn", [np.eye(3) * 2.0, np.zeros((2, 2))])
def test_what_is_no_turn_is_refused(turn: np.ndarray) -> None:
    with pytest.raises(OutOfRange):
        replay(Stock.block(BLOCK), [Past(along(*SLOT), CUTTERS["flat"], turn, SHIFT)])


FRONT = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])      # cut from the front: its z looks to -y


def test_a_slot_from_the_side_is_a_hollow_in_the_rods() -> None:
    stock = Stock.block(BLOCK)
    replay(stock, [Past(along((-5, 5, -6.0), (35, 5, -6.0)), Cutter.end_mill(4.0), FRONT, np.zeros(3))])
    assert stock.intervals(15.0, 3.0) == [pytest.approx((7.0, 10.0)), pytest.approx((0.0, 3.0))]
    assert over(stock, 15.0, 8.0) == pytest.approx([0.0, 10.0])
    assert 6000.0 - stock.volume == pytest.approx(30.0 * 6.0 * 4.0, rel=0.003)


@pytest.mark.parametrize("name", CUTTERS)
def test_as_much_is_left_from_the_side(name: str) -> None:
    """Along, down and aslant: as when it was cut in its own setting."""
    path = along((5, 5, 1.0), (5, 5, -2.0), (25, 5, -2.0), (25, 7, -3.0), (10, 4, -3.0))
    upright, lying = Stock.block((30.0, 10.0, 20.0), (0.0, 0.0, -20.0)), Stock.block(BLOCK)
    cut(upright, path, CUTTERS[name])
    replay(lying, [Past(path, CUTTERS[name], FRONT, np.zeros(3))])
    assert 6000.0 - lying.volume == pytest.approx(6000.0 - upright.volume, rel=0.01)


def test_a_hole_from_the_side_and_a_cut_through_it_from_above() -> None:
    stock = Stock.block(BLOCK)
    replay(stock, [Past(along((15, 5, 1.0), (15, 5, -20.5)), Cutter.end_mill(6.0), FRONT, np.zeros(3))])
    assert 6000.0 - stock.volume == pytest.approx(math.pi * 9.0 * 20.0, rel=0.003)
    windows = cut(stock, along((15, -5, 5.0), (15, 25, 5.0)), Cutter.end_mill(4.0))
    assert over(stock, 15.0, 10.0) == pytest.approx([0.0, 2.0], abs=0.01)
    half = math.asin(2.0 / 3.0)
    hollow = 20.0 * (9.0 * half + 2.0 * math.sqrt(5.0))         # of the hole, over a width of 4 and above its axis
    assert windows.volume.sum() == pytest.approx(20.0 * 4.0 * 5.0 - hollow, rel=0.01)


def test_from_the_side_comes_last_whatever_was_first() -> None:
    side = Past(along((-5, 5, -6.0), (35, 5, -6.0)), Cutter.end_mill(4.0), FRONT, np.zeros(3))
    below = Past(along(*SLOT), CUTTERS["flat"], OVER_X, SHIFT)
    one, other = Stock.block(BLOCK), Stock.block(BLOCK)
    replay(one, [side, below])
    replay(other, [below, side])
    assert one.volume == pytest.approx(other.volume, abs=1e-9)
