"""Where things are in a setting: right-handed axes, jaws against the work, zero on its faces."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.dryrun.placing import Placed, cross, face_of
from firstoff.job.faces import dot
from firstoff.part.shapes import Vector
from tests.sheets import made

lengths = st.floats(-100, 100)


def placed(name: str = "body-1", **edits: Any) -> Placed:
    result = made.result()
    setting = result.route.settings[name]
    setting = setting.model_copy(update=edits)
    return Placed(result.parts["body"], result.job.parts["body"], setting, result.shop.devices["vise"])


@given(st.tuples(lengths, lengths, lengths))
def test_machine_and_model_are_each_others_inverse(at: Vector) -> None:
    there = placed()
    assert there.machine(there.model(at)) == pytest.approx(at)


def test_axes_are_right_handed() -> None:
    x, y, z = placed().axes
    assert cross(x, y) == pytest.approx(z)


def test_stock_is_the_part_and_what_is_left_on_it() -> None:
    low, high = placed("body-1").stock()
    assert low == pytest.approx((-1.0, 0.0, -0.5)) and high == pytest.approx((111.0, 34.0, 24.5))


def test_jaws_touch_the_work_from_both_sides_and_end_at_the_grip() -> None:
    there = placed("body-2")
    low, high = there.extent()
    fixed, moving = there.jaws()
    assert (fixed.low[1], moving.high[1]) == pytest.approx((high[1], low[1]))
    assert dot(fixed.outward, moving.outward) == pytest.approx(-1.0)
    for jaw in (fixed, moving):
        assert jaw.high[2] == pytest.approx(low[2] + 12.0) and jaw.low[2] == pytest.approx(low[2] - 10.0)
        assert jaw.high[0] - jaw.low[0] == pytest.approx(100.0)


def test_turned_over_the_same_face_lies_at_the_other_height() -> None:
    over, under = placed("body-1"), placed("body-2")
    assert over.zero() == pytest.approx((1.0, 34.0, 0.5))       # -X with 1 mm on it; -Z with 0.5 mm on it
    assert under.zero() == pytest.approx((0.0, 34.0, 0.0))


def test_zero_of_a_tilted_setting_is_the_corner_in_which_its_faces_meet() -> None:
    there = placed("body-2", up=(0.6, 0.0, 0.8), across=(0.8, 0.0, -0.6))
    at = there.zero()
    assert at is not None
    corner = there.model(at)
    for name in (there.setting.zero.x, there.setting.zero.y, there.setting.zero.z):
        side = there.side(name)
        assert side is not None
        assert sum(a * b for a, b in zip(corner, side.normal, strict=True)) == pytest.approx(side.out)
    flat = there.setting.zero.model_copy(update={"x": there.setting.zero.z})
    assert placed("body-2", up=(0.6, 0.0, 0.8), across=(0.8, 0.0, -0.6), zero=flat).zero() is None


def test_no_zero_where_a_face_is_unknown() -> None:
    there = placed("body-2")
    zero = there.setting.zero.model_copy(update={"x": "hole-1"})
    assert placed("body-2", zero=zero).zero() is None


@pytest.mark.parametrize(("name", "number"), [("+Z", 5), ("bed", 5), ("face 2", 2), ("body.-X", 0), ("step-1", 5)])
def test_faces_by_every_kind_of_name(name: str, number: int) -> None:
    found = face_of(made.part(), made.job().parts["body"], name)
    assert found is not None and found.number == number


def test_a_name_of_nothing_is_none() -> None:
    assert face_of(made.part(), made.job().parts["body"], "lip") is None


def test_a_bare_setting_has_no_jaws() -> None:
    there = placed("body-2")
    holding = there.setting.holding.model_copy(update={"grip": ()})
    assert placed("body-2", holding=holding).jaws() == ()
    assert math.isclose(there.bed(), -10.0)
