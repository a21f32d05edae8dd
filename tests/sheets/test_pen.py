"""Lines on paper: well formed, inside the sheet as far as they are told, of ISO 128's widths."""

from __future__ import annotations

import math
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from firstoff.sheets.pen import LINES, Pen, clean, hull, turned, unit

points = st.tuples(st.floats(-50, 50), st.floats(-50, 50))


@given(st.text())
def test_any_lettering_is_well_formed(text: str) -> None:
    pen = Pen(100.0, 50.0)
    pen.text((10.0, 10.0), text, plate=True)
    lettering = ElementTree.fromstring(pen.svg())[-1].text or ""
    assert lettering.replace("\n", "") == clean(text).replace("\r", "").replace("\n", "")


def test_wide_lines_are_twice_as_wide_as_narrow_ones() -> None:
    assert {LINES["visible"][0] / width for kind, (width, _) in LINES.items() if kind != "visible"} == {2.0}


def test_reach_holds_all_that_was_drawn() -> None:
    pen = Pen(100.0, 50.0)
    pen.circle((20.0, 20.0), 5.0)
    pen.path([[(30.0, 10.0), (60.0, 12.0)]])
    assert pen.reach[0] < 15.0 and pen.reach[1] < 10.0 and pen.reach[2] > 60.0 and pen.reach[3] > 25.0


def test_hatching_stays_in_its_rectangle() -> None:
    pen = Pen(100.0, 50.0)
    pen.hatch((10.0, 5.0), (42.0, 17.0))
    x0, y0, x1, y1 = pen.reach
    assert x0 >= 10.0 - 0.2 and y0 >= 5.0 - 0.2 and x1 <= 42.0 + 0.2 and y1 <= 17.0 + 0.2
    assert pen.svg().count("M") > 10


@given(st.lists(points, min_size=3, max_size=30))
def test_a_hull_holds_its_points_and_is_convex(cloud: list[tuple[float, float]]) -> None:
    outline = hull(cloud)
    for a, b in zip(outline, outline[1:] + outline[:1], strict=True):
        if len(outline) > 2:
            assert all((b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0]) > -1e-3 for x, y in cloud)


@given(points, st.floats(-180, 180))
def test_turning_keeps_lengths(by: tuple[float, float], degrees: float) -> None:
    assert math.isclose(math.hypot(*turned((0.0, 0.0), degrees, by)), math.hypot(*by), abs_tol=1e-9)
    assert math.isclose(math.hypot(*unit(by)), 1.0)
