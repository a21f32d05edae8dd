"""Walls along their height: beams by integration, the tip as a limit, and passes that leave less each time."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.engagement import engagement_angles
from firstoff.cutting.force import Coefficients, Engagement
from firstoff.cutting.push_off import tool_stiffness, wall_error
from firstoff.cutting.wall import Wall, beam_compliance, slice_heights, spring_passes, wall_by_slices
from firstoff.errors import OutOfRange

LAW = Coefficients(767.01e6, 168.8e6, 222.0e6, 27.7e3, 26.6e3, 0.7e3)  # cjme2021, table 5
FEED = 0.03e-3
BEAM = (6e11, 0.03, 0.015, 0.006, 0.0048)


def cut(direction: Wall, share: float = 0.05, helix: float = 0.5, depth: float = 0.008) -> Engagement:
    angles = engagement_angles(share * 0.006, 0.006, direction)
    return Engagement(0.006, 3, helix, depth, float(angles.entry), float(angles.exit))


def test_at_the_tip_it_is_the_stiffness_of_the_tool() -> None:
    assert beam_compliance(*BEAM, 0.0, 0.0) == pytest.approx(1.0 / tool_stiffness(*BEAM))


@given(st.floats(0.0, 0.029), st.floats(0.0, 0.029))
def test_the_beam_by_integrating_its_curvature(load: float, place: float) -> None:
    s = 0.03 * (np.arange(20000) + 0.5) / 20000
    d = np.where(s < 0.015, 0.0048, 0.006)
    arms = np.maximum(s - load, 0.0) * np.maximum(s - place, 0.0)
    give = np.sum(arms / (6e11 * np.pi * d**4 / 64)) * 0.03 / 20000
    assert beam_compliance(*BEAM, load, place) == pytest.approx(give, rel=1e-3, abs=1e-13)
    assert beam_compliance(*BEAM, load, place) == pytest.approx(beam_compliance(*BEAM, place, load))   # Maxwell


@pytest.mark.parametrize("direction", ["climb", "conventional"])
@pytest.mark.parametrize("helix", [0.0, 0.5])
def test_even_give_is_the_wall_of_a_spring(direction: Wall, helix: float) -> None:
    even = np.full((1, 5, 9), 1e-6)
    got = wall_by_slices(LAW, cut(direction, helix=helix), FEED, even, direction)
    spring = wall_error(LAW, cut(direction, helix=helix), FEED, 1e6, direction)
    assert got.left_on == pytest.approx(spring.left_on, rel=1e-5, abs=1e-12)


def test_a_beam_gives_less_than_a_force_at_its_tip_and_leans() -> None:
    load, height = slice_heights(0.008)
    give = beam_compliance(*BEAM, load[:, None], height)[None]
    got = wall_by_slices(LAW, cut("climb", 0.3), FEED, give, "climb")
    tip = wall_error(LAW, cut("climb", 0.3), FEED, tool_stiffness(*BEAM), "climb")
    assert 0.3 * tip.mean[0] < got.mean[0] < tip.mean[0]
    assert got.left_on[0, 0] > got.left_on[0, -1]        # more at the tip, which gives most


@given(st.floats(2e5, 1e8), st.floats(0.01, 0.4))
def test_each_pass_leaves_less(stiffness: float, share: float) -> None:
    left = spring_passes(LAW, cut("climb", share), FEED, np.array([stiffness]), "climb", 5)[0]
    assert left.shape == (5,)
    assert np.all(np.diff(left) <= 1e-12)
    assert 0.0 <= left[0] <= share * 0.006 + 1e-12


def test_a_stiff_machine_needs_no_second_pass_and_a_soft_one_leaves_much() -> None:
    stiff, soft = spring_passes(LAW, cut("climb"), FEED, np.array([1e9, 5e5]), "climb", 3)
    assert stiff[0] < 0.2e-6
    assert soft[1] > 0.2 * soft[0] > 1e-6
    # the first pass: what it is pushed off by the width that it really takes, not by the width set
    set_width = wall_error(LAW, cut("climb"), FEED, 5e5, "climb").mean[0]
    assert soft[0] < set_width


def test_impossible_walls_are_refused() -> None:
    with pytest.raises(OutOfRange, match="above the stickout"):
        beam_compliance(*BEAM, 0.04, 0.0)
    with pytest.raises(OutOfRange, match="compliance has the shape"):
        wall_by_slices(LAW, cut("climb"), FEED, np.ones((1, 2, 9)), "climb")
    with pytest.raises(OutOfRange, match="leaves no conventional wall"):
        wall_by_slices(LAW, cut("climb"), FEED, np.ones((1, 5, 9)), "conventional")
    with pytest.raises(OutOfRange, match="number of passes is 0"):
        spring_passes(LAW, cut("climb"), FEED, 1e6, "climb", 0)
    with pytest.raises(OutOfRange, match="depth of cut is 0"):
        slice_heights(0.0)
