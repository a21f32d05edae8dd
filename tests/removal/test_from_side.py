"""Taking a layer out of the middle of a rod: what is left is what set arithmetic leaves."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.removal import _from_side
from firstoff.removal._cells import BINS, BOTTOM, PART, TOP, Work
from firstoff.removal.compiling import entry

LAYERS = st.lists(st.tuples(st.floats(-2.0, 12.0), st.floats(0.05, 3.0)), max_size=8)


@entry
def take_between(work: Work, k: int, low: float, high: float) -> None:
    """A way in from outside."""
    _from_side.take_between(work, k, low, high)


def rod() -> Work:
    """One cell from 0 to 10 mm."""
    rods = np.array([[10.0], [0.0], [0.0], [0.0]], dtype=np.float32)
    return Work(rods, np.array([-1], dtype=np.int32), np.zeros((2, 64), dtype=np.float32),
                np.zeros(65, dtype=np.int32), 1, 1, np.zeros((3, BINS)), np.array([0.0, 1.0]),
                np.zeros((4, 1), dtype=np.int32), np.zeros((2, 4), dtype=np.int32), np.zeros((4, 4), np.float32), 0.0)


def intervals(work: Work) -> list[tuple[float, float]]:
    """From above."""
    found = [(float(work.rods[BOTTOM, 0]), float(work.rods[TOP, 0]))]
    place = int(work.more[0])
    while place >= 0:
        found.append((float(work.pool[BOTTOM, place]), float(work.pool[TOP, place])))
        place = int(work.links[place])
    return [(low, high) for low, high in found if high > low]


@settings(deadline=None)
@given(LAYERS)
def test_what_is_left_is_what_was_not_taken(layers: list[tuple[float, float]]) -> None:
    work, at = rod(), np.linspace(0.0005, 9.9995, 10_000)
    there = np.ones(len(at), dtype=np.bool_)
    for low, thick in layers:
        take_between(work, 0, low, low + thick)
        there &= ~((at >= low) & (at <= low + thick))
    found = intervals(work)
    inside = np.zeros(len(at), dtype=np.bool_)
    for low, high in found:
        inside |= (at >= low) & (at <= high)
    assert (inside != there).sum() <= 2 * len(layers)          # on the ends themselves
    assert all(lower[1] < upper[0] for upper, lower in pairwise(found))
    assert work.rods[PART, 0] == 0.0


def test_one_in_the_middle_makes_two() -> None:
    work = rod()
    take_between(work, 0, 4.0, 6.0)
    assert intervals(work) == [(6.0, 10.0), (0.0, 4.0)]
    take_between(work, 0, 1.0, 2.0)
    assert intervals(work) == [(6.0, 10.0), (2.0, 4.0), (0.0, 1.0)]
    take_between(work, 0, 3.0, 20.0)
    assert intervals(work) == [(2.0, 3.0), (0.0, 1.0)]
    take_between(work, 0, -1.0, 20.0)
    assert intervals(work) == [] and work.rods[TOP, 0] == pytest.approx(-1.0e9)
