"""Chamfers have the width that the trade tells: the leg, not the slope."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.part import chamfers
from firstoff.part.shapes import Feature
from tests.part import models
from tests.part.test_features import understood


def broken(shape: Any, leg: float, edges: int) -> Any:
    """The shape with its first edges chamfered at 45 degrees."""
    from OCP.BRepFilletAPI import BRepFilletAPI_MakeChamfer
    from OCP.TopAbs import TopAbs_EDGE
    from OCP.TopoDS import TopoDS

    from firstoff.part import kernel

    work, done = BRepFilletAPI_MakeChamfer(shape), 0
    for edge in kernel.explore(shape, TopAbs_EDGE):
        if done < edges:
            work.Add(leg, TopoDS.Edge(edge))
            done += 1
    return work.Shape()


def of(shape: Any) -> list[Feature]:
    """The chamfers of a shape."""
    return [feature for feature in understood(shape) if feature.kind == "chamfer"]


@settings(max_examples=15)
@given(st.floats(min_value=0.2, max_value=5.0))
def test_one_edge_broken(leg: float) -> None:
    (found,) = of(broken(models.box(30, 30, 30), leg, 1))
    assert found.size == pytest.approx({"angle": 45, "width": leg, "length": 30})


def test_a_broad_slope_is_a_ramp() -> None:
    shape = broken(models.box(60, 60, 60), chamfers.WIDEST, 1)
    assert of(shape) == []
    assert [f.kind for f in understood(shape) if f.kind != "stock"] == ["ramp"]


def test_the_rim_of_a_round_boss() -> None:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

    rim = models.cone((20, 20, 15), (0, 0, 1), 12, 10, 1)
    top = BRepAlgoAPI_Fuse(models.bar((20, 20, 5), (0, 0, 1), 12, 10), rim).Shape()
    (found,) = of(BRepAlgoAPI_Fuse(models.box(40, 40, 10), top).Shape())
    assert found.size["width"] == pytest.approx(1.0)
    assert found.size["angle"] == pytest.approx(45)
    assert found.axis == (0, 0, 1)
