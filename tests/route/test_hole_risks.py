"""What can go wrong with the drills of a lone hole."""

from __future__ import annotations

import math

import pytest

from firstoff.checks._drills import Drill
from firstoff.route.asked_hole import hole_asked
from firstoff.route.drills import DrillStep, drill_step, feed_of
from firstoff.route.hole_bench import Bench
from firstoff.route.hole_risks import drill_remarks, drill_risks, p_walks, slope_risk
from firstoff.route.meant import Meant
from firstoff.route.quick_hole import quick_hole
from firstoff.route.risk import Risk
from firstoff.shop.library import load_shop

SHOP = load_shop(None)
RPM = math.pi / 30.0


def bench(material: str = "al_6082", machine: str = "drill_press") -> Bench:
    return Bench(SHOP, SHOP.machines[machine], SHOP.materials[material])


def row(diameter: float, where: Bench) -> tuple[DrillStep, ...]:
    return (drill_step(SHOP, where.machine, where.material, Drill(diameter)),)


def risks(diameter: float, material: str = "al_6082", deep: float | None = 10.0, thick: float = 0.0) -> list[Risk]:
    where = bench(material)
    return list(drill_risks(where, row(diameter, where), deep, thick))


@pytest.mark.parametrize(("thick", "told"), [(1.0, True), (2.3, True), (2.5, False), (20.0, False),
                                             (math.inf, False)])
def test_a_sheet_thinner_than_the_point_is_told(thick: float, told: bool) -> None:
    """An 8 mm drill of 118 degrees has a point of 8 / (2 tan 59) = 2.4 mm."""
    found = [risk for risk in risks(8.0, thick=thick) if "thinner than the point" in risk.what]
    assert bool(found) == told
    assert all(risk.p is None and "boards" in risk.instead and "2.4 mm" in risk.what for risk in found)


def test_a_blind_hole_does_not_come_out() -> None:
    assert not any("comes out" in risk.what for risk in risks(8.0))
    assert any("comes out" in risk.what for risk in risks(8.0, thick=math.inf))


def test_a_hole_deeper_than_the_flutes_is_told() -> None:
    """3.5 mm by 60 mm: a usual drill of it has 39 mm of flute (iso235)."""
    assert any("flutes" in risk.what for risk in risks(3.5, deep=60.0))
    assert not any("flutes" in risk.what for risk in risks(3.5, deep=30.0) + risks(3.5, deep=None))


def test_where_a_spot_is_no_use_none_is_advised() -> None:
    steel, plastic = (next(r for r in risks(5.0, metal) if "without a spot" in r.what)
                      for metal in ("s275_hot_rolled", "acetal"))
    assert steel.p is not None and steel.p > 0.2 and "from a spot: rarer" in steel.instead
    assert plastic.p is not None and plastic.p <= SHOP.good and not plastic.instead


def test_a_deep_hole_runs_off_from_a_spot_too() -> None:
    deep = next(r for r in risks(6.0, "c45", 60.0) if "without a spot" in r.what)
    assert "runs off" in deep.instead and "both sides" in deep.instead
    where = bench("c45")
    led = [p_walks(where, row(6.0, where)[0], depth, guided=True) for depth in (5.0, 20.0, 60.0)]
    assert led == sorted(led) and led[0] < SHOP.good


def test_a_speed_of_ones_own_that_burns_and_a_feed_that_rubs_are_told() -> None:
    where = bench("s275_hot_rolled")
    usual = row(10.0, where)[0]
    fast, thin = usual._replace(turn=2500.0 * RPM), usual._replace(feed=0.2 * feed_of(where.material, 10.0))
    hole = hole_asked("10", "mm")
    assert any("turn it slower" in text for text in drill_remarks(where, hole, [fast], 10.0))
    assert any("it rubs" in text for text in drill_remarks(where, hole, [thin], 10.0))
    assert not any("slower" in text or "it rubs" in text for text in drill_remarks(where, hole, [usual], 10.0))


def skids(degrees: float, material: str = "s275_cold_drawn") -> list[Risk]:
    where = bench(material)
    return list(slope_risk(where, row(4.0, where)[0], math.radians(degrees)))


def test_a_drill_skids_down_a_slope_the_more_the_steeper() -> None:
    assert skids(0.0) == skids(0.9) == []
    chances = [skids(angle)[0].p or 0.0 for angle in (1.5, 3.0, 6.0, 15.0, 40.0)]
    assert chances == sorted(chances) and chances[0] < 0.9 and chances[-1] == 1.0
    assert "flat first" in skids(15.0)[0].instead


def test_from_half_the_angle_that_the_point_leaves_a_lip_touches_first() -> None:
    """118 degrees leave 31 on each side."""
    assert "a lip" not in skids(30.9)[0].what and "a lip" in skids(31.1)[0].what


def test_one_go_is_told_what_a_pilot_would_bring() -> None:
    where = bench("s275_hot_rolled")
    alone = next(iter(drill_risks(where, row(12.0, where), None, 0.0)))
    assert alone.p is not None and alone.p > 0.2 and "first: about 1 in" in alone.instead


@pytest.mark.parametrize(("drill", "told"), [(5.95, "it rubs"), (5.2, "chatters"), (5.7, "")])
def test_what_an_own_drill_leaves_a_reamer(drill: float, told: str) -> None:
    """6 H7 in stainless: 0.2 to 0.3 on the diameter, and a drill cuts 0.05 over its size."""
    where = bench("stainless_304")
    remarks = drill_remarks(where, hole_asked("6 H7", "mm"), row(drill, where), drill)
    text = next(text for text in remarks if "reamer" in text)
    assert told in text and (bool(told) or "leaves" not in text)


def test_cast_iron_is_drilled_dry_also_where_the_spindle_is_fast() -> None:
    where = bench("cast_iron_gg25", "light_gantry")
    told = drill_remarks(where, hole_asked("4", "mm"), row(4.0, where), 4.0)
    fast = next(text for text in told if "slowest speed" in text)
    assert "oil" not in fast


def test_another_machine_of_the_shop_is_named_where_this_one_is_likely_to_stall() -> None:
    """M8 in steel: a gantry's spindle has next to no torque at its slowest speed, and no lighter feed helps."""
    found = quick_hole(SHOP, hole_asked("M8", "mm"), Meant("light_gantry"), Meant("s275_hot_rolled"), 12.0, False)
    named = [risk.instead for risk in found.risks if "would stall the spindle" in risk.what]
    assert named and any("mill, which holds and drives it" in instead for instead in named)
