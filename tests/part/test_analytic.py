"""Faces written as splines are seen as the planes, bores and cones that they are."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepBuilderAPI import BRepBuilderAPI_NurbsConvert
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
from OCP.TopoDS import TopoDS

from firstoff.part import analytic, kernel
from tests.part import models


def test_a_splined_part_has_the_faces_of_the_plain_one(tmp_path: Path) -> None:
    shape = models.without(models.box(40, 30, 20), models.bar((10, 15, 5), (0, 0, 1), 8, 40),
                           models.cone((28, 15, -1), (0, 0, 1), 6, 14, 30))
    as_splines = BRepBuilderAPI_NurbsConvert(shape, True).Shape()
    plain, splined = (models.digest(one, tmp_path) for one in (shape, as_splines))
    for one, other in zip(splined.faces, plain.faces, strict=True):
        assert (one.kind, one.hollow) == (other.kind, other.hollow)
        if other.sweep is not None:
            assert one.sweep == pytest.approx(other.sweep, abs=0.01)
        if other.kind == "cylinder":
            assert one.radius == pytest.approx(other.radius)
    assert sorted(edge.kind for edge in splined.edges) == sorted(edge.kind for edge in plain.edges)


def test_part_of_a_turn_is_measured() -> None:
    half = models.without(models.bar((0, 0, 0), (0, 0, 1), 10, 5), models.box(20, 20, 20, (-10, 0, -5)))
    shape = BRepBuilderAPI_NurbsConvert(half, True).Shape()
    found = [analytic.surface(TopoDS.Face(face)) for face in kernel.explore(shape, TopAbs_FACE)]
    assert all(surface is not None for surface in found)


def test_what_is_no_plain_surface_stays_one(tmp_path: Path) -> None:
    part = models.digest(models.without(models.box(40, 30, 20), models.bar((10, 15, 5), (0, 0, 1), 8, 40)), tmp_path)
    assert part.faces and {face.kind for face in part.faces} == {"plane", "cylinder"}
    edges = [TopoDS.Edge(edge) for edge in kernel.explore(models.bar((0, 0, 0), (0, 0, 1), 10, 5), TopAbs_EDGE)]
    assert {analytic.curve_kind(BRepAdaptor_Curve(edge)) for edge in edges} == {"circle", "line"}


def test_the_sweep_of_a_whole_turn_is_whole() -> None:
    class Round:
        """A cylinder by angle and height."""

        def Value(self, u: float, v: float) -> object:
            """A point of it."""
            from OCP.gp import gp_Pnt

            return gp_Pnt(math.cos(u), math.sin(u), v)

    whole = analytic.sweep(Round(), (0.0, 2 * math.pi, 0.0, 1.0), (0, 0, 0), (0, 0, 1))
    quarter = analytic.sweep(Round(), (0.3, 0.3 + math.pi / 2, 0.0, 1.0), (0, 0, 0), (0, 0, 1))
    assert [whole, quarter] == pytest.approx([2 * math.pi, math.pi / 2])
