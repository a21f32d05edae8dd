"""Holes come out with the sizes that went in, whichever way they point."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.part.shapes import Feature, Vector
from firstoff.part.vectors import minus
from tests.part import models
from tests.part.test_features import understood

WAYS: tuple[Vector, ...] = ((0, 0, -1), (0, 0, 1), (1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0.6, 0.0, -0.8))


def block() -> Any:
    """A cube of 40 about the origin."""
    return models.box(40, 40, 40, (-20, -20, -20))


def entered(way: Vector, before: float = 1.0) -> Vector:
    """A place `before` above where an axis through the origin goes in."""
    reach = 20 / max(abs(part) for part in way)
    x, y, z = (-(reach + before) * part for part in way)
    return x, y, z


def hole(shape: Any) -> Feature:
    """The only hole of the shape."""
    (found,) = [feature for feature in understood(shape) if feature.kind == "hole"]
    return found


@settings(max_examples=12)
@given(st.lists(st.tuples(st.floats(1.0, 7.5), st.booleans()), min_size=1, max_size=9))
def test_as_many_holes_as_were_drilled(
    tmp_path_factory: pytest.TempPathFactory, drills: list[tuple[float, bool]]
) -> None:
    solid = models.box(80, 80, 20)
    for k, (diameter, through) in enumerate(drills):
        at = (15.0 + 25 * (k % 3), 15.0 + 25 * (k // 3), 21.0)
        solid = models.without(solid, models.bar(at, (0, 0, -1), diameter, 30 if through else 11))
    part = models.digest(solid, tmp_path_factory.getbasetemp())
    found = sorted((f.size["diameter"], f.through, f.size["depth"]) for f in models.of_kind(part, "hole"))
    assert found == [pytest.approx(row) for row in sorted((d, t, 20.0 if t else 10.0) for d, t in drills)]
    assert part.volume == pytest.approx(
        80 * 80 * 20 - sum(math.pi * d**2 / 4 * (20 if t else 10) for d, t in drills))


@pytest.mark.parametrize("way", WAYS[:6])
def test_a_drilled_hole(way: Vector) -> None:
    point = models.cone_height(6, 118)
    x, y, z = (-(20 - 12) * part for part in way)
    drill = models.bar(entered(way), way, 6, 13), models.cone((x, y, z), way, 6, 0, point)
    found = hole(models.without(block(), *drill))
    assert found.size == pytest.approx({"diameter": 6, "depth": 12, "cone_angle": 118})
    assert found.axis == pytest.approx(minus(way))
    assert found.axis_point == pytest.approx(entered(way, 0.0))
    assert not found.through


@pytest.mark.parametrize("way", WAYS[:6])
def test_a_counterbored_hole(way: Vector) -> None:
    found = hole(models.without(block(), models.bar(entered(way), way, 5, 50), models.bar(entered(way), way, 9, 7)))
    assert found.size == pytest.approx(
        {"diameter": 5, "depth": 40, "counterbore_diameter": 9, "counterbore_depth": 6})
    assert found.axis == pytest.approx(minus(way))
    assert found.through
    assert len(found.faces) == 3


@pytest.mark.parametrize("way", WAYS[:6])
def test_a_countersunk_hole(way: Vector) -> None:
    found = hole(models.without(
        block(), models.bar(entered(way), way, 5, 50), models.cone(entered(way), way, 12, 2, 5)))
    assert found.size == pytest.approx(
        {"diameter": 5, "depth": 40, "countersink_diameter": 10, "countersink_angle": 90})
    assert found.axis == pytest.approx(minus(way))


def test_a_hole_countersunk_from_both_sides() -> None:
    below, above = (0.0, 0.0, -21.0), (0.0, 0.0, 21.0)
    found = hole(models.without(
        block(), models.bar(below, (0, 0, 1), 5, 50), models.cone(above, (0, 0, -1), 12, 2, 5),
        models.cone(below, (0, 0, 1), 9, 3, 3)))
    assert found.size["countersink_diameter"] == pytest.approx(10)
    assert found.size["far_countersink_diameter"] == pytest.approx(7)
    assert found.size["far_countersink_angle"] == pytest.approx(90)


def test_a_stepped_hole_is_one_and_says_its_steps() -> None:
    above = (0.0, 0.0, 21.0)
    drills = (models.bar(above, (0, 0, -1), d, n) for d, n in ((12, 6), (8, 16), (4, 50)))
    found = hole(models.without(block(), *drills))
    assert found.size["diameter"] == pytest.approx(4)
    assert found.notes == ("stepped: 12, 8, 4 mm",)
    assert len(found.faces) == 5


def test_a_slanting_hole_through_is_measured_along_its_axis() -> None:
    found = hole(models.without(block(), models.bar(entered(WAYS[6], 20.0), WAYS[6], 6, 100)))
    assert found.through
    assert found.size["diameter"] == pytest.approx(6)
    assert found.size["depth"] == pytest.approx(40 / 0.8 + 6 * 0.75, rel=1e-3), "to the far lip of each ellipse"


def test_one_drill_through_two_walls_is_one_hole() -> None:
    fork = models.without(block(), models.box(50, 20, 30, (-25, -10, -5)))
    found = hole(models.without(fork, models.bar((0, -25, 10), (0, 1, 0), 6, 50)))
    assert len(found.faces) == 2
    assert found.through
    assert found.size["depth"] == pytest.approx(40)


def test_two_blind_holes_face_to_face_are_two() -> None:
    shape = models.without(
        block(), models.bar((0, 0, 25), (0, 0, -1), 6, 15), models.bar((0, 0, -25), (0, 0, 1), 6, 15))
    found = [feature for feature in understood(shape) if feature.kind == "hole"]
    assert {hole.axis for hole in found} == {(0, 0, 1), (0, 0, -1)}
    assert all(hole.size == pytest.approx({"diameter": 6, "depth": 10}) for hole in found)


def test_a_bore_that_breaks_out_is_a_hole_that_is_open() -> None:
    found = hole(models.without(block(), models.bar((18, 0, -25), (0, 0, 1), 10, 50)))
    assert found.open
    assert found.notes == ("the bore is open along its side",)


def test_a_half_round_groove_is_no_hole() -> None:
    shape = models.without(block(), models.bar((20, 0, -25), (0, 0, 1), 10, 50))
    assert not [feature for feature in understood(shape) if feature.kind == "hole"]


def test_a_cavity_that_no_drill_reaches_is_no_hole(tmp_path: Path) -> None:
    shape = models.without(block(), models.bar((0, 0, -5), (0, 0, 1), 6, 10))
    assert not [feature for feature in understood(shape) if feature.kind == "hole"]
