"""Rubbing: the least chip, and the teeth that a runout leaves at work, in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.rubbing import minimum_chip, offered_chips, working_teeth
from firstoff.errors import OutOfRange


def test_minimum_chip_of_a_sharp_edge() -> None:
    # wojciechowski2022: 0.2 to 0.4 of the edge radius; 5 um gives 1 to 2 um
    assert minimum_chip(5e-6, np.array([0.2, 0.4])) == pytest.approx([1e-6, 2e-6])


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="edge radius is -1"):
        minimum_chip(-1.0, 0.3)


def test_two_teeth_in_closed_form() -> None:
    """One stands out by twice the eccentricity before the other: it takes as much more, the other as much less."""
    assert offered_chips(20e-6, 2, 4e-6) == pytest.approx(np.array([[28e-6, 12e-6]]))
    assert offered_chips(6e-6, 2, 4e-6) == pytest.approx(np.array([[12e-6, -2e-6]]))     # what two turns leave
    assert offered_chips(6e-6, 1, 4e-6) == pytest.approx(np.array([[6e-6]]))


@given(st.floats(1e-6, 1e-4), st.integers(1, 6), st.floats(0.0, 1e-4))
def test_a_turn_takes_its_feed_whichever_tooth_does(chip: float, teeth: int, offset: float) -> None:
    """What is taken in a turn is its feed: no runout leaves or takes metal."""
    found = offered_chips(chip, teeth, offset)
    assert np.sum(np.maximum(found, 0.0)) == pytest.approx(teeth * chip, rel=1e-9)
    assert found[0, 0] >= chip * (1.0 - 1e-12)                    # the tooth that stands out never has less
    assert found[0, 0] <= teeth * chip * (1.0 + 1e-12)


def test_a_true_cutter_works_with_all_its_teeth() -> None:
    assert working_teeth(np.array([2e-5, 1e-6]), 3, 0.0, 2e-6) == pytest.approx([3.0, 0.0])
    # 10 um out: of two teeth one works at 15 um a tooth, both at 25
    assert working_teeth(np.array([15e-6, 25e-6]), 2, 10e-6, 2e-6) == pytest.approx([1.0, 2.0])


@given(st.floats(1e-6, 1e-4), st.integers(2, 4), st.floats(1e-6, 2e-5))
def test_more_runout_leaves_fewer_teeth_at_work(chip: float, teeth: int, least: float) -> None:
    work = working_teeth(chip, teeth, np.linspace(0.0, 5e-5, 40), least)
    if chip >= least:
        assert np.all(np.diff(work) <= 0.0) and np.all(work >= 1.0)


@pytest.mark.parametrize(("teeth", "offset"), [(0, 1e-6), (2, -1e-6)])
def test_impossible_cutters_are_refused(teeth: int, offset: float) -> None:
    with pytest.raises(OutOfRange):
        working_teeth(1e-5, teeth, offset, 1e-6)
