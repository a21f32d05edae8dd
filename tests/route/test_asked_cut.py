"""What is asked of a lone cut: names that exist, numbers that can be set; all else is refused with what is right."""

from __future__ import annotations

import math
from typing import Any

import pytest

from firstoff.errors import InputError, NameUnknown
from firstoff.route.asked_cut import Wanted, bench_of, must_be_possible, option
from firstoff.shop.library import load_shop
from firstoff.shop.models import Shop

SHOP = load_shop(None)
RPM = math.pi / 30.0


def wanted(**changed: Any) -> Wanted:
    return Wanted(**{"machine": "small_column", "tool": "end_mill_6_3f", "material": "al_6082", **changed})


def refused(shop: Shop = SHOP, **changed: Any) -> InputError:
    asked = wanted(**changed)
    with pytest.raises(InputError) as caught:
        must_be_possible(bench_of(shop, asked), asked)
    assert caught.value.where.startswith("--") and caught.value.right
    return caught.value


@pytest.mark.parametrize(("name", "value", "meant"), [
    ("machine", "small_colum", "small_column"), ("tool", "end_mil_6_3f", "end_mill_6_3f"),
    ("material", "al6082", "al_6082"),
])
def test_a_wrong_name_is_told_the_right_one(name: str, value: str, meant: str) -> None:
    error = refused(SHOP, **{name: value})
    assert isinstance(error, NameUnknown) and meant in str(error) and error.where == f"--{name}"


@pytest.mark.parametrize(("changed", "said"), [
    ({"depth": -1.0}, "--depth: -1 mm can be neither set nor asked (0.001 mm to 1000 mm, or"),
    ({"width": 0.0}, "--width: 0 mm can be"), ({"depth": 1e-30}, "--depth: 1e-30 mm can be"),
    ({"speed": 1e300}, "e+300 rpm can be"), ({"feed": math.nan}, "--feed: that can be"),
    ({"feed": math.inf}, "--feed: that can be"), ({"within": 1e9}, "--within: 1e+09 mm can be"),
    ({"roughness": -1e-3}, "--finish: -1 um can be neither set nor asked (0.01 um to 100 um, or"),
    ({"bow": 0.0}, "--raw"),
    ({"width": 6.5}, "cutter of 6 mm"), ({"depth": 60.0}, "flutes of"),
    ({"stickout": 80.0}, "long"), ({"stickout": 3.0}, "grips the flutes"),
    ({"speed": 9000.0 * RPM}, "this spindle turns 200 rpm to 5000 rpm"), ({"speed": 20.0 * RPM}, "this spindle"),
    ({"machine": "knee", "speed": 1000.0 * RPM}, "no step"), ({"direction": "sideways"}, "no direction"),
    ({"direction": "up"}, "conventional (up-milling)"), ({"coolant": "oil"}, "dry, air, mist, brushed, flood"),
    ({"direction": "climb", "width": 6.0}, "both directions"), ({"bow": 0.3}, "no rolling scale"),
    ({"machine": "drill_press"}, "does not mill (side load pulls a chuck off its taper; mills here: "),
    ({"machine": "hand_tools"}, "does not mill (mills here: "), ({"tool": "drill_5"}, "firstoff hole"),
    ({"machine": "light_gantry", "tool": "end_mill_16_hss"}, "grips a shank of 16 mm"),
    ({"machine": "light_gantry", "tool": "end_mill_16_hss"}, "it has collet 3 mm, collet 4 mm"),
])
def test_what_nothing_can_be_set_to_is_refused(changed: dict[str, Any], said: str) -> None:
    assert said in str(refused(**changed))


@pytest.mark.parametrize(("name", "meant"), [
    ("6mm", "end_mill_6_2f, end_mill_6_3f"), ("flat 10", "end_mill_10_2f"), ("5/16 in", "end_mill_8_2f"),
    ("endmill_6", "did you mean end_mill_6"), ("99 mm", "ball_6"), ("9" * 400, "ball_6"),
    ("1/0", "ball_6"), ("", "ball_6"),
])
def test_a_size_is_answered_with_the_cutters_of_that_size(name: str, meant: str) -> None:
    said = refused(tool=name)
    assert meant in said.right and "drill" not in said.right and "tap" not in said.right


def test_the_makers_rating_is_never_exceeded() -> None:
    rated = SHOP.tools["end_mill_6_3f"].model_copy(update={"rated_speed": 4000.0 * RPM})
    shop = SHOP.model_copy(update={"tools": {**SHOP.tools, "end_mill_6_3f": rated}})
    error = refused(shop, speed=4500.0 * RPM)
    assert "4000 rpm" in str(error) and "may burst" in str(error)


def test_a_class_stands_for_a_machine_of_which_nothing_is_known() -> None:
    own = SHOP.model_copy(update={"machines": {"mine": SHOP.machines["knee"].model_copy(update={
        "stiffness": SHOP.classes["knee"].stiffness})}})
    bench = bench_of(own, wanted(machine="small_column"))
    assert bench.unknown and bench.machine.spindle == SHOP.machines["small_column"].spindle
    assert bench.machine_name in bench.shop.machines
    assert not bench_of(own, wanted(machine="mine")).unknown, "its stiffness was written down"


def test_all_numbers_that_can_be_set_pass() -> None:
    asked = wanted(depth=2.0, width=3.0, speed=4000.0 * RPM, feed=5.0, direction="climb", stickout=20.0,
                   roughness=1.6e-3, within=0.03)
    must_be_possible(bench_of(SHOP, asked), asked)
    knee = wanted(machine="knee", speed=1115.0 * RPM)
    must_be_possible(bench_of(SHOP, knee), knee)
    assert option("bow") == "--raw"


@pytest.mark.parametrize(("changed", "said"), [
    ({"down": math.radians(3.0), "width": 2.0}, "takes its whole width"),
    ({"down": math.radians(3.0), "direction": "climb"}, "takes its whole width"),
    ({"down": math.radians(3.0), "roughness": 1.6e-3}, "takes its whole width"),
    ({"down": 2.0}, "can be neither set nor asked"), ({"down": 0.0}, "can be neither set nor asked"),
    ({"tool": "chamfer_6", "down": math.radians(3.0)}, "breaks an edge"),
    ({"tool": "chamfer_6", "direction": "climb"}, "breaks an edge"),
])
def test_ways_down_that_are_none_are_refused(changed: dict[str, Any], said: str) -> None:
    assert said in str(refused(SHOP, **changed))


def _with(shop: Shop) -> Shop:
    """The shop with a tapered cutter, tip 2 mm and 20 degrees, and a chamfer cutter of 60 degrees."""
    mill, chamfer = shop.tools["end_mill_6_3f"], shop.tools["chamfer_6"]
    return shop.model_copy(update={"tools": {
        **shop.tools, "taper": mill.model_copy(update={"point_angle": math.radians(20.0), "tip_diameter": 2.0}),
        "sharp": chamfer.model_copy(update={"point_angle": math.radians(60.0), "flute_length": 5.0})}})


@pytest.mark.parametrize(("changed", "said"), [
    ({"tool": "ball_6", "depth": 0.1, "width": 5.0}, "no more than 1.536 mm wide: it would leave ridges"),
    ({"tool": "taper", "depth": 1.0, "width": 6.0}, "no more than 2.353 mm wide"),
    ({"tool": "chamfer_6", "depth": 1.2, "width": 0.2}, "1.2 mm deep is 1.2 mm wide with the chamfer cutter"),
    ({"tool": "chamfer_6", "depth": 3.0}, "3 mm deep with a cone of 2.9 mm"),
    ({"tool": "sharp", "width": 0.5}, "say by --depth"),
    ({"tool": "sharp", "depth": 1.0, "width": 1.0}, "0.577 mm wide"),
])
def test_what_an_outline_cannot_take_is_refused(changed: dict[str, Any], said: str) -> None:
    assert said in str(refused(_with(SHOP), **changed))


def test_what_an_outline_takes_may_be_asked() -> None:
    for changed in ({"tool": "ball_6", "depth": 0.1, "width": 1.5}, {"tool": "taper", "depth": 1.0, "width": 2.3},
                    {"tool": "chamfer_6", "depth": 0.5, "width": 0.5}, {"tool": "sharp", "depth": 1.0}):
        asked = wanted(**changed)
        must_be_possible(bench_of(_with(SHOP), asked), asked)


def test_ways_down_and_edges_may_be_asked() -> None:
    for changed in ({"down": math.radians(3.0)}, {"down": math.pi / 2.0, "depth": 4.0},
                    {"tool": "chamfer_6", "depth": 0.5}, {"tool": "ball_6", "down": 0.1}):
        asked = wanted(**changed)
        must_be_possible(bench_of(SHOP, asked), asked)
