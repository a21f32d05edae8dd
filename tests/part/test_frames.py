"""The own directions of a part that lies askew in its file."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Trsf

from firstoff.part import frames
from firstoff.part.shapes import Feature
from firstoff.part.vectors import cross, dot
from tests.part import models


def turned(shape: Any, degrees: float) -> Any:
    """The shape turned about a slanting line."""
    move = gp_Trsf()
    move.SetRotation(gp_Ax1(gp_Pnt(3, 4, 5), gp_Dir(0.3, 0.5, 0.8)), math.radians(degrees))
    return BRepBuilderAPI_Transform(shape, move, True).Shape()


def plate() -> Any:
    """A plate with a step and a hole."""
    return models.without(models.box(60, 40, 20), models.box(80, 10, 20, (-5, -1, 14)),
                          models.bar((20, 25, -1), (0, 0, 1), 6, 40))


def test_features_are_the_same_however_the_part_lies(tmp_path: Path) -> None:
    upright, askew = models.digest(plate(), tmp_path), models.digest(turned(plate(), 37), tmp_path)
    assert frames.own(upright.faces) is None
    assert [(f.kind, f.through) for f in askew.features] == [(f.kind, f.through) for f in upright.features]
    for one, other in zip(askew.features, upright.features, strict=True):
        assert sorted(one.size.values()) == pytest.approx(sorted(other.size.values()), abs=0.02)
    hole, = models.of_kind(askew, "hole")
    assert hole.axis is not None and max(abs(part) for part in hole.axis) < 0.99
    assert any(dot(way, hole.axis) == pytest.approx(1.0) for way in hole.access)


def test_the_directions_are_square_and_right_handed(tmp_path: Path) -> None:
    frame = frames.own(models.digest(turned(plate(), 37), tmp_path).faces)
    assert frame is not None
    x, y, z = frame
    assert cross(x, y) == pytest.approx(z)
    assert [dot(x, y), dot(y, z), dot(z, x)] == pytest.approx([0.0] * 3, abs=1e-9)
    feature = Feature("hole-1", "hole", (0,), axis=(0.0, 0.0, 1.0), axis_point=(1.0, 0.0, 0.0))
    back = frames.turned_back(feature, frame)
    assert back.axis == pytest.approx(z) and back.axis_point == pytest.approx(x)
    assert len(frames.ways(frame)) == 6


def test_drafted_walls_leave_a_casting_upright(tmp_path: Path) -> None:
    body = models.cone((0, 0, 0), (0, 0, 1), 80, 70, 40)
    drafted = models.digest(models.without(body, models.box(90, 90, 10, (-45, -45, 35))), tmp_path)
    assert frames.own(drafted.faces) is None
