"""Faces and edges by the strongest means: closed surfaces, areas, dihedral angles that are known."""

from __future__ import annotations

import math
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import ModelError
from firstoff.part import kernel, topology
from firstoff.part.shapes import Edge, Face
from firstoff.part.vectors import norm
from tests.part import models

sizes = st.floats(min_value=1.0, max_value=200.0)


def faces_and_edges(shape: Any) -> tuple[list[Face], list[Edge]]:
    """Of a solid that need not go through a file."""
    return topology.faces_and_edges(in_kernel(shape), 0, 0, "here")


def in_kernel(shape: Any) -> kernel.Solid:
    """The kernel's solid with its faces in its own order."""
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopoDS import TopoDS

    faces = tuple(TopoDS.Face(face) for face in kernel.explore(shape, TopAbs_FACE))
    return kernel.Solid(shape, faces, ("",) * len(faces), 1.0)


@given(sizes, sizes, sizes)
def test_a_box(length: float, width: float, height: float) -> None:
    faces, edges = faces_and_edges(models.box(length, width, height))
    assert sum(face.area for face in faces) == pytest.approx(2 * (length * width + width * height + height * length))
    assert [edge.convexity for edge in edges] == ["convex"] * 12
    assert all(len(face.neighbours) == 4 for face in faces)
    flux = sum(face.area * np.dot(face.centroid, face.normal) for face in faces) / 3
    assert flux == pytest.approx(length * width * height), "normals point out of the material"


def test_a_corner_cut_out_of_a_box_has_three_concave_edges() -> None:
    _, edges = faces_and_edges(models.without(models.box(10, 10, 10), models.box(5, 5, 5, (5, 5, 5))))
    assert Counter(edge.convexity for edge in edges) == {"convex": 18, "concave": 3}


def test_a_box_inside_has_only_concave_edges_at_its_floor() -> None:
    _, edges = faces_and_edges(models.without(models.box(10, 10, 10), models.box(4, 4, 5, (3, 3, 6))))
    assert Counter(edge.convexity for edge in edges) == {"convex": 12 + 4, "concave": 4 + 4}


@given(st.floats(min_value=0.5, max_value=4.5), st.floats(min_value=1.0, max_value=9.0))
def test_a_blind_bore(radius: float, depth: float) -> None:
    faces, edges = faces_and_edges(
        models.without(models.box(10, 10, 10), models.bar((5, 5, 11), (0, 0, -1), 2 * radius, depth + 1)))
    (wall,) = [face for face in faces if face.kind == "cylinder"]
    assert wall.hollow
    assert wall.radius == pytest.approx(radius)
    assert wall.sweep == pytest.approx(2 * math.pi)
    assert wall.area == pytest.approx(2 * math.pi * radius * depth)
    kinds = Counter((edge.kind, edge.convexity) for edge in edges)
    assert kinds == {("line", "convex"): 12, ("circle", "convex"): 1, ("circle", "concave"): 1}


def test_round_faces_know_whether_they_are_hollow() -> None:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeSphere, BRepPrimAPI_MakeTorus
    from OCP.gp import gp_Pnt

    block = models.box(40, 40, 20, (-20, -20, -20))
    tools = {
        "sphere": BRepPrimAPI_MakeSphere(gp_Pnt(0, 0, 0), 5).Solid(),
        "torus": BRepPrimAPI_MakeTorus(10, 3).Solid(),
        "cone": models.cone((0, 0, 0), (0, 0, -1), 12, 4, 6),
    }
    for kind, tool in tools.items():
        (solid,) = [f for f in faces_and_edges(tool)[0] if f.kind == kind]
        (dent,) = [f for f in faces_and_edges(models.without(block, tool))[0] if f.kind == kind]
        assert (solid.hollow, dent.hollow) == (False, True), kind
        assert solid.radius == dent.radius


@pytest.mark.parametrize("name", models.NAMES)
def test_outlines_are_closed_and_on_their_face(name: str) -> None:
    part = models.example(name)
    for face in part.faces:
        for loop in face.outlines:
            assert math.dist(loop[0], loop[-1]) < 1e-5
            if face.kind == "plane":
                heights = [np.dot(np.subtract(p, face.centroid), face.normal) for p in loop]
                assert np.abs(heights).max() < 1e-6
    assert all(norm(face.normal) == pytest.approx(1.0) for face in part.faces)


@pytest.mark.parametrize("name", models.NAMES)
def test_neighbours_are_the_edges(name: str) -> None:
    part = models.example(name)
    for face in part.faces:
        met = {n for edge in part.edges if face.number in edge.faces for n in edge.faces} - {face.number}
        assert set(face.neighbours) == met


def test_the_lip_of_the_body_falls_away_and_its_corners_run_on() -> None:
    part = models.example("body")
    corners = [f.number for f in part.faces if f.kind == "cylinder" and f.radius == pytest.approx(3.0)]
    smooth = [edge for edge in part.edges if edge.convexity == "smooth"]
    assert len(smooth) == 4, "two corners, each running into a cheek and the front wall"
    assert all(set(edge.faces) & set(corners) for edge in smooth)


def test_a_shell_with_a_face_missing_is_open() -> None:
    whole = in_kernel(models.box(10, 10, 10))
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Shell

    shell, builder = TopoDS_Shell(), BRep_Builder()
    builder.MakeShell(shell)
    for face in whole.faces[:5]:
        builder.Add(shell, face)
    with pytest.raises(ModelError, match="shell is open") as caught:
        topology.faces_and_edges(kernel.Solid(shell, whole.faces[:5], ("",) * 5, 1.0), 0, 0, "open.step")
    assert caught.value.where == "open.step"


@pytest.mark.parametrize("name", models.NAMES)
def test_triangles_close_round_the_volume(name: str) -> None:
    loaded = kernel.load(Path(models.PARTS / f"{name}.step"))
    corners, owner = topology.triangles(loaded.solids[0], 0, 0.01)
    volume = np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    assert volume == pytest.approx(loaded.solids[0].volume, rel=1e-3)
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1) / 2
    closed = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]).sum(axis=0)
    assert np.abs(closed).max() < 1e-6 * area.sum()
    for face in models.example(name).faces:
        assert area[owner == face.number].sum() == pytest.approx(face.area, rel=0.03)
