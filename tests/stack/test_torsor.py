"""Small displacements: six locators, planes through three points, moves of points."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.stack.torsor import displacement, located, through_points
from tests.published import agrees
from tests.stack.examples import _NORMALS, _POINTS

SMALL = st.floats(-1e-4, 1e-4)


@given(st.lists(SMALL, min_size=6, max_size=6))
@settings(max_examples=30, deadline=None)
def test_every_located_point_moves_by_its_advance(advances: list[float]) -> None:
    moved = np.array(advances)[:, None]
    torsor = located(_POINTS, _NORMALS, moved)
    for point, normal, advance in zip(_POINTS, _NORMALS, advances, strict=True):
        assert normal @ displacement(*torsor, point)[:, 0] == pytest.approx(advance, abs=1e-12)


def test_against_a_rotation_in_full() -> None:
    """Rotating by a real rotation matrix differs from the torsor only by the square of the angle."""
    angle = 1e-4
    turned = np.array([[np.cos(angle), -np.sin(angle), 0.0], [np.sin(angle), np.cos(angle), 0.0], [0.0, 0.0, 1.0]])
    point = np.array([0.1, 0.05, 0.02])
    moved = displacement(np.array([[0.0], [0.0], [angle]]), np.zeros((3, 1)), point)[:, 0]
    assert np.abs(turned @ point - point - moved).max() < angle**2 * 0.1


def test_one_rest_that_stands_high_tilts_the_part() -> None:
    moved = np.zeros((6, 1))
    moved[1] = -1e-5          # the outward normal looks down: the second rest stands 10 um high, at x = 0.1
    torsor = located(_POINTS, _NORMALS, moved)
    assert displacement(*torsor, np.array([0.2, 0.0, 0.0]))[2, 0] == pytest.approx(2e-5)
    assert torsor.rotation[1, 0] == pytest.approx(-1e-4)


@given(st.lists(SMALL, min_size=3, max_size=3))
@settings(max_examples=30, deadline=None)
def test_a_plane_goes_through_its_three_points_and_stays_in_itself(advances: list[float]) -> None:
    normal = np.array([0.6, 0.0, 0.8])
    points = np.array([[0.0, 0.0, 0.0], [0.08, 0.0, -0.06], [0.0, 0.05, 0.0]]) + 0.01 * normal
    torsor = through_points(points, normal, np.array(advances)[:, None])
    for point, advance in zip(points, advances, strict=True):
        assert normal @ displacement(*torsor, point)[:, 0] == pytest.approx(advance, abs=1e-12)
    assert normal @ torsor.rotation[:, 0] == pytest.approx(0.0, abs=1e-12)


#: holes in a plate [mm] behind two locators under its long side, at x = 20 and 180, and one at its end, at y = 50
PATTERN = [(30.0, 20.0), (100.0, 50.0), (170.0, 90.0), (195.0, 20.0)]


@pytest.mark.parametrize(("x", "y"), PATTERN)
def test_how_dense_a_hole_lies_at_its_place(x: float, y: float) -> None:
    """The published density of a hole's place in the plane, each locator off by as much, at where it should be.

    (x3 - x2) / (2 pi sd2 sqrt((y - y1)2 + (x - x2)2 + (x - x3)2)): its root is the area that the spread takes.
    """
    sd, one, two, end = 0.01, 20.0, 180.0, 50.0
    points = np.array([[0.0, 0.0, 0.0], [200.0, 0.0, 0.0], [100.0, 100.0, 0.0],
                       [one, 0.0, 10.0], [two, 0.0, 10.0], [0.0, end, 10.0]]) * 1e-3
    normals = np.array([[0.0, 0.0, -1.0]] * 3 + [[0.0, -1.0, 0.0]] * 2 + [[-1.0, 0.0, 0.0]])
    advances = np.diag([0.0, 0.0, 0.0, sd, sd, sd]) * 1e-3
    moved = displacement(*located(points, normals, advances), np.array([x, y, 10.0]) * 1e-3)[:2] * 1e3
    ours = 1.0 / (2.0 * np.pi * np.sqrt(np.linalg.det(moved @ moved.T)))
    root = np.sqrt((y - end) ** 2 + (x - one) ** 2 + (x - two) ** 2)
    agrees("stack", f"density of a hole at ({x:g}, {y:g}) behind three locators off by 0.01", "polini2007",
           float((two - one) / (2.0 * np.pi * sd**2 * root)), float(ours), "1/mm2", within=1e-6)


def test_a_free_motion_is_named() -> None:
    normals = _NORMALS.copy()
    normals[5] = normals[4]
    with pytest.raises(OutOfRange, match="free to slide along x"):
        located(_POINTS, normals, np.zeros((6, 1)))
    points = _POINTS.copy()
    points[1] = points[0]
    with pytest.raises(OutOfRange, match="free to turn about"):
        located(points, _NORMALS, np.zeros((6, 1)))
    with pytest.raises(OutOfRange, match="six: three below"):
        located(_POINTS[:5], _NORMALS[:5], np.zeros((5, 1)))


def test_a_line_is_no_plane() -> None:
    line = np.array([[0.0, 0.0, 0.0], [0.1, 0.0, 0.0], [0.2, 0.0, 0.0]])
    with pytest.raises(OutOfRange, match="one line"):
        through_points(line, np.array([0.0, 0.0, 1.0]), np.zeros((3, 1)))
