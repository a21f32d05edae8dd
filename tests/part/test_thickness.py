"""Walls and floors come out as they were left; sharp corners have no radius."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.part.shapes import Feature
from tests.part import models

at = st.floats(3.0, 12.0)


def cut(shape: object, folder: Path) -> Feature:
    """The one feature that is not stock."""
    (found,) = [f for f in models.digest(shape, folder).features if f.kind != "stock"]
    return found


@settings(max_examples=8, deadline=None)
@given(at, at, at)
def test_a_pocket_leaves_its_nearest_wall_and_its_floor(x: float, y: float, depth: float) -> None:
    import tempfile

    shape = models.without(models.box(40, 40, 20), models.box(15, 12, 30, (x, y, 20 - depth)))
    with tempfile.TemporaryDirectory() as folder:
        found = cut(shape, Path(folder))
    assert found.size["wall"] == pytest.approx(min(x, y), abs=1e-3)
    assert found.size["floor"] == pytest.approx(20 - depth, abs=1e-3)
    assert found.size["inside_radius"] == 0.0


def test_a_through_hole_leaves_a_wall_and_no_floor(tmp_path: Path) -> None:
    found = cut(models.without(models.box(40, 40, 20), models.bar((6, 20, -1), (0, 0, 1), 8, 30)), tmp_path)
    assert found.size["wall"] == pytest.approx(2.0, abs=0.05)
    assert "floor" not in found.size
    assert "inside_radius" not in found.size


def test_a_flat_bottomed_hole_leaves_a_floor(tmp_path: Path) -> None:
    found = cut(models.without(models.box(40, 40, 20), models.bar((20, 20, 3), (0, 0, 1), 8, 30)), tmp_path)
    assert found.size["floor"] == pytest.approx(3.0, abs=1e-3)
    assert "wall" not in found.size or found.size["wall"] > 8.0, "the material around is thick"


def test_the_rib_between_two_slots_is_a_wall_of_both(tmp_path: Path) -> None:
    shape = models.without(models.box(40, 40, 20), *(models.box(50, 6, 30, (-5, y, 10)) for y in (10.0, 17.5)))
    slots = [f for f in models.digest(shape, tmp_path).features if f.kind == "slot"]
    assert [slot.size["wall"] for slot in slots] == pytest.approx([1.5, 1.5], abs=1e-3)


def test_rounded_corners_have_their_radius() -> None:
    assert models.example("body").feature("passage-1").size["inside_radius"] == pytest.approx(3.0)
