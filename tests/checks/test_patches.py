from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstoff.checks._patches import CELLS, Reach, _gathered, patch_of, side_named, span, square_to
from firstoff.checks.base import Case
from tests.checks.builders import HEIGHT, LENGTH, WIDTH, case, setting

X, Y, Z = np.eye(3)


def placed(**changed: Any) -> Case:
    return case(place=setting(**changed))


def test_a_patch_is_the_metal_within_its_reach() -> None:
    this = placed()
    side = side_named(this, "+Z")
    assert side is not None and side.height == HEIGHT
    whole = patch_of(this, "clamp", "+Z", side, Reach(X, Y, (0.0, 10.0), (0.0, 10.0)), 0)
    half = patch_of(this, "clamp", "+Z", side, Reach(X, Y, (-5.0, 5.0), (0.0, 10.0)), 0)
    assert whole.area == pytest.approx(100.0) and half.area == pytest.approx(50.0)
    assert np.allclose(whole.normal, -Z) and np.average(half.points[:, 0], weights=half.areas) == pytest.approx(2.5)


def test_spare_stock_stands_beyond_the_part_and_is_gripped() -> None:
    spare = placed(stock_left={"-Z": "4 mm", "+X": "1 mm"})
    assert span(spare, Z) == (-4.0, HEIGHT) and span(spare, -Z) == (-HEIGHT, 4.0)
    assert span(spare, X) == (0.0, LENGTH + 1.0) and span(spare, Y) == (0.0, WIDTH)
    rest = side_named(spare, "-Z")
    assert rest is not None and rest.height == 4.0 and rest.faces == ()
    jaw = side_named(spare, "-Y")
    assert jaw is not None
    low = patch_of(spare, "fixed jaw", "-Y", jaw, Reach(X, Z, (0.0, LENGTH), (-4.0, 6.0)), -1)
    assert low.area == pytest.approx(10.0 * LENGTH), "stock below the part is metal, too"


def test_what_is_no_flat_side_is_none() -> None:
    assert side_named(placed(), None) is None and side_named(placed(), "keel") is None
    assert abs(float(square_to(Z) @ Z)) < 1e-12


def test_metal_in_a_corner_is_gathered_over_what_there_is_of_it() -> None:
    steps = (np.arange(CELLS) + 0.5) / CELLS
    places = np.stack([axis.ravel() for axis in np.meshgrid(steps, steps, [0.0], indexing="ij")], axis=1)
    there = (places[:, 0] < 0.26) & (places[:, 1] < 0.26)
    points, areas = _gathered(places, there, (3, 2), 1.0)
    assert len(points) == 6 and float(areas.sum()) == there.sum()
    assert np.ptp(points[:, 0]) > 0.1 and np.ptp(points[:, 1]) > 0.1
    none, nothing = _gathered(places, np.zeros(len(places), dtype=bool), (3, 2), 1.0)
    assert len(none) == 0 and len(nothing) == 0
