"""Drills by book figures: balances, order, mixtures, and what is not known."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._drills import (
    BY_HAND,
    STALL,
    TWIST,
    Drill,
    book_load,
    over,
    oversize,
    told_by_what_lasts,
    twist_off,
)
from firstoff.errors import OutOfRange
from firstoff.normal import normal_cdf
from firstoff.shop.library import load_shop

SHOP = load_shop(None)
PRESS, STEEL = SHOP.machines["drill_press"], SHOP.materials["s275_hot_rolled"]
FIVE_HUNDRED = 52.36    #: [rad/s]


def test_ten_mm_through_mild_steel_stalls_a_small_press_in_one_go() -> None:
    found = book_load(SHOP, PRESS, STEEL, Drill(10.0), 0.12, FIVE_HUNDRED)
    assert found.torque == pytest.approx(4.8, rel=0.1)
    stall = next(way for way in found.ways if way.name == STALL)
    assert stall.bears == pytest.approx(245 / FIVE_HUNDRED, rel=1e-3) and stall.p > 0.4


def test_over_a_pilot_it_does_not() -> None:
    ps = [book_load(SHOP, PRESS, STEEL, Drill(10.0), 0.12, FIVE_HUNDRED, pilot).p for pilot in (0.0, 2.0, 5.0, 7.5)]
    assert ps == sorted(ps, reverse=True) and ps[-1] < 0.5 * ps[0]


def test_an_arm_gives_the_feed_of_a_press_and_a_motor_that_of_a_mill() -> None:
    names = [{way.name for way in book_load(SHOP, SHOP.machines[m], STEEL, Drill(5.0), 0.05, 100.0).ways}
             for m in ("drill_press", "light_gantry")]
    assert names[0] == {STALL, TWIST, BY_HAND}
    assert names[1] == {STALL, TWIST, "stall the feed"}


def test_a_mixture_lies_between_what_it_may_be() -> None:
    mixed = book_load(SHOP, PRESS, SHOP.materials["unknown_bar"], Drill(6.0), 0.06, 100.0)
    each = [book_load(SHOP, PRESS, SHOP.materials[m], Drill(6.0), 0.06, 100.0)
            for m in SHOP.materials["unknown_bar"].one_of]
    assert min(e.torque for e in each) < mixed.torque < max(e.torque for e in each)
    assert min(e.p for e in each) < mixed.p < max(e.p for e in each)
    assert mixed.log_sd > min(e.log_sd for e in each)


def test_strength_of_a_drill_goes_with_the_cube() -> None:
    assert twist_off(3.4e9, 6.0) == pytest.approx(8.0 * twist_off(3.4e9, 3.0))


def test_a_material_without_a_figure_is_refused() -> None:
    with pytest.raises(OutOfRange, match="no figure for drilling"):
        book_load(SHOP, PRESS, STEEL.model_copy(update={"drilling_force": None}), Drill(6.0), 0.06, 100.0)


def test_a_drill_cuts_wide_of_its_size() -> None:
    # machinery: half an inch comes out 0.002 + 0.005 x 0.5 in wide of its size, 0.005 + 0.005 x 0.5 in at most
    usual, most = oversize(12.7)
    assert usual == pytest.approx(0.0045 * 25.4, abs=1e-3) and most == pytest.approx(0.0075 * 25.4, abs=1e-3)


def test_what_lasts_says_good_or_no_good_as_rows_would() -> None:
    """Against 200,000 rows: each has one metal and one machine, and its own chance from what is new each time."""
    rng = np.random.default_rng(3)
    for asked, lasting, scatter in ((1.0, 0.5, 0.1), (0.5, 0.7, 0.3), (2.0, 0.3, 0.2)):
        rows = normal_cdf((np.log(asked / 1.2) + lasting * rng.standard_normal(200_000)) / scatter)
        good, bad = told_by_what_lasts(asked, 1.2, lasting, scatter, SHOP)
        assert good == pytest.approx(np.mean(rows <= SHOP.good), abs=0.004)
        assert bad == pytest.approx(np.mean(rows > SHOP.close), abs=0.004)
        assert np.mean(rows) == pytest.approx(over(asked, 1.2, np.hypot(lasting, scatter)), abs=0.004)
    assert told_by_what_lasts(0.0, 1.0, 0.5, 0.1, SHOP) == (1.0, 0.0)


def test_a_mixture_is_told_by_what_it_may_be() -> None:
    mixed = book_load(SHOP, PRESS, SHOP.materials["unknown_bar"], Drill(10.0), 0.09, FIVE_HUNDRED)
    assert all(0.0 <= way.good <= 1.0 and 0.0 <= way.bad <= 1.0 and way.good + way.bad <= 1.0 for way in mixed.ways)
