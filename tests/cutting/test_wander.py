"""Wander: closed forms, limits, and a count against the chance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.wander import chance_beyond, run_off, sideways, slope_side_force, uneven_lips_force
from firstoff.errors import OutOfRange


def test_a_slope_pushes_most_at_45_degrees() -> None:
    assert slope_side_force(100.0, np.array([0.0, np.pi / 4, np.pi / 2])) == pytest.approx([0.0, 50.0, 0.0], abs=1e-9)


def test_on_a_slope_like_its_own_flank_one_side_cuts_alone() -> None:
    point = np.radians(118)
    flank = (np.pi - point) / 2
    force = uneven_lips_force(2e9, 0.004, 4e-5, np.array([0.0, flank, 1.2 * flank]), point)
    assert force == pytest.approx([0.0, 2e9 * 4e-5 * 0.004 / 8, 2e9 * 4e-5 * 0.004 / 8])
    small = uneven_lips_force(2e9, 0.004, 4e-5, np.array([0.01, 0.02]), point)
    assert small[1] == pytest.approx(2 * small[0], rel=1e-3)


def test_hooke_and_proportion() -> None:
    assert sideways(np.array([0.0, 10.0]), 2e4) == pytest.approx([0.0, 5e-4])
    assert run_off(0.02, 0.005) == pytest.approx(1e-4)


@given(st.floats(1e-5, 1e-3), st.floats(1e-5, 1e-3))
def test_without_bias_it_is_rayleigh(allowed: float, sd: float) -> None:
    assert chance_beyond(allowed, sd, 0.0) == pytest.approx(np.exp(-0.5 * (allowed / sd) ** 2), abs=0.005)


@pytest.mark.parametrize("bias", [0.0, 1e-4, 3e-4])
def test_it_is_what_a_count_finds(bias: float) -> None:
    rng = np.random.default_rng(4)
    x, y = rng.normal(bias, 1e-4, 200_000), rng.normal(0.0, 1e-4, 200_000)
    assert chance_beyond(2e-4, 1e-4, bias) == pytest.approx(np.mean(np.hypot(x, y) > 2e-4), abs=0.006)


def test_rows_broadcast() -> None:
    chance = chance_beyond(2e-4, np.array([5e-5, 1e-4, 2e-4]), np.array([0.0, 0.0, 1e-4]))
    assert chance.shape == (3,) and np.all(np.diff(chance) > 0)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="slope is 2"):
        slope_side_force(1.0, 2.0)
    with pytest.raises(OutOfRange, match="stiffness is 0"):
        sideways(1.0, 0.0)
    with pytest.raises(OutOfRange, match="share is -1"):
        run_off(0.01, -1.0)
    with pytest.raises(OutOfRange, match="standard deviation is 0"):
        chance_beyond(1e-4, 0.0, 0.0)
