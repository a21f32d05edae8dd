"""Walls of holes: what makes one wall, which walls belong to one hole, and what ends it."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from firstoff.part import graph, sections
from tests.part import models


def whole(shape: Any, folder: Path) -> graph.Graph:
    """The graph of a shape's faces."""
    part = models.digest(shape, folder)
    return graph.make(part.faces, part.edges)


def test_arcs_that_keyways_have_parted_are_one_wall(tmp_path: Path) -> None:
    bored = models.without(models.box(40, 40, 20), models.bar((20, 20, -1), (0, 0, 1), 20, 40))
    part = models.digest(models.without(bored, models.box(26, 4, 40, (7, 18, -1))), tmp_path)
    one = graph.make(part.faces, part.edges)
    wall, = sections.walls(one)
    assert len(wall) >= 2
    assert sections.sweep_of(one, wall) == pytest.approx(2 * math.pi - 4 * math.asin(2 / 10), abs=1e-6)
    assert [f.size["diameter"] for f in models.of_kind(part, "hole")] == [pytest.approx(20.0)]


def test_the_turn_of_a_wall_is_less_where_its_side_is_open(tmp_path: Path) -> None:
    shape = models.without(models.box(40, 30, 20), models.bar((20, 15, -1), (0, 0, 1), 10, 40),
                           models.box(30, 4, 40, (20, 13, -1)))
    one = whole(shape, tmp_path)
    wall, = sections.walls(one)
    assert sections.sweep_of(one, wall) == pytest.approx(2 * math.pi - 2 * math.asin(2 / 5), abs=1e-6)


def test_a_shoulder_joins_two_walls_and_a_flat_ends_them(tmp_path: Path) -> None:
    one = whole(models.without(models.box(40, 30, 20), models.bar((20, 15, 5), (0, 0, 1), 6, 40),
                               models.bar((20, 15, 15), (0, 0, 1), 12, 40)), tmp_path)
    (axis, point, members), = sections.by_axis(one, sections.walls(one))
    chain, = sections.chains_of(one, [sections.section(one, group, axis, point) for group in members], axis)
    assert [round(s.high - s.low, 6) for s in chain] == [10.0, 5.0]
    ends = sections.ends_of(one, chain, axis)
    assert len(ends.low) == 1 and ends.high == ()
    floor, = ends.low
    assert one.faces[floor].centroid[2] == pytest.approx(5.0)
