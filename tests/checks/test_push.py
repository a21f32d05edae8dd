from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._push import engagement_of, left_on, operation_case, sides
from tests.checks.builders import belief, case, operation


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
