"""Where a lone hole is drilled: drills that there are, how deep they go, sizes as people tell them."""

from __future__ import annotations

from itertools import pairwise

import pytest

from firstoff.route.hole_bench import INCH_SET, SET, Bench
from firstoff.shop.library import load_shop
from firstoff.shop.models import Shop

SHOP = load_shop(None)


def bench(material: str = "al_6082", shop: Shop = SHOP) -> Bench:
    return Bench(shop, shop.machines["drill_press"], shop.materials[material])


INCHES = bench(shop=SHOP.model_copy(update={"units": "in"}))


def test_who_listed_no_drills_has_a_set_by_halves_or_by_32nds() -> None:
    assert bench().sizes == SET and INCHES.sizes == INCH_SET
    assert set(INCH_SET) <= set(INCHES.has)


def test_before_a_reamer_there_are_tenths_or_a_drawer_of_inch_drills() -> None:
    assert 3.8 in bench().before_reaming
    assert any(size == pytest.approx(25.4 * 0.238, abs=1e-3) for size in INCHES.before_reaming)


def test_flutes_get_longer_with_the_drill() -> None:
    sizes = [0.8, 1.3, 2.2, 3.1, 7.7, 9.3, 12.7]          # none of the library's own
    assert all(a < b for a, b in pairwise(bench().reach(size) for size in sizes))
    # iso235: 12.7 mm has 101 mm of flute, 7.7 mm has 75
    assert bench().reach(12.7) == pytest.approx(101.0, rel=0.06)
    assert bench().reach(7.7) == pytest.approx(75.0, rel=0.06)
    own = SHOP.tools["drill_6"]
    assert bench().reach(6.0) == own.flute_length


def test_a_spot_drill_as_wide_as_the_hole_or_the_widest() -> None:
    assert [bench().spot(size) for size in (1.0, 3.0, 4.2, 12.0)] == [3.0, 3.0, 6.0, 6.0]
    assert INCHES.spot(5.0) == pytest.approx(6.35)


def test_what_an_unknown_bar_may_be_adds_up() -> None:
    assert sum(share for _, share in bench("unknown_bar").kinds()) == pytest.approx(1.0)
    assert [share for _, share in bench().kinds()] == [1.0]


def test_sizes_as_they_are_told() -> None:
    assert bench().size(4.2) == "4.2 mm" and INCHES.size(6.35) == "1/4 in"
    assert bench().fine(0.0504) == "0.05 mm" and INCHES.fine(0.0504) == "0.002 in"
