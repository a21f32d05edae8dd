"""Hidden lines: extents, what is seen and what is not, and which way each drawing looks."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from firstoff.part import hidden
from firstoff.part.shapes import View
from tests.part import models

UP, ACROSS = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)


def views(shape: object, folder: Path) -> dict[str, View]:
    """All four drawings of a shape."""
    path = models.write(shape, folder / "part.step")
    return {view.name: view for view in hidden.views(
        path, [(name, UP, ACROSS) for name in ("plan", "front", "side", "pictorial")])}


def extent(view: View) -> tuple[float, float, float, float]:
    """Left, right, bottom, top of what is seen."""
    points = np.array([point for line in view.visible for point in line])
    return (*points.min(axis=0)[:1], *points.max(axis=0)[:1], *points.min(axis=0)[1:], *points.max(axis=0)[1:])


def test_a_block_is_drawn_at_full_size(tmp_path: Path) -> None:
    drawn = views(models.box(30, 20, 10, (1, 2, 3)), tmp_path)
    assert extent(drawn["plan"]) == pytest.approx((1, 31, 2, 22))
    assert extent(drawn["front"]) == pytest.approx((1, 31, 3, 13))
    assert extent(drawn["side"]) == pytest.approx((2, 22, 3, 13))
    assert len(drawn["pictorial"].visible) == 9
    assert len(drawn["pictorial"].hidden) == 3


def test_each_point_falls_where_across_and_upwards_say(tmp_path: Path) -> None:
    for view in views(models.box(30, 20, 10), tmp_path).values():
        assert np.dot(view.across, view.upwards) == pytest.approx(0, abs=1e-12)
        corners = [(x, y, z) for x in (0, 30) for y in (0, 20) for z in (0, 10)]
        paper = {(round(float(np.dot(c, view.across)), 6), round(float(np.dot(c, view.upwards)), 6)) for c in corners}
        drawn = {(round(x, 6) + 0.0, round(y, 6) + 0.0) for line in view.visible for x, y in (line[0], line[-1])}
        assert drawn <= {(x + 0.0, y + 0.0) for x, y in paper}


def test_the_pictorial_is_isometric_from_the_right_front_above() -> None:
    towards, right = hidden.eye("pictorial", np.array(UP), np.array(ACROSS))
    assert towards == pytest.approx(np.array([1, -1, 1]) / math.sqrt(3))
    assert right == pytest.approx(np.array([1, 1, 0]) / math.sqrt(2))


def test_a_blind_hole_from_below_is_hidden_in_the_plan_and_seen_when_turned(tmp_path: Path) -> None:
    shape = models.without(models.box(20, 20, 10), models.bar((10, 10, -1), (0, 0, 1), 6, 6))
    path = models.write(shape, tmp_path / "h.step")
    above, below = hidden.views(path, [("plan", UP, ACROSS), ("plan", (0, 0, -1), ACROSS)])

    def round_lines(lines: tuple[tuple[tuple[float, float], ...], ...]) -> int:
        return sum(1 for line in lines if len(line) > 4)

    assert round_lines(above.visible) == 0 and round_lines(above.hidden) > 0
    assert round_lines(below.visible) > 0


def test_smooth_edges_are_not_drawn(tmp_path: Path) -> None:
    """The plan of the cap: its rounded rear corners run into the sides without a line across the metal."""
    (view,) = hidden.views(models.PARTS / "cap.step", [("front", UP, ACROSS)])
    upright = [line for line in view.visible if abs(line[0][0] - line[-1][0]) < 1e-6 and 1 < line[0][0] < 59]
    assert upright == []


def test_no_line_is_drawn_twice() -> None:
    for view in hidden.views(models.PARTS / "body.step", [("plan", UP, ACROSS), ("side", UP, ACROSS)]):
        keys = [min(line, line[::-1]) for line in (*view.visible, *view.hidden)]
        assert len(keys) == len(set(keys))
