from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from firstoff.checks._life import BOOK_ARC
from firstoff.checks._past import past_of
from firstoff.checks.base import Case
from firstoff.checks.drilling import CHECK, blunt_load, pilot_of
from firstoff.part.shapes import Feature
from tests.checks.builders import belief, block, case, chance, found, knobs_say, operation, rises, setting, shop, tool

HOLE = Feature("hole-1", "hole", (6,), size={"diameter": 4.0, "depth": 12.0})
KIT = shop(drill13=tool(name="drill 13 mm", kind="drill", material="hss", diameter="13 mm", flutes=2,
                        flute_length="100 mm", overall_length="150 mm", point_angle="118 deg"))


def drilled(name: str = "drill4", feed: float = 0.03, speed: int = 1400) -> Case:
    op = operation(features=["hole-1"], role="drill", tool=name, cut={
        "spindle_speed": f"{speed} rpm", "feed_per_tooth": f"{feed} mm", "depth_of_cut": "0 mm"})
    return case(op=op, part=block(HOLE), in_shop=KIT, place=setting(machine="press"))


def test_large_drill_on_a_fast_step_bad_on_purpose() -> None:
    finding = found(CHECK, drilled("drill13", 0.15, 2500))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "stall" in finding.because and "2500 rpm" in finding.because


def test_small_drill_just_good() -> None:
    assert chance(CHECK, drilled()) <= 0.01


def test_chance_rises_with_feed() -> None:
    rises(CHECK, [drilled("drill13", feed) for feed in (0.02, 0.08, 0.2)])


def test_torque_is_the_lips_force_on_half_the_radius() -> None:
    demand = found(CHECK, drilled(), belief(discrepancy_drilling__factor=1.0)).demand
    assert demand is not None
    chip = 0.03 * 0.857167                          # [mm] sin 59 degrees
    force = 1780.0 * chip**-0.2                     # [N/mm2]
    if found(CHECK, drilled()).unit == "N m":
        assert demand.median == pytest.approx(force * 0.06 * 16.0 / 8.0 * 1e-3, rel=0.02)
    else:
        assert demand.median > 0.0


def test_faster_step_has_less_torque() -> None:
    slow, fast = (found(CHECK, drilled("drill13", 0.1, speed)).capacity for speed in (500, 2500))
    assert slow is not None and fast is not None and fast.median < slow.median


def test_a_hole_that_was_drilled_before_is_a_pilot_and_that_of_another_part_is_none() -> None:
    cut = {"spindle_speed": "500 rpm", "feed_per_tooth": "0.05 mm", "depth_of_cut": "0 mm"}
    ops = {"op": operation(number=20, features=["hole-1"], role="drill", tool="drill13", cut=cut),
           "pilot": operation(number=10, features=["hole-1"], role="drill", tool="drill4", cut=cut)}
    here, there = setting(machine="press"), setting(machine="press", workpiece="lid")
    bored = case(ops=ops, part=block(HOLE), in_shop=KIT, settings={"first": here})
    ops["pilot"] |= {"setting": "other"}
    solid = case(ops=ops, part=block(HOLE), in_shop=KIT, settings={"first": here, "other": there})
    assert (pilot_of(bored), pilot_of(solid)) == (4.0, 0.0)
    assert "over a pilot of 4 mm" in found(CHECK, bored).because
    rises(CHECK, [bored, solid])


def test_a_lighter_feed_is_told_as_a_person_gives_it() -> None:
    by_arm = knobs_say(CHECK, drilled())["cut.feed_per_tooth"]
    assert all("lean lighter: 10 mm in about" in text for text in by_arm)
    cut = {"spindle_speed": "3000 rpm", "feed_per_tooth": "0.03 mm", "depth_of_cut": "0 mm"}
    op = operation(features=["hole-1"], role="drill", tool="drill4", cut=cut)
    at_mill = case(op=op, part=block(HOLE), in_shop=KIT)
    assert all(" a turn, not 0.06 mm" in text for text in knobs_say(CHECK, at_mill)["cut.feed_per_tooth"])


def test_no_speed_cannot_be_told() -> None:
    this = drilled()
    bare = this.op.model_copy(update={"cut": this.op.cut.model_copy(update={"spindle_speed": None})})
    from dataclasses import replace

    assert found(CHECK, replace(this, operation=bare)).p_rows is None
    assert 1400 * pi / 30 == pytest.approx(this.op.cut.spindle_speed)


def test_a_drill_that_has_drilled_before_asks_for_more() -> None:
    """By the land of its lips; a fresh one asks as a new one does, and the finding's key knows what was before."""
    def thrust(this: Case) -> float:
        return float(np.median(blunt_load(this, belief()).thrust))

    now = drilled()
    past = replace(past_of(now), speed=0.4, edge_time=2.0 * BOOK_ARC * 3600.0, fresh=False)
    worn, fresh = replace(now, before=(past,)), replace(now, before=(replace(past, tool="another"),))
    assert thrust(worn) > 1.05 * thrust(now) and thrust(fresh) == thrust(now)
    assert CHECK.feels_wear and chance(CHECK, worn) > chance(CHECK, now)
