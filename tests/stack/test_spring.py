"""Spring of a bar after a stressed skin is cut away."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.stack.spring import bow_after_both_skins, bow_after_skin
from tests.published import agrees


def test_thin_skin_by_hand_and_as_stoney() -> None:
    # curvature 6 s t / (E h^2), bow l^2/8 times that: 3 * 1e8 * 1e-5 * 0.0121 / (4 * 2.1e11 * 64e-6)
    bow = bow_after_skin(1e8, 1e-5, 8e-3, 0.11, 2.1e11)
    agrees("stack", "bow of 8 mm steel, 110 mm long, freed of 10 um of skin at 100 N/mm2", "stoney1909", 0.675,
           float(bow) * 1e6, "um", within=0.005)


def test_against_layers_let_go() -> None:
    # Independent way: 4000 layers of a bar in balance, the skin taken off, plane strain state fitted anew.
    h, t, length, modulus = 8e-3, 1.5e-3, 0.11, 2.1e11
    z = (np.arange(4000) + 0.5) / 4000 * h - h / 2
    skin = z > h / 2 - t
    stress = np.where(skin, 1e8, 0.0)
    basis = np.stack([np.ones_like(z[~skin]), z[~skin]])
    # What the rest carries is linear and balances the skin's force and moment.
    target = -np.array([stress[skin].sum(), (stress * z)[skin].sum()])
    rest = np.linalg.solve(basis @ basis.T, target)
    # Cut off: the rest gives up that linear stress; its curvature is the slope over E.
    curvature = -rest[1] / modulus
    bow = bow_after_skin(1e8, t, h, length, modulus)
    assert bow == pytest.approx(-curvature * length**2 / 8.0 * np.sign(-curvature), rel=2e-3)
    assert curvature > 0.0  # strain grows towards the cut face: longer there, convex there


@given(st.sampled_from([0.0, -3e8, 1e7, 2.5e8]), st.floats(1e-6, 3e-3))
def test_equal_skins_leave_it_straight_and_unequal_ones_take_sides(stress: float, depth: float) -> None:
    args = (depth, 8e-3, 0.11, 2.1e11)
    assert bow_after_both_skins(stress, stress, *args) == 0.0
    assert bow_after_both_skins(stress, 0.0, *args) == -bow_after_both_skins(0.0, stress, *args)
    assert bow_after_skin(stress, 0.0, *args[1:]) == 0.0
    assert np.sign(bow_after_skin(stress, *args)) == np.sign(stress)


def test_one_relieved_skin_is_the_same_either_way_when_thin() -> None:
    one = bow_after_skin(1e8, 1e-6, 8e-3, 0.11, 2.1e11)
    both = bow_after_both_skins(1e8, 0.0, 1e-6, 8e-3, 0.11, 2.1e11)
    assert one == pytest.approx(both, rel=1e-3)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="skin"):
        bow_after_skin(1e8, 8e-3, 8e-3, 0.11, 2.1e11)
    with pytest.raises(OutOfRange, match="two skins"):
        bow_after_both_skins(1e8, 1e8, 4e-3, 8e-3, 0.11, 2.1e11)
    with pytest.raises(OutOfRange, match="youngs_modulus is 0"):
        bow_after_skin(1e8, 1e-3, 8e-3, 0.11, 0.0)
