"""Distances from the swept cutter to faces: within a micrometre of closed forms, whatever the cells."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstoff.errors import OutOfRange
from firstoff.removal.cutters import Cutter
from firstoff.removal.faces import Cylinder, Plane, distance_to_cylinder, distance_to_plane, lowest_in
from firstoff.removal.moves import moves_of
from tests.published import agrees
from tests.removal.paths import CUTTERS, along, arc

MICROMETRE = 0.001
FLOOR = Plane((20.0, 10.0, 5.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (40.0, 20.0))
WALL = Plane((20.0, 10.0, 5.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (40.0, 10.0))


@pytest.mark.parametrize("name", CUTTERS)
def test_furthest_point_against_all_points_of_the_profile(name: str) -> None:
    cutter = CUTTERS[name]
    away = np.linspace(0.0, cutter.radius, 200001)
    for angle in np.radians([0.0, 10.0, 29.0, 31.0, 45.0, 60.0, 80.0, 90.0]):
        normal = (math.sin(angle), 0.0, math.cos(angle))
        tried = (math.cos(angle) * cutter.height(away) - math.sin(angle) * away).min()
        assert lowest_in(cutter, normal)[2] == pytest.approx(tried, abs=1e-6)


@pytest.mark.parametrize("name", CUTTERS)
@pytest.mark.parametrize("deep", [-0.02, 0.0, 0.02])
def test_a_floor(name: str, deep: float) -> None:
    found = distance_to_plane(along((-5, 10, 5.0 - deep), (45, 10, 5.0 - deep)), CUTTERS[name], FLOOR)
    assert found.least == pytest.approx(-deep, abs=MICROMETRE)
    assert found.gouge == pytest.approx(max(deep, 0.0), abs=MICROMETRE)
    assert found.left == pytest.approx(max(-deep, 0.0), abs=MICROMETRE)


@pytest.mark.parametrize("name", ["flat", "ball", "rounded"])
def test_a_wall(name: str) -> None:
    cutter = CUTTERS[name]
    y = 10.0 + cutter.radius - 0.013
    found = distance_to_plane(along((-5, y, 0.0), (45, y, 0.0)), cutter, WALL)
    assert found.gouge == pytest.approx(0.013, abs=MICROMETRE)
    above = distance_to_plane(along((-5, y, 10.1), (45, y, 10.1)), cutter, WALL)
    assert len(above.least) == 0 and above.left is None and above.gouge == 0.0


def test_a_slope_by_a_ball() -> None:
    """A ball whose middle keeps its radius and 0.005 from a face at 30°."""
    angle = math.radians(30.0)
    normal = (math.sin(angle), 0.0, math.cos(angle))
    plane = Plane((20.0, 10.0, 5.0), normal, (0.0, 1.0, 0.0), (20.0, 20.0))
    middle = np.array(plane.point) + (1.5 + 0.005) * np.array(normal)
    x, y, z = middle - np.array([0.0, 0.0, 1.5])
    found = distance_to_plane(along((x, y - 20, z), (x, y + 20, z)), CUTTERS["ball"], plane)
    assert found.least == pytest.approx(0.005, abs=MICROMETRE)


def test_a_pass_that_dips_is_told_where_it_is_deepest() -> None:
    found = distance_to_plane(along((0, 10, 5.0), (20, 10, 4.97), (40, 10, 5.0)), CUTTERS["flat"], FLOOR)
    assert found.gouge == pytest.approx(0.03, abs=MICROMETRE)
    assert found.place[found.least.argmin()] == pytest.approx([20.0, 10.0, 4.97])
    assert distance_to_plane(along((-90, 10, 4.0), (-50, 10, 4.0)), CUTTERS["flat"], FLOOR).gouge == 0.0


@pytest.mark.parametrize("error", [-0.02, 0.0, 0.02])
def test_a_bore_and_a_boss_by_arcs(error: float) -> None:
    cutter = Cutter.end_mill(6.0)
    inside, outside = 10.0 - 3.0 + error, 10.0 + 3.0 - error
    bore = distance_to_cylinder(moves_of([arc((inside, 0, -1), (inside, 0, -1), (0, 0, -1))]), cutter,
                                Cylinder((0.0, 0.0, -5.0), 10.0, 5.0, True))
    agrees("removal", f"bore of radius 10, path {error:+g} mm off: gouge or stock left", "own", -error,
           float(bore.least.min()), "mm", within=MICROMETRE, absolute=True)
    boss = distance_to_cylinder(moves_of([arc((outside, 0, -1), (outside, 0, -1), (0, 0, -1))]), cutter,
                                Cylinder((0.0, 0.0, -5.0), 10.0, 5.0, False))
    assert boss.least.min() == pytest.approx(-error, abs=MICROMETRE)


def test_above_a_wall_nothing_counts() -> None:
    cutter, boss = Cutter.end_mill(6.0), Cylinder((0.0, 0.0, -5.0), 10.0, 5.0, False)
    assert distance_to_cylinder(along((-30, 0, 0.1), (30, 0, 0.1)), cutter, boss).gouge == 0.0
    across = distance_to_cylinder(along((-30, 0, -0.1), (30, 0, -0.1)), cutter, boss)
    assert across.gouge == pytest.approx(13.0)


def test_a_face_that_looks_down_is_refused() -> None:
    with pytest.raises(OutOfRange, match="looks down"):
        distance_to_plane(along((0, 0, 0), (1, 0, 0)), CUTTERS["flat"], Plane((0.0, 0.0, 0.0), (0.0, 0.0, -1.0),
                                                                             (1.0, 0.0, 0.0), (1.0, 1.0)))


@pytest.mark.parametrize("deep", [-0.02, 0.0, 0.02])
def test_what_looks_down_is_reached_by_a_head_wider_than_its_neck(deep: float) -> None:
    """The roof of a T-slot, the flank of a dovetail, and no wall above the head."""
    tee, tail = Cutter.t_slot(12.0, 3.0, 5.0), Cutter.dovetail(12.0, 4.0, 6.0)
    roof = Plane((20.0, 10.0, 8.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0), (40.0, 20.0))
    found = distance_to_plane(along((-5, 10, 5.0 + deep), (45, 10, 5.0 + deep)), tee, roof)
    assert found.least == pytest.approx(-deep, abs=MICROMETRE)
    c, s = 0.8, 0.6       # the flank of this dovetail leans by 3 in 4
    flank = Plane((20.0, 15.0, 5.0 + 4.0 / 3.0), (0.0, -c, -s), (1.0, 0.0, 0.0), (40.0, 6.0))
    touching = 15.0 - 6.0 + 3.0 / 4.0 * 4.0 / 3.0
    found = distance_to_plane(along((-5, touching + deep / c, 5.0), (45, touching + deep / c, 5.0)), tail, flank)
    assert found.least == pytest.approx(-deep, abs=MICROMETRE)
    above = Plane((20.0, 14.0, 12.0), (0.0, -1.0, 0.0), (1.0, 0.0, 0.0), (40.0, 6.0))
    assert distance_to_plane(along((-5, 10, 5.0), (45, 10, 5.0)), tee, above).gouge == 0.0
    beside = Plane((20.0, 16.0, 6.0), (0.0, -1.0, 0.0), (1.0, 0.0, 0.0), (40.0, 4.0))
    found = distance_to_plane(along((-5, 10 + deep, 5.0), (45, 10 + deep, 5.0)), tee, beside)
    assert found.least == pytest.approx(-deep, abs=MICROMETRE)


def test_a_bore_above_a_head_is_not_touched_by_it() -> None:
    tee = Cutter.t_slot(12.0, 3.0, 5.0)
    turn = moves_of([arc((12.0, 10, 5.0), (12.0, 10, 5.0), (10, 10, 5.0))])
    assert distance_to_cylinder(turn, tee, Cylinder((10.0, 10.0, 9.0), 6.0, 4.0, True)).gouge == 0.0
    groove = distance_to_cylinder(turn, tee, Cylinder((10.0, 10.0, 5.0), 8.0, 3.0, True))
    assert groove.least == pytest.approx(0.0, abs=MICROMETRE)
