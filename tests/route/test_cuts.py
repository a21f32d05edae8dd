"""First cuts: closed forms of speed and feed, and what a careful person would never set."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.dryrun.nominal import table_speed
from firstoff.job.route import Role
from firstoff.route.cuts import (
    LEAST_CARE,
    ROUGH,
    STIFF,
    UNDER_SCALE,
    Removal,
    care,
    coolant,
    direction,
    direction_note,
    first_cut,
    spindle_speed,
    usual_speed,
)
from firstoff.route.way_round import Band
from firstoff.shop.models import Machine, MachineFigures
from firstoff.tomlfile import KEPT
from firstoff.units import parse
from tests.route.made import shop

TURN = parse("1 rpm", "rotation")
SHOP = shop()
MILL, PRESS = SHOP.machines["mill"], SHOP.machines["press"]
GANTRY = SHOP.classes["light_gantry"]
STEEL, ALUMINIUM = SHOP.materials["s275_hot_rolled"], SHOP.materials["al_6082"]


def changed(machine: Machine, **values: Any) -> Machine:
    return Machine.model_validate({**machine.model_dump(exclude_unset=True), **values}, context=KEPT)


def test_cutting_speed_is_kept() -> None:
    tool = SHOP.tools["end_mill_6_3f"]
    speed = spindle_speed(MILL, tool, ALUMINIUM, "side_rough")
    v = ALUMINIUM.cutting_speed.carbide
    assert v is not None
    assert speed * tool.diameter / 2.0 == pytest.approx(usual_speed(ALUMINIUM, "carbide"), rel=0.02)
    assert usual_speed(ALUMINIUM, "carbide") == pytest.approx(1000.0 * v.value)


@pytest.mark.parametrize(("tool", "steps"), [("drill_4_5", 1900), ("drill_3_3", 2500), ("countersink_10", 500)])
def test_the_next_lower_belt_step(tool: str, steps: int) -> None:
    role: Role = "countersink" if tool.startswith("counter") else "drill"
    assert spindle_speed(PRESS, SHOP.tools[tool], STEEL, role) == pytest.approx(steps * TURN)


def test_of_a_machine_whose_spindle_nobody_wrote_down_no_speed_is_made_up() -> None:
    press = PRESS.model_copy(update={"spindle": None})
    cut = first_cut(press, SHOP.tools["drill_4_5"], STEEL, "drill", Removal(10.0))
    assert cut.spindle_speed is None and cut.feed_per_tooth is None


@pytest.mark.parametrize("material", sorted(SHOP.materials))
@pytest.mark.parametrize("tool", ["end_mill_3_2f", "end_mill_10_3f", "ball_6"])
def test_within_the_machine(material: str, tool: str) -> None:
    role: Role = "form" if tool.startswith("ball") else "side_rough"
    cut = first_cut(MILL, SHOP.tools[tool], SHOP.materials[material], role, Removal(6.0, 2.0), GANTRY)
    assert MILL.spindle is not None and cut.spindle_speed is not None and cut.feed_per_tooth is not None
    assert MILL.spindle.slowest <= cut.spindle_speed <= MILL.spindle.fastest
    fastest = table_speed(MILL, GANTRY)
    feed = cut.spindle_speed / (2.0 * math.pi) * SHOP.tools[tool].flutes * cut.feed_per_tooth
    assert feed <= fastest * 1.001 or cut.spindle_speed == MILL.spindle.slowest


@given(st.floats(0.2, 30.0), st.floats(0.1, 10.0), st.sampled_from(sorted(ROUGH)))
def test_passes_are_equal_and_enough(depth: float, width: float, role: Role) -> None:
    tool = SHOP.tools["end_mill_10_3f"]
    cut = first_cut(MILL, tool, STEEL, role, Removal(depth, width), GANTRY)
    assert cut.depth_of_cut is not None and cut.width_of_cut is not None
    number = math.ceil(depth / cut.depth_of_cut - 1e-6)
    assert depth <= number * cut.depth_of_cut < depth + 0.011 * number
    assert cut.depth_of_cut <= tool.flute_length
    assert 0.0 < cut.width_of_cut <= tool.diameter


@pytest.mark.parametrize("bow", [0.1, 0.3, 0.4])
def test_the_first_pass_goes_beneath_the_scale(bow: float) -> None:
    cut = first_cut(MILL, SHOP.tools["end_mill_10_3f"], STEEL, "face_rough", Removal(1.3, 0.0, bow), GANTRY)
    assert cut.depth_of_cut is not None
    assert cut.depth_of_cut >= bow + UNDER_SCALE - 1e-9


def test_a_weak_machine_takes_less_in_proportion() -> None:
    def stiff(value: float) -> MachineFigures:
        table = {axis: {"value": value, "factor": 2.0, "source": "measured"} for axis in "xyz"}
        return MachineFigures.model_validate({"stiffness": table}, context=KEPT)

    bare = changed(MILL, stiffness=None)
    assert care(bare, stiff(STIFF)) == 1.0
    assert care(bare, stiff(STIFF / 4.0)) == pytest.approx(0.25)
    assert care(bare, stiff(STIFF / 1e4)) == LEAST_CARE
    assert care(bare, None) == LEAST_CARE


def test_a_slot_has_no_choice_of_way() -> None:
    tool = SHOP.tools["end_mill_6_3f"]
    assert direction("slot", MILL, GANTRY, tool, STEEL, Band(0.03, 1.0, 6.0)) == "slot"
    cut = first_cut(MILL, tool, STEEL, "slot", Removal(2.0), GANTRY)
    assert direction_note(MILL, GANTRY, tool, STEEL, cut) == ""


def test_the_way_round_is_explained() -> None:
    tool = SHOP.tools["end_mill_6_3f"]
    cut = first_cut(MILL, tool, STEEL, "side_rough", Removal(5.0, 1.0), GANTRY)
    assert cut.direction == "conventional"
    note = direction_note(MILL, GANTRY, tool, STEEL, cut)
    assert note.startswith("conventional pushes back; a climb cut would pull the table with about")


def test_a_tap_goes_its_pitch_each_turn() -> None:
    tap = SHOP.tools["tap_m4"]
    cut = first_cut(PRESS, tap, ALUMINIUM, "tap", Removal(9.0), pitch=0.7)
    assert cut.feed_per_tooth is not None and cut.spindle_speed is None
    assert cut.feed_per_tooth * tap.flutes == pytest.approx(0.7, abs=1e-3)


def test_deep_holes_are_pecked() -> None:
    drill = SHOP.tools["drill_3_8"]
    assert first_cut(PRESS, drill, STEEL, "drill", Removal(5.0), None).peck_depth is None
    assert first_cut(PRESS, drill, STEEL, "drill", Removal(24.0), None).peck_depth == 4.0


def test_rows_of_a_ball_leave_the_cusp_that_is_said() -> None:
    ball = SHOP.tools["ball_8"]
    cut = first_cut(MILL, ball, ALUMINIUM, "form", Removal(0.15), GANTRY)
    assert cut.width_of_cut is not None
    radius = ball.diameter / 2.0
    assert radius - math.sqrt(radius**2 - (cut.width_of_cut / 2.0) ** 2) == pytest.approx(0.010, rel=0.05)


@pytest.mark.parametrize(("material", "role", "what"), [
    ("cast_iron_gg25", "drill", "dry"), ("al_6082", "side_rough", "brushed"), ("brass_cz121", "side_rough", "dry"),
    ("s275_hot_rolled", "ream", "brushed"),
])
def test_what_goes_on_the_cut(material: str, role: Role, what: str) -> None:
    assert coolant(SHOP.materials[material], role) == what
