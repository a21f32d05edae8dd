"""Walls of a tool that swings: slow teeth as a spring, quick ones as the mean force, and any as the cut followed."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import expm

from firstoff.cutting.chatter import Mode
from firstoff.cutting.engagement import engagement_angles
from firstoff.cutting.force import Coefficients, Engagement, forces_at, milling_forces, normal_force
from firstoff.cutting.wall import Wall, wall_lags
from firstoff.cutting.wall_swing import response, swung_off
from firstoff.errors import OutOfRange

LAW = Coefficients(767.01e6, 168.8e6, 222.0e6, 27.7e3, 26.6e3, 0.7e3)  # cjme2021, table 5
FEED, DEPTH, TURN = 0.03e-3, 0.4e-3, 2.0 * np.pi
SIGN = {"climb": 1.0, "conventional": -1.0}


def cut(direction: Wall, share: float = 0.3, teeth: int = 2) -> Engagement:
    angles = engagement_angles(share * 0.006, 0.006, direction)
    return Engagement(0.006, teeth, 0.5, DEPTH, float(angles.entry), float(angles.exit))


def static(direction: Wall, stiffness: float, force: Coefficients = LAW) -> NDArray[np.float64]:
    """What a spring leaves at each height [m]."""
    there = {"climb": np.pi, "conventional": 0.0}[direction] + wall_lags(cut(direction), direction)
    return np.asarray(SIGN[direction] * normal_force(force, cut(direction), FEED, there) / stiffness)


@pytest.mark.parametrize("direction", ["climb", "conventional"])
def test_slow_teeth_find_a_spring(direction: Wall) -> None:
    modes = [Mode(2e6, 0.05, TURN * 5000.0)]
    slow = swung_off(LAW, cut(direction), FEED, 0.0, modes, TURN * 0.5, direction)
    most = float(milling_forces(LAW, cut(direction), FEED, 0.0).peak_y) / 2e6
    assert slow == pytest.approx(0.0, abs=1e-3 * most)


@pytest.mark.parametrize("direction", ["climb", "conventional"])
def test_quick_teeth_hold_a_heavy_machine_at_the_mean_of_their_force(direction: Wall) -> None:
    modes = [Mode(2e6, 0.05, TURN * 1.0)]
    quick = swung_off(LAW, cut(direction), FEED, 0.0, modes, TURN * 400.0, direction)[0]
    mean = SIGN[direction] * float(milling_forces(LAW, cut(direction), FEED, 0.0).mean_y) / 2e6
    sharp = 0.05 * float(milling_forces(LAW, cut(direction), FEED, 0.0).peak_y) / 2e6     # of harmonics left out
    assert quick + static(direction, 2e6) == pytest.approx(mean, abs=sharp)


@pytest.mark.parametrize("direction", ["climb", "conventional"])
@pytest.mark.parametrize("turns", [70.0, 95.0, 160.0])
def test_any_teeth_find_what_the_cut_followed_in_time_finds(direction: Wall, turns: float) -> None:
    # a mode at 300 Hz and one at 1400 Hz, two teeth: step by step through a turn that ends as it began
    modes, steps = [Mode(2e6, 0.05, TURN * 300.0), Mode(8e6, 0.04, TURN * 1400.0)], 4000
    angle = TURN * np.arange(steps) / steps
    force, place = forces_at(LAW, cut(direction), FEED, angle).y, np.zeros(steps)
    for stiffness, damping, natural in modes:
        once = expm(np.array([[0.0, 1.0], [-natural**2, -2.0 * damping * natural]]) / turns / steps)
        push = (np.eye(2) - once) @ np.array([1.0 / stiffness, 0.0])
        state, through = np.zeros(2), np.linalg.matrix_power(once, steps)
        for pushed in force:
            state = once @ state + push * pushed
        state = np.linalg.solve(np.eye(2) - through, state)     # where the turn begins, so that it ends there
        for i, pushed in enumerate(force):
            place[i] += state[0]
            state = once @ state + push * pushed
    at_wall = {"climb": np.pi, "conventional": 0.0}[direction] + wall_lags(cut(direction), direction)
    there = np.interp(at_wall, angle, place)
    found = swung_off(LAW, cut(direction), FEED, 0.0, modes, TURN * turns, direction)[0]
    alone = static(direction, 2e6) + static(direction, 8e6)
    assert alone + found == pytest.approx(SIGN[direction] * there, abs=0.03 * np.max(np.abs(place)))


def test_a_cutter_that_runs_out_far_has_one_tooth() -> None:
    modes = [Mode(2e6, 0.05, TURN * 250.0)]
    both = swung_off(LAW, cut("climb"), 2.0 * FEED, 0.0, modes, TURN * 100.0, "climb")
    one = swung_off(LAW, cut("climb", teeth=1), 2.0 * FEED, 0.0, modes, TURN * 100.0, "climb")
    off = swung_off(LAW, cut("climb"), FEED, 1e-3, modes, TURN * 100.0, "climb")
    apart = np.max(np.abs(off - one))
    assert apart < 0.35 * np.max(np.abs(off - both))    # left of it: the static force of two teeth at half the feed


def test_rows_are_each_their_own_and_flanks_damp() -> None:
    stiff = np.array([1e6, 3e6])
    modes = [Mode(stiff, 0.03, TURN * 200.0)]
    both = swung_off(LAW, cut("climb"), FEED, np.array([0.0, 5e-6]), modes, TURN * 100.0, "climb", 4.0)
    each = [swung_off(LAW, cut("climb"), FEED, off, [Mode(k, 0.03, TURN * 200.0)], TURN * 100.0, "climb", 4.0)[0]
            for k, off in zip(stiff, (0.0, 5e-6), strict=True)]
    assert both == pytest.approx(np.stack(each), abs=1e-12)
    mode, pace = Mode(2e6, 0.02, TURN * 200.0), np.array([TURN * 200.0])
    free, rubbed = (response([mode], pace, rub)[0] for rub in (0.0, 50.0))
    assert np.abs(rubbed) < 0.6 * np.abs(free)
    give, rest = response([Mode(2e6, 0.02, TURN * 200.0)], np.array([0.0, TURN * 200.0]), 0.0)
    assert give[0, 0] == pytest.approx(0.5e-6) and rest == pytest.approx(0.5e-6)
    assert give[0, 1] == pytest.approx(0.5e-6 / (2j * 0.02))


def test_what_cannot_be() -> None:
    with pytest.raises(OutOfRange, match="mode"):
        swung_off(LAW, cut("climb"), FEED, 0.0, [], TURN, "climb")
    with pytest.raises(OutOfRange, match="wall"):
        swung_off(LAW, cut("climb"), FEED, 0.0, [Mode(1e6, 0.03, 1e3)], TURN, "conventional")
    with pytest.raises(OutOfRange, match="speed"):
        swung_off(LAW, cut("climb"), FEED, 0.0, [Mode(1e6, 0.03, 1e3)], 0.0, "climb")
