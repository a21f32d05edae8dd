from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks._past import past_of
from firstoff.checks._push import (
    WAYS,
    after_passes,
    corner_left,
    engagement_of,
    left_on,
    operation_case,
    sides,
    stands_back,
    wall_left,
)
from tests.checks.builders import belief, case, operation, windows


def test_climb_leaves_on_and_conventional_cuts_too_deep() -> None:
    """A keen edge on a wide cut: climb pushes the cutter off the wall, conventional pulls it in."""
    keen = belief(material_steel__radial_edge=1.0, material_steel__tangential_edge=1.0, material_steel__radial=1e7)
    climb, conventional = (
        left_on(case(op=operation(cut={"direction": way, "width_of_cut": "3 mm", "depth_of_cut": "6 mm"})), keen,
                "wall") for way in ("climb", "conventional"))
    assert climb is not None and conventional is not None
    assert np.median(climb) > 0.0 > np.median(conventional)


def test_a_light_cut_is_pushed_off_either_way_by_its_edge() -> None:
    for way in ("climb", "conventional"):
        off = left_on(case(op=operation(cut={"direction": way, "width_of_cut": "0.2 mm"})), belief(), "wall")
        assert off is not None and np.median(off) > 0.0


def test_a_helix_pulls_the_tool_into_the_floor() -> None:
    floor = left_on(case(), belief(), "floor")
    assert floor is not None and np.all(floor < 0.0)


def test_push_off_is_force_over_stiffness() -> None:
    soft, stiff = (left_on(case(), belief(machine_mill__stiffness_z=k), "floor") for k in (1e6, 2e6))
    assert soft is not None and stiff is not None and soft == pytest.approx(2.0 * stiff)


def test_teeth_that_come_as_the_machine_swings_push_it_off_further() -> None:
    """At a tenth of its pace it is a spring; at its own pace it goes twice as far."""
    heavy = belief(machine_mill__mode_frequency=2.0 * np.pi * 100.0, machine_mill__mode_damping=0.02)
    pace = 100.0 * 60.0 / case().tool.flutes
    slow, same = (left_on(case(op=operation(cut={"spindle_speed": f"{rpm} rpm", "width_of_cut": "0.5 mm"})), heavy,
                          "wall") for rpm in (0.1 * pace, pace))
    assert slow is not None and same is not None
    assert np.median(np.abs(same)) > 1.8 * np.median(np.abs(slow))


def test_a_wall_square_to_the_stiffer_axis_keeps_less_than_one_of_which_no_way_is_told() -> None:
    soft_x = belief(machine_mill__stiffness_x=1e6, machine_mill__stiffness_y=20e6)
    slow = case(op=operation(cut={"spindle_speed": "60 rpm"}))
    along_x, along_y, any_way = (left_on(slow, soft_x, "wall", way) for way in (*WAYS, None))
    assert along_x is not None and along_y is not None and any_way is not None
    assert np.median(along_x) < 0.3 * np.median(along_y)
    assert any_way == pytest.approx(along_y)


def test_what_is_cut_by_role() -> None:
    assert sides(case(op=operation(role="face_finish"))) == ("floor",)
    assert sides(case(op=operation(role="side_finish"))) == ("wall",)
    assert sides(case(op=operation(role="pocket_finish"))) == ("wall", "floor")


def test_a_cut_that_is_not_written_out() -> None:
    bare = case(op=operation(removes="0 mm") | {"cut": {"spindle_speed": "6000 rpm"}})
    assert engagement_of(bare) is None and left_on(bare, belief(), "wall") is None


def test_an_operation_seen_from_a_limit() -> None:
    this = operation_case(case("limit", "height", ops={"op": operation()}), "op")
    assert this.subject == "operation" and this.setting_name == "first" and this.op.number == 10


def test_a_wall_leans_with_the_tool_and_the_machine_shares_in_it() -> None:
    this = case(op=operation(role="side_finish", cut={"depth_of_cut": "8 mm", "width_of_cut": "0.3 mm"}))
    engagement = engagement_of(this)
    assert engagement is not None
    stiff = belief(machine_mill__stiffness_x=1e12, machine_mill__stiffness_y=1e12, collet_er6__stiffness=1e12)
    alone, whole = wall_left(this, stiff, engagement), wall_left(this, belief(), engagement)
    assert np.all(alone.mean < whole.mean)
    assert np.median(alone.left_on[:, 0]) > np.median(alone.left_on[:, -1])


def test_a_corner_takes_more_than_a_straight() -> None:
    straight = windows(5.0, 0.3, direction="climb")
    turned = replace(straight, entry=straight.entry - np.pi / 4, corner=np.ones(3, dtype=np.bool_))
    op = operation(role="pocket_finish", cut={"depth_of_cut": "5 mm", "width_of_cut": "0.3 mm"})
    at_corner, before = corner_left(case(op=op, cut=turned), belief()), left_on(case(op=op), belief(), "wall")
    assert at_corner is not None and before is not None and np.median(at_corner) > np.median(before)
    assert corner_left(case(op=op), belief()) is None
    # a program turns in the air, too, and where it makes no wall: those corners leave nothing
    air = replace(turned, depth=np.array([0.0, 5.0, 5.0]), entry=np.array([0.0, 0.0, turned.entry[2]]),
                  exit=np.array([0.0, 1.0, np.pi]))
    again = corner_left(case(op=op, cut=air), belief())
    assert again is not None and np.allclose(again, at_corner)
    nowhere = replace(air, corner=np.array([True, True, False]))
    assert corner_left(case(op=op, cut=nowhere), belief()) is None


def test_a_spring_pass_leaves_less() -> None:
    op = operation(role="side_finish", leaves="0 mm", cut={"depth_of_cut": "8 mm", "width_of_cut": "0.3 mm"})
    left = after_passes(case(op=op), belief(), 3)
    assert left is not None
    assert np.all(np.diff(left, axis=1) <= 1e-12) and np.median(left[:, 0]) > 2.0 * np.median(left[:, 1])


def test_a_worn_cutter_cuts_smaller_and_an_operation_knows_what_was_before_it() -> None:
    """The land of its flank times the tangent of its relief is left on the wall, beside what the force adds."""
    past = replace(past_of(case()), fresh=False, edge_time=1e5)
    worn = replace(case(), before=(past,))
    back, none = stands_back(worn, belief()), stands_back(case(), belief())
    assert np.all(none == 0.0) and np.all(back > 0.0)
    cut = engagement_of(worn)
    assert cut is not None
    assert np.all(wall_left(worn, belief(), cut).mean > wall_left(case(), belief(), cut).mean + 0.5 * back)
    seen = operation_case(replace(case("limit", "height", ops={"op": operation()}),
                                  before=(replace(past, operation="earlier"), replace(past, operation="op"),
                                          replace(past, operation="later"))), "op")
    assert [each.operation for each in seen.before] == ["earlier"]
