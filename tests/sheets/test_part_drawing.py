"""The numbered drawing of a part: every feature has one number, none stands on another, all on the sheet."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff import actions
from firstoff.errors import FileError
from firstoff.part.shapes import Feature, View
from firstoff.sheets.pane import Window
from firstoff.sheets.part_drawing import (
    PITCH,
    RADIUS,
    Frame,
    Number,
    around,
    part_drawing,
    seen_in,
    size_words,
    spread,
    write_drawing,
)
from tests.part import models
from tests.sheets import made

UP, ACROSS = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
SVG = "{http://www.w3.org/2000/svg}"


def seen() -> tuple[View, ...]:
    return made.views(UP, ACROSS, made.part())


def drawn(svg: str) -> tuple[list[tuple[float, float, float]], list[str]]:
    """Circles with a number, and all lettering."""
    root = ET.fromstring(svg)
    circles = [(float(c.get("cx", "")), float(c.get("cy", "")), float(c.get("r", "")))
               for c in root.iter(SVG + "circle")]
    return [c for c in circles if c[2] > 1.0], [t.text or "" for t in root.iter(SVG + "text")]


def test_every_feature_has_one_number_and_a_row() -> None:
    part = made.part()
    circles, texts = drawn(part_drawing(part, seen(), "mm"))
    assert len(circles) == len(part.features)
    for number, feature in enumerate(part.features, 1):
        assert texts.count(str(number)) == 2              # in its circle and in the table
        assert feature.id.replace("-", " ") in texts


def test_plain_stock_has_none() -> None:
    part = made.part()
    stock = Feature("stock-1", "stock", (0,), axis=(-1.0, 0.0, 0.0))
    both = (part_drawing(replace(part, features=f), seen()) for f in (part.features, (stock, *part.features)))
    assert len({len(drawn(svg)[0]) for svg in both}) == 1


def test_numbers_do_not_touch_and_stay_on_the_sheet() -> None:
    part = made.part()
    crowd = tuple(replace(part.features[1], id=f"hole-{k}", axis_point=(50.0 + k % 7, 15.0 + k // 7, 24.0))
                  for k in range(40))
    svg = part_drawing(replace(part, features=crowd), seen())
    circles, _ = drawn(svg)
    assert len(circles) == 40
    assert min(math.dist(a[:2], b[:2]) for a in circles for b in circles if a is not b) > 2 * RADIUS
    _, _, width, height = map(float, ET.fromstring(svg).get("viewBox", "").split())
    assert all(r < x < width - r and r < y < height - r for x, y, r in circles)


@given(st.lists(st.tuples(st.floats(0.0, 60.0), st.floats(0.0, 30.0)), max_size=40))
def test_around_keeps_numbers_apart_and_outside(dots: list[tuple[float, float]]) -> None:
    view = View("plan", UP, (), (), (0.0, 0.0), ACROSS, (0.0, 1.0, 0.0))
    frame = around(Frame(view, 1.0, Window(0.0, 0.0, 60.0, 30.0), (0.0, 0.0)),
                   [Number(str(k), dot) for k, dot in enumerate(dots)])
    at = [n.at for n in frame.numbers]
    assert all(math.dist(a, b) > 2 * RADIUS for k, a in enumerate(at) for b in at[:k])
    assert all(not (-RADIUS < x < 60.0 + RADIUS and -RADIUS < y < 30.0 + RADIUS) for x, y in at)


@given(st.lists(st.floats(0.0, 100.0), max_size=20))
def test_spread_keeps_the_order_and_a_pitch(wanted: list[float]) -> None:
    out = spread(sorted(wanted), 0.0, 100.0)
    assert all(b - a >= PITCH - 1e-9 for a, b in pairwise(out))
    if len(out) * PITCH <= 100.0:
        assert all(-1e-9 <= place <= 100.0 + 1e-9 for place in out)


def test_lonely_places_stay_where_they_are() -> None:
    assert spread([10.0, 50.0, 90.0], 0.0, 100.0) == [10.0, 50.0, 90.0]


@pytest.mark.parametrize(("axis", "view"), [
    ((0.0, 0.0, 1.0), "plan"), ((0.0, 0.0, -1.0), "plan"), ((0.0, -1.0, 0.0), "front"), ((1.0, 0.0, 0.0), "side"),
    ((0.375, 0.0, 0.927), "plan"),
])
def test_a_feature_is_numbered_where_one_looks_into_it(axis: tuple[float, float, float], view: str) -> None:
    assert seen_in(Feature("hole-1", "hole", (6,), axis=axis), {v.name: v for v in seen()}) == view


def test_a_rounded_corner_is_numbered_where_its_cutter_comes_from() -> None:
    corner = Feature("fillet-1", "fillet", (6,), axis=(-0.707, -0.707, 0.0), access=((-1.0, 0.0, 0.0), UP))
    assert seen_in(corner, {v.name: v for v in seen()}) == "plan"


def test_the_action_draws_a_model(tmp_path: Path) -> None:
    file, out = models.PARTS / "cap.step", tmp_path / "cap.svg"
    found = models.example("cap")
    assert actions.part_drawing(file, found, out) == out
    circles, texts = drawn(out.read_text(encoding="utf-8"))
    assert len(circles) == sum(f.kind != "stock" for f in found.features)
    assert "plan" in texts and "front" in texts


def test_without_views_it_says_so_and_keeps_the_table() -> None:
    circles, texts = drawn(part_drawing(made.part(), ()))
    assert circles == []
    assert any("no drawing" in text for text in texts) and "hole 1" in texts


def test_lengths_in_inches() -> None:
    hole = Feature("hole-1", "hole", (6,), size={"diameter": 6.35, "depth": 25.4, "cone_angle": 118.0})
    assert size_words(hole, "in") == "Ø0.25, 1 deep, drill point 118°"
    assert size_words(hole, "mm") == "Ø6.35, 25.4 deep, drill point 118°"
    assert "lengths in inches" in " ".join(drawn(part_drawing(made.part(), seen(), "in"))[1])


def test_it_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    write_drawing("<svg/>", tmp_path / "part.svg")
    assert (tmp_path / "part.svg").read_text(encoding="utf-8") == "<svg/>"
    assert [p.name for p in tmp_path.iterdir()] == ["part.svg"]
    with pytest.raises(FileError, match="cannot be written"):
        write_drawing("<svg/>", tmp_path / "nowhere" / "part.svg")
