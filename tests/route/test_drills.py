"""A drill gets a speed and feed that the machine takes."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import pytest

from firstoff.checks._drills import BY_HAND, PUSH, STALL, TWIST, Drill, Way, book_load
from firstoff.route.cuts import Removal, first_cut
from firstoff.route.drills import (
    BETWEEN,
    ENOUGH,
    FEEDS,
    NARROWEST,
    SLOWEST,
    bearable,
    borne,
    drill_for_reamer,
    drill_step,
    follows,
    in_order,
    pilots_for,
    reamer_takes,
    slowness,
    worst,
)
from firstoff.shop.library import load_shop
from tests.route.made import shop

SHOP: Final = shop()
RPM: Final = math.pi / 30.0
MILL, PRESS = SHOP.machines["mill"], SHOP.machines["press"]
DRILL, STEEL = SHOP.tools["drill_4_5"], SHOP.materials["s275_hot_rolled"]


def chances(speed_part: float = 1.0) -> tuple[float, float]:
    usual = first_cut(PRESS, DRILL, STEEL, "drill", Removal(6.0))
    cut = borne(SHOP, PRESS, DRILL, STEEL, usual)
    told = []
    for one in (usual, cut):
        assert one.spindle_speed is not None and one.feed_per_tooth is not None
        feed = one.feed_per_tooth * DRILL.flutes
        told.append(book_load(SHOP, PRESS, STEEL, Drill.of(DRILL), feed, one.spindle_speed).p)
    return told[0], told[1]


def test_a_weak_press_takes_a_slower_step_or_a_lighter_feed() -> None:
    usual, chosen = chances()
    assert chosen < 0.5 * usual


def test_an_arm_eases_where_a_machine_goes_on() -> None:
    """A belt that may slip holds back nobody who feeds by arm; what may break the drill does, and a machine."""
    stalls = book_load(SHOP, PRESS, STEEL, Drill(4.2), 0.05, 1400.0 * RPM)
    assert {way.name for way in stalls.ways if way.p > ENOUGH} == {STALL, BY_HAND}
    assert stalls.p <= SHOP.close and bearable(SHOP, PRESS, stalls)
    mill = stalls._replace(ways=tuple(way._replace(name=PUSH) if way.name == BY_HAND else way for way in stalls.ways))
    assert not bearable(SHOP, MILL, mill)
    brittle = stalls._replace(ways=(*stalls.ways, Way(TWIST, 1.0, 2.0, 0.02)))
    assert not bearable(SHOP, PRESS, brittle)


def test_a_hole_for_a_thread_is_drilled_as_one_drills() -> None:
    """4.2 mm in mild steel on the small press: 22 s for 10 mm at 900 /min made people laugh."""
    starter = load_shop(None)
    step = drill_step(starter, starter.machines["drill_press"], starter.materials["s275_hot_rolled"], Drill(4.2))
    assert 10.0 / (step.feed * step.turn / (2.0 * math.pi)) < 12.0
    assert step.load.p <= starter.close


def test_it_stays_a_cut_that_a_drill_makes() -> None:
    usual = first_cut(PRESS, DRILL, STEEL, "drill", Removal(6.0))
    cut = borne(SHOP, PRESS, DRILL, STEEL, usual)
    assert usual.spindle_speed and usual.feed_per_tooth and cut.spindle_speed and cut.feed_per_tooth
    assert PRESS.spindle is not None and cut.spindle_speed in PRESS.spindle.steps
    assert cut.spindle_speed >= SLOWEST * usual.spindle_speed
    assert cut.feed_per_tooth >= 0.99 * min(FEEDS) * usual.feed_per_tooth


def test_a_strong_machine_keeps_the_usual_cut() -> None:
    strong = SHOP.machines["press"].model_copy(update={"axis_thrust": None})
    assert strong.spindle is not None
    power = strong.spindle.power.model_copy(update={"value": 1e5})
    book = SHOP.classes[strong.like]
    assert book.axis_thrust is not None
    firm = strong.model_copy(update={"spindle": strong.spindle.model_copy(update={"power": power}),
                                     "axis_thrust": book.axis_thrust.model_copy(update={"value": 1e6})})
    aluminium, thick = SHOP.materials["al_6082"], SHOP.tools["drill_5_5"]
    usual = first_cut(firm, thick, aluminium, "drill", Removal(6.0))
    chosen = borne(SHOP, firm, thick, aluminium, usual)
    assert chosen.spindle_speed == usual.spindle_speed


def test_nothing_to_bear_without_a_spindle() -> None:
    still = PRESS.model_copy(update={"spindle": None})
    usual = first_cut(PRESS, DRILL, STEEL, "drill", Removal(6.0))
    assert borne(SHOP, still, DRILL, STEEL, usual) == usual
    ways = book_load(SHOP, still, STEEL, Drill.of(DRILL), 0.05, 1.0).ways
    assert "stall the spindle" not in {way.name for way in ways}


def test_a_material_that_nobody_has_a_figure_of_keeps_the_usual_cut() -> None:
    unknown = STEEL.model_copy(update={"drilling_force": None})
    usual = first_cut(PRESS, DRILL, unknown, "drill", Removal(6.0))
    assert borne(SHOP, PRESS, DRILL, unknown, usual).spindle_speed == usual.spindle_speed


def test_a_row_of_drills_is_as_short_as_it_can_be() -> None:
    starter = load_shop(None)
    press, steel = starter.machines["drill_press"], starter.materials["s275_hot_rolled"]
    sizes = [0.5 * i for i in range(4, 27)]
    small, large = (in_order(starter, press, steel, Drill(size), sizes, starter.close) for size in (4.0, 10.0))
    assert [step.diameter for step in small] == [4.0]
    assert 2 <= len(large) <= 3 and large[-1].diameter == 10.0
    alone = drill_step(starter, press, steel, Drill(10.0))
    assert worst(large) < 0.6 * alone.load.p
    assert all(step.pilot == before.diameter for before, step in pairwise(large))
    assert all(step.pilot >= NARROWEST * step.diameter for step in large[1:])


def test_two_drills_that_are_enough_are_not_made_three() -> None:
    """6 mm in mild steel: a pilot brought 1 in 18 to 1 in 30, not far enough for `WORTH`, and three were told."""
    starter = load_shop(None)
    press, steel = starter.machines["drill_press"], starter.materials["s275_hot_rolled"]
    sizes = [0.5 * i for i in range(4, 27)]
    assert drill_step(starter, press, steel, Drill(6.0)).load.p > starter.close
    row = in_order(starter, press, steel, Drill(6.0), sizes, starter.close)
    assert len(row) == 2 and worst(row) <= starter.close
    ten = in_order(starter, press, steel, Drill(10.0), sizes, starter.close)
    assert len(ten) == 3 and worst(ten) <= starter.close, "where two are 'no good' and three are 'close'"


def test_without_smaller_drills_there_is_no_pilot() -> None:
    assert pilots_for(SHOP, PRESS, STEEL, DRILL, []) == []
    still = PRESS.model_copy(update={"spindle": None})
    assert pilots_for(SHOP, still, STEEL, DRILL, [2.0]) == []


def test_what_a_reamer_should_find() -> None:
    # fittercourse: to 5 mm 0.1 to 0.2, to 20 mm 0.2 to 0.3, half more in light metal; a drill cuts 0.05 over size
    assert reamer_takes(4.0, STEEL) == (0.1, 0.2)
    assert reamer_takes(10.0, STEEL) == (0.2, 0.3)
    assert reamer_takes(4.0, SHOP.materials["al_6082"]) == pytest.approx((0.15, 0.3))
    assert drill_for_reamer(4.0, STEEL, [3.5, 3.8, 3.9]) == 3.8
    assert drill_for_reamer(4.0, STEEL, []) == pytest.approx(3.8)


def test_no_feed_is_planned_that_the_machine_does_not_follow() -> None:
    """6 mm in hardwood on the light gantry: 767 mm/min were told to a table that follows 750."""
    starter = load_shop(None)
    gantry = starter.machines["light_gantry"]
    most = follows(starter, gantry)
    assert math.isfinite(most) and not math.isfinite(follows(starter, starter.machines["drill_press"]))
    for material, size in (("hardwood", 6.0), ("hardwood", 3.0), ("acetal", 4.0), ("al_6082", 2.5)):
        step = drill_step(starter, gantry, starter.materials[material], Drill(size))
        assert step.turn * step.feed / (2.0 * math.pi) <= most * 1.0001
    book = starter.classes["light_gantry"].table_speed
    assert book is not None
    slow = gantry.model_copy(update={"table_speed": book.model_copy(update={"value": 1.0})})
    step = drill_step(starter, slow, starter.materials["hardwood"], Drill(6.0))
    assert gantry.spindle is not None and step.turn == pytest.approx(gantry.spindle.slowest)
    assert step.turn * step.feed / (2.0 * math.pi) <= 0.5001


def test_of_rows_that_are_borne_the_quickest_is_taken() -> None:
    """8 mm in 6082 over 3.5 mm took 14 s for 20 mm where over 5 mm it takes 10."""
    starter = load_shop(None)
    press, metal = starter.machines["drill_press"], starter.materials["al_6082"]
    sizes = [0.5 * i for i in range(6, 27)]
    found = in_order(starter, press, metal, Drill(8.0), sizes, starter.close)
    assert len(found) == 2 and worst(found) <= starter.close
    for pilot in sizes:
        if NARROWEST * 8.0 <= pilot < 7.2:
            other = (drill_step(starter, press, metal, Drill(pilot)),
                     drill_step(starter, press, metal, Drill(8.0), pilot))
            borne_too = all(bearable(starter, press, step.load) for step in other)
            tried = any(abs(pilot - share * 8.0) <= 0.25 for share in (NARROWEST, *BETWEEN))
            assert not (borne_too and tried) or slowness(found) <= slowness(other) * 1.0001
