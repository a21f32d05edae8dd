"""One cell: how much of it an edge covers, and what is taken, so that nothing is lost."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.removal._cells import BINS, BOTTOM, LOW, PART, TOP, Work
from firstoff.removal._cells import covered as inner_covered
from firstoff.removal._cells import take as inner_take
from firstoff.removal.compiling import entry
from firstoff.removal.stock import EMPTY


@entry
def covered(edge: float, across: float, along: float) -> float:
    """A way in from outside."""
    return inner_covered(edge, across, along)


@entry
def take(work: Work, k: int, z: float, share: float) -> float:
    """A way in from outside."""
    return inner_take(work, k, z, share)


def cell(*intervals: tuple[float, float]) -> Work:
    """A stock of one cell, its intervals from above."""
    (bottom, top), *lower = intervals
    rods = np.array([[top], [bottom], [bottom], [0.0]], dtype=np.float32)
    pool = np.array([[high for _, high in lower], [low for low, _ in lower]], dtype=np.float32).reshape(2, -1)
    links = np.array([*range(1, len(lower)), -1, 0][-len(lower) - 1:], dtype=np.int32)
    more = np.array([0 if lower else -1], dtype=np.int32)
    return Work(rods, more, pool, links, 1, 1, np.zeros((3, BINS)), np.array([0.0, 1.0]),
                np.zeros((4, 1), dtype=np.int32), np.zeros(4, dtype=np.int32), np.zeros((4, 4), np.float32),
                max(bottom, *(low for low, _ in lower), -1.0e9))


def left(work: Work) -> float:
    """Material in the cell."""
    top, bottom, low, part = (float(v) for v in work.rods[:, 0])
    whole, place = (top - bottom) - part * (top - max(low, bottom)), int(work.more[0])
    while place >= 0:
        whole += float(work.pool[TOP, place] - work.pool[BOTTOM, place])
        place = int(work.links[place])
    return whole


@given(st.floats(-1.0, 1.0), st.floats(0.0, 2.0 * math.pi))
def test_share_of_a_square(edge: float, angle: float) -> None:
    """Against points strewn evenly over the square."""
    at = (np.arange(200) + 0.5) / 200 - 0.5
    x, y = np.meshgrid(at, at)
    inside = x * math.cos(angle) + y * math.sin(angle) < edge
    assert covered(edge, math.cos(angle), math.sin(angle)) == pytest.approx(inside.mean(), abs=0.006)


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(-2.0, 12.0), st.floats(0.01, 1.0)), max_size=12))
def test_what_is_taken_is_what_is_no_longer_there(cuts: list[tuple[float, float]]) -> None:
    work = cell((6.0, 10.0), (3.0, 5.0), (0.0, 1.0))
    for z, share in cuts:
        if work.rods[TOP, 0] > z + 1e-5:
            before = left(work)
            assert take(work, 0, z, share) == pytest.approx(before - left(work), abs=1e-5)


def test_whole_cuts_go_down_through_the_intervals() -> None:
    work = cell((6.0, 10.0), (3.0, 5.0))
    assert take(work, 0, 7.0, 1.0) == pytest.approx(3.0) and work.rods[TOP, 0] == 7.0
    assert take(work, 0, 4.0, 1.0) == pytest.approx(2.0) and work.rods[TOP, 0] == 4.0
    assert take(work, 0, -1.0, 1.0) == pytest.approx(1.0) and work.rods[TOP, 0] == EMPTY


def test_a_wall_in_a_cell_is_finished_by_the_cut_that_takes_the_rest() -> None:
    work = cell((0.0, 10.0))
    assert take(work, 0, 4.0, 0.25) == pytest.approx(1.5) and work.rods[PART, 0] == 0.25
    assert take(work, 0, 4.0, 0.25) == pytest.approx(0.0)
    assert take(work, 0, 2.0, 0.25) == pytest.approx(0.5) and work.rods[LOW, 0] == 2.0
    assert take(work, 0, 2.0, 1.0) == pytest.approx(6.0) and work.rods[PART, 0] == 0.0
