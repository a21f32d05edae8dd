"""What the tool runs into: found where it is, not where it is not, against points tried one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.removal.collisions import Box, Ring, collide, rapids_in_material, rings_of
from firstoff.removal.cutters import Cutter
from firstoff.removal.cutting import Cutting, cut
from firstoff.removal.moves import Kind
from firstoff.removal.stock import Stock
from tests.removal.paths import along

TOOL = rings_of(Cutter.end_mill(6.0, length=15.0), 25.0, 3.0, (10.0, 12.0), (20.0, 40.0))
JAW = Box("jaw", (0.0, 30.0, 0.0), (100.0, 50.0, 40.0))
PLACE = st.floats(-20.0, 20.0)
POINT = st.tuples(PLACE, PLACE, PLACE)


@settings(deadline=None, max_examples=200)
@given(POINT, POINT, st.floats(0.0, 3.1), st.floats(0.5, 8.0))
def test_against_points_tried_one_by_one(
    start: tuple[float, float, float], end: tuple[float, float, float], turn: float, radius: float,
) -> None:
    box, ring = Box("clamp", (-6.0, -3.0, -4.0), (6.0, 3.0, 4.0), turn), Ring("nut", radius, 2.0, 5.0)
    share = np.linspace(0.0, 1.0, 4001)[:, None]
    x, y, z = (np.array(start) + (np.array(end) - np.array(start)) * share).T
    c, s = math.cos(turn), math.sin(turn)
    away = np.hypot(np.maximum(np.abs(x * c + y * s) - 6.0, 0.0), np.maximum(np.abs(y * c - x * s) - 3.0, 0.0))
    inside = (away < radius) & (z + 2.0 < 4.0) & (z + 5.0 > -4.0)
    hits = collide(along(start, end), [ring], [box])
    if inside.any():
        assert len(hits) == 1 or np.minimum(radius - away, np.minimum(2.0 - z, z + 9.0))[inside].max() < 1e-3
    for hit in hits:
        first = np.linalg.norm(np.array(hit.place) - np.array(start))
        if inside.any():
            tried = np.linalg.norm(np.array([x, y, z])[:, inside.argmax()] - np.array(start))
            assert first == pytest.approx(tried, abs=0.05)
        else:
            assert hit.depth < 0.05


def test_a_nut_in_a_jaw_and_how_deep() -> None:
    hits = collide(along((50, 10, 10), (50, 22, 10)), TOOL, [JAW])
    assert [(hit.ring, hit.box, hit.line) for hit in hits] == [("nut", "jaw", 1)]
    assert hits[0].depth == pytest.approx(2.0) and hits[0].place[1] == pytest.approx(20.0)


def test_a_cutter_that_goes_over_is_told_nothing() -> None:
    assert collide(along((50, 10, 41), (50, 60, 41)), TOOL, [JAW]) == []


def test_a_plunge_below_the_parallels() -> None:
    parallels = Box("parallels", (0.0, 0.0, -20.0), (100.0, 5.0, -10.0))
    hits = collide(along((50, 2, 5), (50, 2, -11.5)), TOOL[:1], [parallels])
    assert hits[0].ring == "cutter" and hits[0].depth == pytest.approx(1.5)
    assert hits[0].place[2] == pytest.approx(-10.0)


def test_a_tip_that_is_not_flat_is_held_by_its_steps() -> None:
    rings = rings_of(Cutter.ball(6.0, length=15.0), 25.0, 3.0, (10.0, 12.0), (20.0, 40.0))
    wall = Box("stop", (0.0, 2.0, -10.0), (10.0, 4.0, 0.5))
    hits = collide(along((-5, 0.0, 0.0), (15, 0.0, 0.0)), rings, [wall])
    assert hits == []               # where it is half a millimetre high the ball is 1.66 from its axis
    assert collide(along((-5, 0.6, 0.0), (15, 0.6, 0.0)), rings, [wall])[0].ring == "cutter"


def test_rapids_in_material() -> None:
    stock = Stock.block((40.0, 20.0, 10.0))
    fast = cut(stock, along((-6, 10, 8.0), (30, 10, 8.0), kind=Kind.RAPID, feed=0.0), Cutter.end_mill(6.0))
    found = rapids_in_material(fast)
    assert found is not None and found.volume.sum() == pytest.approx(fast.volume.sum())
    again = cut(stock, along((-6, 10, 8.0), (30, 10, 8.0), kind=Kind.RAPID, feed=0.0), Cutter.end_mill(6.0))
    assert rapids_in_material(again) is None


def test_a_nut_that_comes_down_on_the_stock() -> None:
    """15 mm out of the nut, 18 deep into a block: the nut is 3 in; a slot that is deep enough lets it by."""
    stock = Stock.block((40.0, 40.0, 30.0))
    rings = rings_of(Cutter.end_mill(6.0, length=15.0), 15.0, 3.0, (10.0, 12.0), (20.0, 40.0))
    work = Cutting(stock, Cutter.end_mill(6.0, length=15.0), rings=rings)
    list(work.along(along((20, 20, 40), (20, 20, 20), (30, 20, 20), (30, 20, 12))))
    assert [(hit.line, hit.ring, hit.box) for hit in work.hits] == [(3, "nut", "stock")]
    assert work.hits[0].depth == pytest.approx(3.0, abs=1e-4)
    assert work.hits[0].place[2] < 15.1


def test_a_thick_shank_against_a_wall() -> None:
    stock = Stock.block((40.0, 40.0, 30.0))
    cutter = Cutter.end_mill(6.0, length=5.0)
    shank = Ring("shank", 4.0, 5.0, 25.0)
    work = Cutting(stock, cutter, rings=[shank])
    list(work.along(along((-10, 1, 22), (50, 1, 22))))
    assert [(hit.line, hit.ring) for hit in work.hits] == [(1, "shank")] and work.hits[0].depth == pytest.approx(3.0)
    free = Cutting(Stock.block((40.0, 40.0, 30.0)), cutter, rings=[shank])
    list(free.along(along((-10, 1, 25.5), (50, 1, 25.5))))
    assert free.hits == []
