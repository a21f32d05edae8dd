"""Cutters: their profile, what fits, and where they are lowest over a point as they rise."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstoff.errors import OutOfRange
from firstoff.removal.cutters import PLACES, SLOPES, Cutter, contact_places
from tests.removal.paths import CUTTERS


@pytest.mark.parametrize("name", CUTTERS)
def test_the_profile_is_convex_and_its_slope_is_that_of_its_heights(name: str) -> None:
    cutter = CUTTERS[name]
    away = np.linspace(0.0, cutter.radius * 0.999, 2000)
    height, rise = cutter.height(away), cutter.rise(away)
    assert height[0] == 0.0 and (np.diff(rise) >= -1e-9).all()
    between = np.diff(height) / np.diff(away)
    assert (between >= rise[:-1] - 1e-9).all() and (between <= rise[1:] + 1e-9).all()


def test_closed_forms() -> None:
    assert CUTTERS["ball"].height(np.array([0.9]))[0] == pytest.approx(1.5 - 1.2)
    assert CUTTERS["chamfer"].height(np.array([1.2]))[0] == pytest.approx(1.0)
    assert CUTTERS["point"].rim == pytest.approx(1.5 / math.tan(math.radians(59.0)))
    assert CUTTERS["flat"].rim == 0.0 and CUTTERS["rounded"].rim == 0.5


@pytest.mark.parametrize("name", CUTTERS)
def test_contact_places_are_the_lowest(name: str) -> None:
    """Against all places tried, for slopes from nearly level to nearly upright."""
    cutter, table = CUTTERS[name], contact_places(CUTTERS[name])
    assert table.shape == (SLOPES, PLACES) and ((table >= 0.0) & (table <= 1.0)).all()
    for row in (1, 20, 50, 80):
        slope = math.tan(row / (SLOPES - 1) * 0.5 * math.pi)
        for place in (0, 30, 100, 126):
            across = place / (PLACES - 1) * cutter.radius
            half = math.sqrt(cutter.radius**2 - across**2)
            tried = np.linspace(-half, half, 20001)
            lowest = (cutter.height(np.minimum(np.hypot(across, tried), cutter.radius)) - slope * tried).min()
            found = table[row, place] * half
            height = cutter.height(np.array([min(math.hypot(across, found), cutter.radius)]))[0] - slope * found
            assert height == pytest.approx(lowest, abs=2e-4 * max(slope, 1.0))


def test_a_ball_touches_as_far_ahead_as_its_path_is_steep() -> None:
    ratio = contact_places(CUTTERS["ball"])
    slopes = np.linspace(0.0, 0.5 * np.pi, SLOPES)[:-1]
    assert ratio[:-1, 10] == pytest.approx(np.sin(slopes), abs=1e-5)


@pytest.mark.parametrize("name", CUTTERS)
def test_slices_begin_at_the_tip_and_rise(name: str) -> None:
    edges = CUTTERS[name].edges
    assert edges[0] == 0.0 and (np.diff(edges) > 0.0).all()


@pytest.mark.parametrize("sizes", [
    (0.0, 0.0), (3.0, 4.0), (3.0, 2.0, 2.0), (3.0, 1.0, 0.0, 1.6), (math.nan, 1.0), (3.0, -1.0)])
def test_what_is_no_cutter_is_refused(sizes: tuple[float, ...]) -> None:
    radius, flat, corner, flank = (*sizes, 0.0, 0.0)[:4]
    with pytest.raises(OutOfRange):
        Cutter(radius, flat, corner, flank)
