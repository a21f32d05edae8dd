"""Pieces laid over the grid: where they lie, how long they take, whether they are just joined."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstoff.removal._pieces import HOW, KIND, LASTS, LINE, LONG, PER_TOOTH, PX, QX
from firstoff.removal.moves import Kind, moves_of
from firstoff.removal.paths import pieces_of
from firstoff.removal.stock import Stock
from tests.removal.paths import along, arc

STOCK = Stock.block((5.0, 5.0, 1.0), (1.0, -2.0, 0.0))


def test_they_lie_where_the_moves_do_and_are_divided_evenly() -> None:
    moves = along((0, 0, 5), (7.3, 0, 5), (7.3, 0.4, 4.0))
    pieces, tags = pieces_of(moves, STOCK, 2, 1.0)
    assert len(pieces) == 8 and tags[:, LINE].tolist() == [1] * 7 + [2] and (tags[:, HOW] == 0).all()
    wanted = [(7.3 * k / 7, 0.0, 5.0) for k in range(8)]
    assert STOCK.points(pieces[:7, PX:PX + 3]) == pytest.approx(np.array(wanted[:-1]), abs=1e-9)
    assert STOCK.points(pieces[:7, QX:QX + 3]) == pytest.approx(np.array(wanted[1:]), abs=1e-9)
    assert pieces[:, LONG] == pytest.approx([7.3 / 7] * 7 + [math.hypot(0.4, 1.0)])
    assert (pieces[1:, PX:PX + 3] == pieces[:-1, QX:QX + 3]).all()


def test_a_gap_between_moves_stays_one() -> None:
    moves = along((0, 0, 5), (1, 0, 5), (2, 0, 5), (3, 0, 5)).take(np.array([0, 2]))
    pieces, _ = pieces_of(moves, STOCK, 2, 1.0)
    assert STOCK.points(pieces[1:, PX:PX + 3]) == pytest.approx(np.array([[2.0, 0.0, 5.0]]), abs=1e-9)


def test_time_is_shared_by_length_and_the_chip_follows_from_feed_and_speed() -> None:
    moves = along((0, 0, 0), (10, 0, 0), feed=5.0, spindle=-2.0 * math.pi * 10.0)
    pieces, _ = pieces_of(moves, STOCK, 4, 1.0)
    assert pieces[:, LASTS] == pytest.approx(0.2) and pieces[:, PER_TOOTH] == pytest.approx(-5.0 / 40.0)
    given, _ = pieces_of(moves, STOCK, 4, 1.0, np.array([30.0]))
    assert given[:, LASTS] == pytest.approx(3.0)
    turn = moves_of([arc((2, 0, 0), (0, 2, 0), (0, 0, 0))])
    round_about, _ = pieces_of(turn, STOCK, 4, 1.0, np.array([30.0]))
    assert len(round_about) > 10 and round_about[:, LASTS].sum() == pytest.approx(30.0)


def test_a_move_that_goes_nowhere_keeps_its_time() -> None:
    still, _ = pieces_of(along((1, 1, 1), (1, 1, 1)), STOCK, 2, 1.0, np.array([4.0]))
    assert still[:, LASTS].tolist() == [4.0] and (still[:, LONG] == 0.0).all()


def test_rapids_are_marked() -> None:
    _, tags = pieces_of(along((0, 0, 0), (1, 0, 0), kind=Kind.RAPID, feed=0.0), STOCK, 2, 1.0)
    assert tags[:, KIND].tolist() == [1]
