"""Pockets, passages, slots, steps, ramps come out with the sizes that were cut."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.part.shapes import Feature
from tests.part import models
from tests.part.test_features import understood

spans = st.floats(min_value=3.0, max_value=14.0)


def only(shape: Any) -> Feature:
    """The one feature that is not stock."""
    (found,) = [feature for feature in understood(shape) if feature.kind != "stock"]
    return found


@settings(max_examples=15)
@given(spans, spans, spans)
def test_a_pocket(length: float, width: float, depth: float) -> None:
    found = only(models.without(models.box(40, 40, 20), models.box(length, width, 30, (10, 12, 20 - depth))))
    assert (found.kind, found.sides, found.through, found.open) == ("pocket", 4, False, False)
    assert found.size == pytest.approx(
        {"length": max(length, width), "width": min(length, width), "depth": depth})
    assert found.axis == pytest.approx((0, 0, 1))
    assert found.axis_point == pytest.approx((10 + length / 2, 12 + width / 2, 20))


@settings(max_examples=15)
@given(spans, spans)
def test_a_passage(length: float, width: float) -> None:
    found = only(models.without(models.box(40, 40, 20), models.box(length, width, 30, (10, 12, -5))))
    assert (found.kind, found.sides, found.through) == ("passage", 4, True)
    assert found.size == pytest.approx({"length": max(length, width), "width": min(length, width), "depth": 20})


@settings(max_examples=15)
@given(spans, spans)
def test_a_slot_from_end_to_end(width: float, depth: float) -> None:
    found = only(models.without(models.box(40, 30, 20), models.box(50, width, 30, (-5, 8, 20 - depth))))
    assert (found.kind, found.through, found.open) == ("slot", True, True)
    assert found.size == pytest.approx({"length": 40, "width": width, "depth": depth})
    assert found.axis == (0, 0, 1)


def test_a_slot_may_be_open_at_one_end_only() -> None:
    found = only(models.without(models.box(40, 30, 20), models.box(25, 8, 30, (-5, 8, 14))))
    assert (found.kind, found.through, found.open) == ("slot", False, True)
    assert found.size == pytest.approx({"length": 20, "width": 8, "depth": 6})


@settings(max_examples=15)
@given(spans, spans)
def test_a_step_along_an_edge(width: float, depth: float) -> None:
    found = only(models.without(models.box(40, 30, 20), models.box(50, width + 1, 30, (-5, -1, 20 - depth))))
    assert (found.kind, found.through, found.open) == ("step", True, True)
    assert found.size["length"] == pytest.approx(40)
    assert sorted((found.size["width"], found.size["depth"])) == pytest.approx(sorted((width, depth)))


def test_a_step_in_a_corner_is_not_through() -> None:
    found = only(models.without(models.box(40, 30, 20), models.box(15, 10, 30, (-5, -1, 12))))
    assert (found.kind, found.sides, found.through) == ("step", 2, False)


@settings(max_examples=15)
@given(st.floats(min_value=8.0, max_value=60.0))
def test_a_slope_between_cheeks_has_its_angle(angle: float) -> None:
    """Like the bed of the example: what stands over the slope is a wedge."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pnt, gp_Vec

    high = min(25.0, 30 * math.tan(math.radians(angle)))
    reach = high / math.tan(math.radians(angle))
    outline = BRepBuilderAPI_MakePolygon(gp_Pnt(35, 5, 30 - high), gp_Pnt(35, 5, 30), gp_Pnt(35 - reach, 5, 30), True)
    wedge = BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(outline.Wire()).Face(), gp_Vec(0, 15, 0)).Shape()
    found = understood(models.without(models.box(40, 25, 30), wedge))
    (ramp,) = [feature for feature in found if feature.kind == "ramp"]
    assert ramp.size["angle"] == pytest.approx(min(angle, 90 - angle))
    assert sorted((ramp.size["width"], ramp.size["length"])) == pytest.approx(sorted((15, math.hypot(high, reach))))


def test_a_recess_with_round_ends_is_a_slot() -> None:
    tools = (models.box(20, 8, 10, (10, 11, 14)), *(models.bar((x, 15, 14), (0, 0, 1), 8, 10) for x in (10.0, 30.0)))
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    joined = ShapeUpgrade_UnifySameDomain(models.without(models.box(40, 30, 20), *tools), True, True, False)
    joined.Build()
    found = only(joined.Shape())
    assert (found.kind, found.through, found.open) == ("slot", False, False)
    assert found.size == pytest.approx({"length": 28, "width": 8, "depth": 6, "corner_radius": 4})
