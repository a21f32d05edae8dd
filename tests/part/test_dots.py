"""Drawings for the terminal: every dot lies on a line of the view, and every line is drawn, at one scale."""

from __future__ import annotations

from itertools import pairwise

from firstoff.part import dots
from firstoff.part.shapes import View

Line = tuple[tuple[float, float], ...]


def view(name: str, *lines: Line) -> View:
    """A view with these visible lines."""
    return View(name, (0, 0, 1), lines, (), (0.0, 0.0), (1, 0, 0), (0, 1, 0))


def frame(length: float, width: float) -> Line:
    """A rectangle."""
    return (0.0, 0.0), (length, 0.0), (length, width), (0.0, width), (0.0, 0.0)


def raised(lines: list[str]) -> set[tuple[int, int]]:
    """The dots of the letters, from the left and the top, read by the standard's numbering of dots 1 to 8."""
    places = {0: (0, 0), 1: (0, 1), 2: (0, 2), 3: (1, 0), 4: (1, 1), 5: (1, 2), 6: (0, 3), 7: (1, 3)}
    return {(2 * column + x, 4 * row + y) for row, line in enumerate(lines) for column, letter in enumerate(line)
            for bit, (x, y) in places.items() if (ord(letter) - dots.BLANK) >> bit & 1}


def test_a_frame_is_its_four_sides() -> None:
    *drawn, name = dots.picture([view("plan", frame(143.0, 40.0))])
    assert name == "plan"
    wanted = {(x, y) for x in range(144) for y in range(41) if x in (0, 143) or y in (0, 40)}
    assert raised(drawn) == wanted


def test_a_slanting_line_has_no_gap_and_rises_to_the_right() -> None:
    *drawn, _ = dots.picture([view("plan", ((0.0, 0.0), (10.0, 5.0)))])
    found = sorted(raised(drawn))
    assert [x for x, _ in found] == list(range(2 * dots.COLUMNS))
    assert all(0 <= one[1] - other[1] <= 1 for one, other in pairwise(found))


def test_views_stand_above_one_another_to_one_scale() -> None:
    sizes = {"front": (50.0, 10.0), "side": (9.0, 9.0), "plan": (50.0, 30.0)}
    lines = dots.picture(view(name, frame(*size)) for name, size in sizes.items())
    plan, front = lines.index("plan"), lines.index("front")
    assert (plan, lines[plan + 1], front) == (len(lines[:plan]), "", len(lines) - 1)
    assert max(map(len, lines[:plan])) == max(map(len, lines[plan + 2: front]))
    assert "side" not in lines


def test_a_tall_part_keeps_to_its_rows() -> None:
    *drawn, _ = dots.picture([view("plan", frame(1.0, 500.0))])
    assert len(drawn) == dots.ROWS


def test_nothing_is_drawn_of_nothing() -> None:
    assert dots.picture([]) == []
    assert dots.picture([view("plan")]) == []
