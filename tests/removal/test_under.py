"""Cutters wider than their neck: T-slots, keyseats and dovetails against closed forms; overhangs stay."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from firstoff.errors import OutOfRange
from firstoff.removal.collisions import rings_of
from firstoff.removal.cutters import Cutter
from firstoff.removal.cutting import Cutting, cut
from firstoff.removal.stock import Stock
from firstoff.removal.turning import Past, replay
from tests.published import agrees
from tests.removal.paths import along

TEE = Cutter.t_slot(12.0, 3.0, 5.0)
TAIL = Cutter.dovetail(12.0, 4.0, 6.0)
SIZE = (60.0, 30.0, 12.0)


def slotted(width: float = 6.0, depth: float = 6.0) -> Stock:
    """A block with a slot along its middle."""
    stock = Stock.block(SIZE)
    cut(stock, along((-10, 15, 12.0 - depth), (70, 15, 12.0 - depth)), Cutter.end_mill(width))
    return stock


def test_t_slot() -> None:
    stock = slotted()
    before = stock.volume
    windows = cut(stock, along((-10, 15, 6.0), (70, 15, 6.0)), TEE)
    agrees("removal", "T-slot 12 × 3 under a slot of 6 mm", "own", 60.0 * 6.0 * 3.0, before - stock.volume, "mm3",
           within=0.005)
    assert windows.volume.sum() == pytest.approx(60.0 * 6.0 * 3.0, rel=0.005)
    inner = windows.take((windows.s0 > 20.0) & (windows.s1 < 60.0))
    assert inner.volume == pytest.approx(18.0 * (inner.s1 - inner.s0), rel=0.02)
    assert inner.slices.volume.sum() == pytest.approx(inner.volume.sum(), rel=0.005)
    assert stock.intervals(30.0, 19.5) == [pytest.approx((9.0, 12.0)), pytest.approx((0.0, 6.0))]
    assert stock.intervals(30.0, 15.0) == [pytest.approx((0.0, 6.0))]


def test_keyseat_from_the_side_it_is_plunged_into() -> None:
    """Straight into a wall: a round segment, of the head's height."""
    stock = Stock.block(SIZE)
    before = stock.volume
    cut(stock, along((-7, 15, 6.0), (-4, 15, 6.0)), TEE)
    half = math.acos(4.0 / 6.0)
    segment = 36.0 * (half - math.sin(half) * math.cos(half))
    agrees("removal", "segment 2 mm deep by a keyseat cutter 12 × 3", "own", 3.0 * segment, before - stock.volume,
           "mm3", within=0.01)


def test_dovetail() -> None:
    stock = slotted()
    before = stock.volume
    windows = cut(stock, along((-10, 15, 6.0), (70, 15, 6.0)), TAIL)
    agrees("removal", "dovetail 12 mm wide at its floor, 4 high, under a slot of 6 mm", "own", 60.0 * 3.0 * 4.0,
           before - stock.volume, "mm3", within=0.005)
    low, high = stock.intervals(30.0, 19.0)
    assert high == pytest.approx((0.0, 6.0)) and low == pytest.approx((6.0 + 4.0 * 2.0 / 3.0, 12.0), abs=0.1)
    inner = windows.take((windows.s0 > 20.0) & (windows.s1 < 60.0))
    assert inner.slices.chip_max.max() <= inner.feed_per_tooth.max() * 4.0 / 5.0 + 1e-12      # its flank lies so


@pytest.mark.parametrize("rise", [0.2, -0.2])
def test_a_rising_head_leaves_a_rising_roof(rise: float) -> None:
    stock = slotted()
    cut(stock, along((-10, 15, 6.0 - 40.0 * rise * 0.1), (70, 15, 6.0 + 40.0 * rise * 0.1)), TAIL)
    steps = np.linspace(-10.0, 70.0, 4001)
    for x, y in ((20.0, 19.0), (40.0, 11.5), (30.0, 18.4)):
        away = np.hypot(steps - x, y - 15.0)
        near = away < 6.0
        tip = 6.0 + (steps - 30.0) * rise * 0.1
        roof = (tip + np.minimum(4.0, 4.0 * (6.0 - away) / 3.0))[near].max()
        assert stock.intervals(x, y)[0][0] == pytest.approx(roof, abs=0.1)
        assert stock.intervals(x, y)[-1][1] == pytest.approx(min(6.0 if abs(y - 15) < 2.9 else 9e9, tip[near].min()),
                                                             abs=0.01)


@pytest.mark.parametrize("cutter", [TEE, TAIL], ids=["t_slot", "dovetail"])
@pytest.mark.parametrize("rise", [0.0, 0.02])
def test_short_steps_cut_what_the_whole_way_does(cutter: Cutter, rise: float) -> None:
    """Only what a step reaches anew is looked at on a level way; made again without that, the stock is the same."""
    points = [(5.0 + 0.02 * k, 15.0 + 3.0 * math.sin(k / 60), 4.0 + rise * math.sin(k / 25)) for k in range(1800)]
    quick, whole = Stock.block(SIZE), Stock.block(SIZE)
    cut(quick, along(*points), cutter)
    replay(whole, [Past(along(*points), cutter, np.eye(3), np.zeros(3))])
    assert quick.volume == pytest.approx(whole.volume, rel=1e-9)
    for x, y in np.random.default_rng(5).uniform((0.0, 5.0), (60.0, 25.0), (300, 2)):
        assert np.allclose(quick.intervals(x, y), whole.intervals(x, y), atol=1e-5)


def test_a_neck_that_finds_no_room_is_a_hit() -> None:
    guards = rings_of(TEE, 25.0, 4.0, (0.0, 0.0), (0.0, 0.0))
    for stock, found in ((Stock.block(SIZE), True), (slotted(), False)):
        work = Cutting(stock, TEE, rings=guards)
        list(work.along(along((-10, 15, 6.0), (70, 15, 6.0))))
        assert any(hit.ring == "neck" for hit in work.hits) == found


def test_many_hollows_find_room() -> None:
    stock = slotted()
    room = len(stock.links)
    cut(stock, along((-10, 15, 6.0), (70, 15, 6.0)), TEE)
    assert len(stock.links) > room and stock.links[-1] > room


def test_seen_from_the_other_side() -> None:
    """What an undercut took off is off after turning over, wherever in the order it was cut."""
    stock = slotted()
    moves = along((-10, 15, 6.0), (70, 15, 6.0))
    cut(stock, moves, TEE)
    turn, shift = np.diag([1.0, -1.0, -1.0]), np.array([0.0, 30.0, 12.0])
    slot = along((-10, 15, 6.0), (70, 15, 6.0))
    for upside, order in ((True, 1), (True, -1), (False, 1)):
        pasts = [Past(slot, Cutter.end_mill(6.0), turn if upside else np.eye(3), shift if upside else np.zeros(3)),
                 Past(moves, TEE, turn if upside else np.eye(3), shift if upside else np.zeros(3))][::order]
        other = Stock.block(SIZE)
        replay(other, pasts)
        assert other.volume == pytest.approx(stock.volume, rel=0.001)
        ends = other.intervals(30.0, 19.5)
        assert ends == ([pytest.approx((6.0, 12.0)), pytest.approx((0.0, 3.0))] if upside
                        else [pytest.approx((9.0, 12.0)), pytest.approx((0.0, 6.0))])


def test_a_neck_as_wide_as_its_teeth_is_none() -> None:
    with pytest.raises(OutOfRange, match="neck"):
        Cutter.t_slot(12.0, 3.0, 12.0)
    with pytest.raises(OutOfRange, match="neck"):
        replace(TEE, length=math.inf)
