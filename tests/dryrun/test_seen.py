"""A feature as a tool sees it: sizes of a pocket and of a slope that are known beforehand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.dryrun.seen import face_span, point_length, seen, span
from firstoff.part.shapes import Vector
from tests.route.made import block, example_parts

UP: Vector = (0.0, 0.0, 1.0)


def test_a_pocket_from_above() -> None:
    part = block()
    look = seen(part, part.feature("pocket-1"), UP)
    assert (look.depth, look.reach, look.length, look.width, look.corner) == (8.0, 8.0, 30.0, 20.0, 5.0)
    assert look.around == pytest.approx(2.0 * (30.0 + 20.0) + 1.57 * 5.0)
    assert abs(look.along[0]) == 1.0


def test_a_pocket_from_below_is_reached_through_the_block() -> None:
    part = block()
    assert seen(part, part.feature("pocket-1"), (0.0, 0.0, -1.0)).reach == 20.0


def test_a_bore_has_no_corners() -> None:
    part = block()
    look = seen(part, part.feature("hole-1"), UP)
    assert look.corner == 0.0
    assert look.depth == 20.0


def test_a_slope_is_flat_when_it_looks_up() -> None:
    body = example_parts()["body"]
    bed = body.feature("ramp-1")
    assert bed.axis is not None
    assert seen(body, bed, bed.axis).depth == pytest.approx(0.0, abs=1e-6)
    assert seen(body, bed, UP).depth == pytest.approx(24.0)
    assert seen(body, bed, bed.axis).length == pytest.approx(24.0 / math.sin(math.radians(22.0)), rel=1e-6)


@given(st.floats(0.0, 2.0 * math.pi))
def test_a_box_turned_spans_the_sum_of_its_sides(turn: float) -> None:
    way = (math.cos(turn), math.sin(turn), 0.0)
    low, high = span((0.0, 0.0, 0.0), (3.0, 4.0, 5.0), way)
    assert high - low == pytest.approx(3.0 * abs(way[0]) + 4.0 * abs(way[1]))


def test_a_face_without_outline_goes_by_its_box() -> None:
    face = block().faces[0]
    assert face_span(face, UP) == (0.0, 20.0)


@pytest.mark.parametrize(("angle", "length"), [(90.0, 3.0), (60.0, 3.0 * math.sqrt(3.0))])
def test_length_of_a_point(angle: float, length: float) -> None:
    assert point_length(6.0, math.radians(angle)) == pytest.approx(length)
    assert point_length(6.0, None) == pytest.approx(3.0 / math.tan(math.radians(59.0)))
