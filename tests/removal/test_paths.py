"""Moves as pieces: as long as they are, as near to their arcs, and none of what is not known."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from firstoff.errors import OutOfRange
from firstoff.removal.moves import Doubt, Kind, Move, moves_of
from firstoff.removal.paths import certain, pieces_of, straight
from firstoff.removal.stock import Stock
from tests.removal.paths import along, arc


def test_lines_are_divided_evenly_and_joined() -> None:
    move, begin, end = straight(along((0, 0, 0), (10, 0, 0), (10, 0.4, 0)), 1.0)
    assert np.bincount(move).tolist() == [10, 1]
    assert np.linalg.norm(end - begin, axis=1)[:10] == pytest.approx(1.0)
    assert (begin[1:] == end[:-1]).all() or begin[1:] == pytest.approx(end[:-1], abs=1e-12)


@pytest.mark.parametrize("kind", [Kind.CLOCKWISE, Kind.COUNTER])
def test_chords_leave_their_arc_by_less_than_they_may(kind: Kind) -> None:
    _, begin, end = straight(moves_of([arc((10, 0, 0), (0, 10, 3.0), (0, 0, 0), kind)]), 1e9)
    middle = 0.5 * (begin + end)
    assert np.hypot(begin[:, 0], begin[:, 1]) == pytest.approx(10.0)
    assert (10.0 - np.hypot(middle[:, 0], middle[:, 1])).max() <= 2.0e-4
    turn = math.pi / 2 if kind == Kind.COUNTER else 1.5 * math.pi
    assert np.linalg.norm((end - begin)[:, :2], axis=1).sum() == pytest.approx(10.0 * turn, rel=1e-4)
    assert end[-1] == pytest.approx([0, 10, 3.0]) and np.diff(begin[:, 2]) == pytest.approx(3.0 / len(begin))


def test_an_arc_in_an_upright_plane() -> None:
    move = Move(1, Kind.CLOCKWISE, (0.0, 0.0, 5.0), (5.0, 0.0, 0.0), (0.0, 0.0, 0.0), 18, 1.0, 1.0, 1)
    _, begin, _ = straight(moves_of([move]), 1e9)
    assert np.hypot(begin[:, 0], begin[:, 2]) == pytest.approx(5.0) and (begin[:, 1] == 0.0).all()


def test_time_and_feed_of_pieces() -> None:
    moves = along((0, 0, 0), (10, 0, 0), feed=5.0, spindle=-2.0 * math.pi * 10.0)
    pieces, tags = pieces_of(moves, Stock.block((5.0, 5.0, 1.0)), 4, 1.0)
    assert pieces[:, 6].sum() == pytest.approx(2.0) and pieces[:, 7] == pytest.approx(-5.0 / 40.0)
    assert tags[:, 0].tolist() == [1] * 10
    still, _ = pieces_of(along((0, 0, 0), (10, 0, 0), feed=0.0, spindle=0.0), Stock.block((5.0, 5.0, 1.0)), 4, 1.0)
    assert (still[:, 6:8] == 0.0).all()


def test_only_what_is_known_to_go_somewhere_is_kept() -> None:
    moves = along((0, 0, 0), (1, 0, 0), (2, 0, 0), (3, 0, 0))
    doubt = moves.doubt.copy()
    doubt[1], doubt[2] = int(Doubt.END), int(Doubt.SPINDLE)
    assert certain(replace(moves, doubt=doubt)).line.tolist() == [1, 3]
    stand = Move(4, Kind.STAND, (3.0, 0.0, 0.0), (3.0, 0.0, 0.0), (3.0, 0.0, 0.0), 17, 0.0, 0.0, 1)
    assert len(certain(moves_of([stand]))) == 0


@pytest.mark.parametrize("far", [1e308, math.nan, math.inf])
def test_a_move_out_of_this_world_is_refused_with_its_line(far: float) -> None:
    with pytest.raises(OutOfRange, match="line 1"):
        straight(along((0, 0, 0), (far, 0, 0)), 1.0)
