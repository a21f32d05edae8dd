"""Moves: rows and arrays say the same; arcs are as long and reach as far as their closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.removal.moves import AXES, Doubt, Kind, Move, Moves, extents, joined, lengths, moves_of, swept

LINE = Move(3, Kind.LINE, (0.0, 0.0, 0.0), (3.0, 4.0, 12.0), (3.0, 4.0, 12.0), 17, 5.0, 100.0, 2, doubt=Doubt.FEED)


def arc(plane: int, begin: float, turn: float, radius: float = 5.0, rise: float = 0.0, last: float = 5.0) -> Move:
    """An arc about (1, 2, 3) from one angle on, by an angle with sign."""
    first, second, across = AXES[plane]
    points = []
    for angle, r, up in ((begin, radius, 0.0), (begin + turn, last, rise)):
        point = [1.0, 2.0, 3.0]
        point[first] += r * math.cos(angle)
        point[second] += r * math.sin(angle)
        point[across] += up
        points.append((point[0], point[1], point[2]))
    return Move(1, Kind.COUNTER if turn > 0 else Kind.CLOCKWISE, points[0], points[1], (1.0, 2.0, 3.0), plane, 1.0,
                0.0, 0)


def test_rows_and_arrays_say_the_same() -> None:
    rows = [LINE, arc(18, 0.3, -2.0), replace(LINE, kind=Kind.STAND, wait=2.0, exact=True, zero=3)]
    moves = moves_of(rows)
    assert list(moves) == rows and len(moves) == 3
    assert list(joined([moves, moves_of([]), moves])) == rows + rows
    assert list(moves.take(np.array([True, False, True]))) == [rows[0], rows[2]]
    assert len(joined([])) == 0 and joined([]).start.shape == (0, 3)


def test_a_line_is_as_long_as_pythagoras_says_and_does_not_turn() -> None:
    moves = moves_of([LINE])
    assert lengths(moves)[0] == 13.0 and swept(moves)[0] == 0.0
    assert extents(moves)[1].tolist() == [[3.0, 4.0, 12.0]]


@given(st.sampled_from(sorted(AXES)), st.floats(-3.1, 3.1), st.floats(0.01, 6.27), st.booleans(), st.floats(-9, 9))
def test_an_arc_turns_and_is_as_long_as_its_closed_form(
    plane: int, begin: float, turn: float, back: bool, rise: float
) -> None:
    turn = -turn if back else turn
    moves = moves_of([arc(plane, begin, turn, rise=rise)])
    assert swept(moves)[0] == pytest.approx(turn, abs=1e-9)
    assert lengths(moves)[0] == pytest.approx(math.hypot(5.0 * turn, rise), rel=1e-9)


@given(st.sampled_from(sorted(AXES)), st.floats(-3.1, 3.1), st.floats(0.01, 6.27), st.booleans(), st.floats(2.0, 8.0))
def test_an_arc_reaches_as_far_as_a_thousand_points_of_it(
    plane: int, begin: float, turn: float, back: bool, last: float
) -> None:
    turn = -turn if back else turn
    low, high = extents(moves_of([arc(plane, begin, turn)]))
    first, second, _ = AXES[plane]
    angle = begin + turn * np.linspace(0.0, 1.0, 2001)
    points = np.tile([1.0, 2.0, 3.0], (2001, 1))
    points[:, first] += 5.0 * np.cos(angle)
    points[:, second] += 5.0 * np.sin(angle)
    assert low[0] == pytest.approx(points.min(axis=0), abs=1e-4)
    assert high[0] == pytest.approx(points.max(axis=0), abs=1e-4)


@pytest.mark.parametrize("plane", sorted(AXES))
def test_start_and_end_in_one_point_is_a_whole_turn(plane: int) -> None:
    whole = arc(plane, 0.4, 1.0)
    moves = moves_of([replace(whole, end=whole.start), replace(whole, end=whole.start, kind=Kind.CLOCKWISE)])
    assert swept(moves).tolist() == [2.0 * math.pi, -2.0 * math.pi]
    low, high = extents(moves)
    first, second, across = AXES[plane]
    for axis in (first, second):
        assert high[:, axis] - low[:, axis] == pytest.approx([10.0, 10.0])
    assert (high[:, across] == low[:, across]).all()


def test_nothing_is_an_answer() -> None:
    none: Moves = moves_of([])
    assert lengths(none).shape == (0,) and swept(none).shape == (0,) and extents(none)[0].shape == (0, 3)
