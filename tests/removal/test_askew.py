"""What was cut at an angle: as much is off as in its own setting, and just where the cutter went."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from firstoff.removal.cutters import Cutter
from firstoff.removal.cutting import cut
from firstoff.removal.stock import Stock
from firstoff.removal.turning import Past, replay, rounds_of
from tests.removal.paths import CUTTERS, along

BLOCK = (30.0, 20.0, 10.0)
SLOT = ((5.0, 6.0, 7.0), (25.0, 6.0, 6.0), (25.0, 12.0, 6.5))
SHIFT = np.array([1.0, 2.0, 3.0])
OVER = np.diag([1.0, -1.0, -1.0])
UNDERCUT = {"T-slot": Cutter.t_slot(8.0, 2.0, 4.0), "dovetail": Cutter.dovetail(8.0, 3.0, 4.0)}


def tilted(degrees: float) -> np.ndarray:
    """Turned about y."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])


def about(axis: tuple[float, float, float], degrees: float) -> np.ndarray:
    """Turned about any axis."""
    x, y, z = np.array(axis) / np.linalg.norm(axis)
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    angle = math.radians(degrees)
    turn: np.ndarray = np.eye(3) + math.sin(angle) * cross + (1.0 - math.cos(angle)) * cross @ cross
    return turn


def inside(cutter: Cutter, away: np.ndarray, height: np.ndarray) -> np.ndarray:
    """How far inside a cutter points lie, by their distance from its axis and height above its tip [mm]."""
    if cutter.neck == 0.0:
        above = height - cutter.height(np.minimum(away, cutter.radius))
        return np.asarray(np.minimum(cutter.radius - away, above))
    narrows = cutter.length - cutter.land
    share = np.clip((height - cutter.land) / narrows, 0.0, 1.0) if narrows > 0.0 else 0.0
    wide = cutter.radius - (cutter.radius - cutter.neck) * share - away
    return np.asarray(np.minimum(wide, np.minimum(height, cutter.length - height)))


@pytest.mark.parametrize("turn", [tilted(22.0), OVER @ tilted(22.0), tilted(-60.0), about((1.0, 2.0, 0.5), 35.0)],
                         ids=["22", "22 from below", "60", "any"])
@pytest.mark.parametrize("name", [*CUTTERS, *UNDERCUT])
def test_as_much_is_left_as_in_its_own_setting(name: str, turn: np.ndarray) -> None:
    cutter = {**CUTTERS, **UNDERCUT}[name]
    upright, askew = Stock.block(BLOCK), Stock.askew((0.0, 0.0, 0.0), BLOCK, turn, SHIFT)
    cut(upright, along(*SLOT), cutter)
    replay(askew, [Past(along(*SLOT), cutter, turn, SHIFT)])
    assert 6000.0 - askew.volume == pytest.approx(6000.0 - upright.volume, rel=0.006)


def test_a_rod_ends_on_the_floor_of_the_slot() -> None:
    """The floor at 7 of the block's own height, wherever a rod comes down through the slot."""
    turn = tilted(22.0)
    stock = Stock.askew((0.0, 0.0, 0.0), BLOCK, turn, SHIFT)
    replay(stock, [Past(along((-5.0, 8.0, 7.0), (35.0, 8.0, 7.0)), Cutter.end_mill(6.0), turn, SHIFT)])
    for x, y in ((12.0, 8.0), (20.0, 6.5), (15.0, 10.0)):
        point = turn @ np.array([x, y, 7.0]) + SHIFT
        low, high = stock.intervals(point[0], point[1])[0]
        cell = 0.1 * math.tan(math.radians(22.0))       # a rod stands up to half a cell beside the point, aslant
        assert high == pytest.approx(point[2], abs=cell)
        own = (np.array([point[0], point[1], low]) - SHIFT) @ turn
        assert own[2] == pytest.approx(0.0, abs=0.1)
    beside = turn @ np.array([15.0, 14.0, 10.0]) + SHIFT
    assert stock.intervals(beside[0], beside[1])[0][1] == pytest.approx(beside[2], abs=0.05)


@pytest.mark.parametrize("name", [*CUTTERS, *UNDERCUT])
def test_every_point_is_off_just_where_the_cutter_went(name: str) -> None:
    """Against trying the tool at many places of its way: points nearer to its outline than a cell are left out."""
    cutter, turn = {**CUTTERS, **UNDERCUT}[name], about((0.3, 1.0, 0.2), 40.0)
    stock = Stock.askew((0.0, 0.0, 0.0), BLOCK, turn, SHIFT)
    replay(stock, [Past(along(*SLOT), cutter, turn, SHIFT)])
    points = np.random.default_rng(3).uniform((1.0, 1.0, 1.0), (29.0, 19.0, 9.0), (2000, 3))
    tips = np.concatenate([np.linspace(a, b, 400) for a, b in pairwise(SLOT)])
    off = np.full(len(points), -np.inf)
    for tip in tips:
        off = np.maximum(off, inside(cutter, np.hypot(*(points - tip)[:, :2].T), (points - tip)[:, 2]))
    clear = np.abs(off) > 0.15
    placed = points @ turn.T + SHIFT
    there = np.array([any(low <= z <= high for low, high in stock.intervals(x, y)) for x, y, z in placed])
    assert (there[clear] == (off[clear] < 0.0)).all()
    assert (off[clear] > 0.0).sum() > 20


def test_a_cut_goes_on_where_an_earlier_setting_left_off() -> None:
    """A bed at 22°: stairs cut from above, then the bed in the tilted setting takes only what stands over it."""
    turn = tilted(-22.0)
    stock = Stock.askew((0.0, 0.0, 0.0), BLOCK, turn, SHIFT)
    whole = stock.volume
    replay(stock, [Past(along((5.0, -5.0, 4.0), (5.0, 25.0, 4.0)), Cutter.end_mill(6.0), turn, SHIFT)])
    assert whole - stock.volume == pytest.approx(6.0 * 20.0 * 6.0, rel=0.004)
    before = stock.volume
    z = float((turn @ np.array([5.0, 10.0, 4.0]) + SHIFT)[2])
    windows = cut(stock, along((-20.0, 12.0, z), (40.0, 12.0, z)), Cutter.end_mill(4.0))
    assert windows.volume.sum() == pytest.approx(before - stock.volume, rel=1e-4)
    assert windows.volume.sum() > 100.0


def test_a_stack_of_rounds_is_as_large_as_its_cutter() -> None:
    for cutter in CUTTERS.values():
        rounds, hull = rounds_of(cutter, 0.1)
        assert hull == 1.0 and rounds[:, 0].max() == pytest.approx(cutter.radius)
        assert (np.diff(rounds[:, 0]) >= 0.0).all() and (np.diff(rounds[:, 1]) >= 0.0).all()
    teeth, hull = rounds_of(UNDERCUT["T-slot"], 0.1)
    assert hull == 0.0 and teeth.tolist() == [[4.0, 0.0, 2.0]]
    teeth, _ = rounds_of(UNDERCUT["dovetail"], 0.1)
    volume = (math.pi * teeth[:, 0]**2 * (teeth[:, 2] - teeth[:, 1])).sum()
    assert volume == pytest.approx(math.pi * (16.0 + 8.0 + 4.0), rel=0.001)


def test_a_block_at_an_angle_is_as_large_as_upright() -> None:
    for turn in (tilted(22.0), about((1.0, 1.0, 1.0), 50.0), OVER @ tilted(45.0)):
        stock = Stock.askew((1.0, 2.0, 3.0), (31.0, 22.0, 13.0), turn, SHIFT)
        assert stock.volume == pytest.approx(6000.0, rel=1e-3)
        corners = [[x, y, z] for x in (1.0, 31.0) for y in (2.0, 22.0) for z in (3.0, 13.0)] @ turn.T + SHIFT
        assert stock.ceiling == pytest.approx(corners[:, 2].max(), abs=0.15)


def test_upright_it_is_the_same_block() -> None:
    one, other = Stock.block(BLOCK, (1.0, 2.0, 3.0)), Stock.askew((0.0, 0.0, 0.0), BLOCK, np.eye(3), SHIFT)
    assert np.abs(one.rods - other.rods).max() == 0.0 and one.floor == other.floor
