"""How the sheets say things."""

from __future__ import annotations

import math
from typing import get_args

import pytest

from firstoff.job.route import Direction, Role
from firstoff.sheets.words import (
    DIRECTION,
    ROLES,
    THUMB,
    axis_name,
    burr,
    exactly,
    half_depth,
    if_it_sings,
    if_it_slows,
    roughly,
    settings_of_cut,
    slower,
    table_feed,
)
from tests.sheets import made

ROUTE, SHOP = made.route(), made.shop()
FACE, DRILL, TAP = (ROUTE.operations[key] for key in ("step-1 face_rough", "holes drill", "holes tap"))
MILL = SHOP.machines["mill"]


def test_every_role_and_direction_has_words() -> None:
    assert set(ROLES) == set(get_args(Role)) and set(DIRECTION) == set(get_args(Direction))


def test_table_feed_is_speed_times_teeth_times_feed_per_tooth() -> None:
    feed = table_feed(FACE.cut, SHOP.tools["em10"])
    assert feed is not None and feed * 60 == pytest.approx(1900 * 3 * 0.03)
    assert table_feed(TAP.cut, SHOP.tools["m4"]) is None


def test_a_drill_is_told_its_feed_per_turn_and_a_cutter_per_tooth() -> None:
    assert dict(settings_of_cut(DRILL, SHOP.tools["d33"], "mm"))["per turn"] == "0.05 mm"
    assert dict(settings_of_cut(FACE, SHOP.tools["em10"], "mm"))["per tooth"] == "0.03 mm"
    assert dict(settings_of_cut(FACE, SHOP.tools["em10"], "in"))["feed"] == "6.7 in/min"


def test_a_feed_by_arm_is_told_as_time() -> None:
    by_arm = dict(settings_of_cut(DRILL, SHOP.tools["d33"], "mm", by_arm=True))
    assert not any("/min" in text for label, text in by_arm.items() if label != "speed")
    feed = table_feed(DRILL.cut, SHOP.tools["d33"])
    assert feed is not None and by_arm["feed by arm"] == f"10 mm in about {math.ceil(10.0 / feed)} s"
    assert "feed by arm" not in dict(settings_of_cut(FACE, SHOP.tools["em10"], "mm", by_arm=True))


def test_a_depth_of_a_hole_is_told_as_a_stop_is_set() -> None:
    cut = DRILL.cut.model_copy(update={"depth_of_cut": 25.202, "width_of_cut": 1.65})
    deep = DRILL.model_copy(update={"cut": cut})
    told = dict(settings_of_cut(deep, SHOP.tools["d33"], "mm"))
    assert told["deep"] == "25.2 mm" and "wide" not in told
    assert dict(settings_of_cut(deep, SHOP.tools["d33"], "in"))["deep"] == "0.992 in"


def test_directions_of_the_model() -> None:
    assert axis_name((0.0, 0.0, -1.0)) == "-Z"
    tilt = math.radians(22.0)
    assert axis_name((-math.sin(tilt), 0.0, math.cos(tilt))) == "22.0° from +Z"


def test_burrs_stand_where_the_cutter_leaves() -> None:
    assert "comes out" in burr(DRILL, through=True) and "mouth" in burr(DRILL, through=False)
    assert "far edge" in burr(FACE, through=False)


def test_the_next_slower_step_of_the_belt() -> None:
    assert slower(FACE, MILL) == "down to 1400 rpm" and slower(TAP, MILL) == ""


def test_computed_advice_goes_before_the_rule_of_thumb() -> None:
    assert if_it_sings(FACE, MILL, ["0.2 mm deep, not 0.5 mm"], "mm") == "0.2 mm deep, not 0.5 mm"
    known = if_it_sings(FACE, MILL, [], "mm", "try 6100 rpm, else 0.1 mm deep")
    assert known == "try 6100 rpm, else 0.1 mm deep"
    assert if_it_sings(FACE, MILL, ["0.2 mm wide"], "mm", "try 6100 rpm") == "0.2 mm wide; or try 6100 rpm"
    general = if_it_sings(FACE, MILL, [], "mm")
    assert "0.25 mm" in general and "1400 rpm" in general and THUMB in general
    assert "peck 1.5 mm" in if_it_slows(DRILL, [], "mm") and if_it_slows(TAP, [], "mm") == ""
    assert half_depth(TAP, "mm") == ""


def test_sizes_to_measure_keep_their_digits() -> None:
    assert (exactly(24.0, "mm"), exactly(25.4, "in")) == ("24.000 mm", "1.0000 in")
    assert (roughly(12.34, "mm"), roughly(25.4, "in")) == ("12.3 mm", "1 in")
