"""A tool reaches what can be seen from its side, and nothing else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from firstoff.part import access, kernel, topology
from firstoff.part.shapes import Vector
from firstoff.part.vectors import AXES, minus
from tests.part import models


@pytest.mark.parametrize("way", AXES)
def test_a_blind_hole_is_reached_from_its_mouth_alone(way: Vector, tmp_path: Path) -> None:
    x, y, z = (21 * part for part in way)
    block = models.box(40, 40, 40, (-20, -20, -20))
    part = models.digest(models.without(block, models.bar((x, y, z), minus(way), 6, 15)), tmp_path)
    (hole,) = models.of_kind(part, "hole")
    assert len(hole.access) == 1
    assert hole.access[0] == pytest.approx(way)
    for face in models.of_kind(part, "stock"):
        assert len(face.access) == 5
        assert face.axis is not None
        assert minus(face.axis) not in face.access


def test_a_slot_is_reached_from_above_and_from_its_ends(tmp_path: Path) -> None:
    part = models.digest(models.without(models.box(40, 30, 20), models.box(50, 8, 30, (-5, 8, 14))), tmp_path)
    (slot,) = models.of_kind(part, "slot")
    assert set(slot.access) == {(0, 0, 1), (1, 0, 0), (-1, 0, 0)}


def test_a_roof_hides_a_floor_but_not_its_ends(tmp_path: Path) -> None:
    part = models.digest(models.without(models.box(40, 30, 20), models.box(50, 8, 8, (-5, 8, 6))), tmp_path)
    (tunnel,) = models.of_kind(part, "passage")
    assert set(tunnel.access) == {(1, 0, 0), (-1, 0, 0)}


def test_an_upright_beside_a_face_hides_its_flank(tmp_path: Path) -> None:
    """An L: its inner flat is milled from above, and along the wall, not through it."""
    part = models.digest(models.without(models.box(40, 30, 20), models.box(30, 50, 30, (10, -5, 8))), tmp_path)
    (step,) = models.of_kind(part, "step")
    assert (0, 0, 1) in step.access
    assert (1, 0, 0) in step.access
    assert (-1, 0, 0) not in step.access
    assert (0, 0, -1) not in step.access


def test_what_is_hidden_under_an_edge_is_reached_from_no_side(tmp_path: Path) -> None:
    """A pocket that widens below its mouth: no straight tool cuts it, and it is said."""
    part = models.digest(models.without(
        models.box(40, 40, 20), models.box(20, 8, 20, (10, 16, 8)), models.box(20, 18, 5, (10, 11, 8))), tmp_path)
    undersides = [f.number for f in part.faces if f.normal[2] < -0.9 and 1 < f.centroid[2] < 19]
    assert len(undersides) == 2
    for feature in part.features:
        assert bool(feature.access) == set(feature.faces).isdisjoint(undersides), feature.id


def test_lines_of_sight_know_nothing_of_the_order_of_triangles() -> None:
    part = models.example("body")
    solid = kernel.load(models.PARTS / "body.step").solids[0]
    corners, owner = topology.triangles(solid, 0, 0.02)
    shuffled = np.random.default_rng(1).permutation(len(owner))
    one = access.add(part.features, part.faces, corners, owner, 0.02)
    other = access.add(part.features, part.faces, corners[shuffled], owner[shuffled], 0.02)
    assert [f.access for f in one] == [f.access for f in other] == [f.access for f in part.features]
