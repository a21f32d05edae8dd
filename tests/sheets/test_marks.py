"""Marks: datums in the view that shows them on edge, numbers that do not cover each other."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from firstoff.sheets.marks import (
    _Balloon,
    _spread,
    centre_lines,
    clamp_tips,
    datums,
    lower_row,
    stick_up,
    stop,
    where,
    zero_mark,
)
from firstoff.sheets.pane import Window
from tests.sheets.test_pane import pane


def letters(svg: str) -> set[str]:
    return {letter for letter in "ABCDEF" if f">{letter}</text>" in svg}


def test_each_datum_is_marked_once() -> None:
    found = []
    for name in ("plan", "front", "side"):
        there = pane(name)
        datums(there)
        found.append(letters(there.pen.svg()))
    assert found == [{"B", "C"}, {"A"}, set()]


def test_zero_shows_the_axes_that_can_be_seen() -> None:
    for name, axes in (("plan", "xy"), ("front", "xz"), ("pictorial", "xyz")):
        there = pane(name)
        zero_mark(there)
        assert [a for a in "xyz" if f">{a}</text>" in there.pen.svg()] == list(axes)


def test_stop_stands_outside_the_work() -> None:
    there = pane("plan")
    stop(there)
    assert there.pen.reach[2] < there.work().x0 + 0.6 and ">stop</text>" in there.pen.svg()


def test_clamps_are_rings_where_they_press() -> None:
    there = pane("plan")
    places = ((10.0, 8.0), (100.0, 8.0))
    holding = there.placed.setting.holding.model_copy(update={"clamps": places})
    placed = replace(there.placed, setting=there.placed.setting.model_copy(update={"holding": holding}))
    clamped = replace(there, placed=placed)
    clamp_tips(clamped)
    svg = clamped.pen.svg()
    assert svg.count("<circle") == 2 and ">K1</text>" in svg and ">K2</text>" in svg
    front = replace(pane("front"), placed=placed)
    clamp_tips(front)
    assert "<circle" not in front.pen.svg()


def test_stick_up_is_the_height_above_the_jaws() -> None:
    told: list[float] = []
    stick_up(pane("front"), lambda mm: told.append(mm) or "h")      # type: ignore[func-returns-value]
    assert told == [12.5]                                          # 24 + 0.5 of stock − 12 in the jaws


def test_centre_lines_of_all_holes() -> None:
    for name in ("plan", "front"):
        there = pane(name)
        centre_lines(there)
        assert there.pen.svg().count("<path") == 4


def test_a_hole_is_worked_at_its_mouth_and_a_face_at_its_middle() -> None:
    there = pane("plan")
    assert where(there.placed, "hole-2") == (98.0, 8.0, 24.0)
    assert where(there.placed, "-X") == (0.0, 17.0, 12.0)
    assert where(there.placed, "nothing") is None


def test_a_lower_row_only_where_something_lies_at_the_front_or_one_is_too_short() -> None:
    there = pane("plan").placed
    assert not lower_row(there, {"hole-3": (30,), "step-1": (20,)}, 120.0)
    assert lower_row(there, {"hole-1": (30,)}, 120.0)
    assert not lower_row(there, {"hole-1": (30,), "hole-3": (30,)}, 120.0)
    assert lower_row(there, {"hole-3": (30,), "step-1": (20,)}, 12.0)


@given(st.lists(st.floats(0.0, 100.0), min_size=1, max_size=8))
def test_balloons_of_a_row_never_overlap(places: list[float]) -> None:
    line = [_Balloon("10", [(x, 5.0)]) for x in places]
    _spread(line, Window(0.0, 0.0, 110.0, 10.0), True)
    assert all(b.x - a.x >= (a.width + b.width) / 2 for a, b in pairwise(line))
    assert line[0].x >= 0.0 and line[-1].x <= 110.0
    assert [b.anchors[0][0] for b in line] == sorted(b.anchors[0][0] for b in line)
