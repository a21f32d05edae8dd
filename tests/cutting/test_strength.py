"""Strength: textbook stresses and their limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.strength import bending_stress, breaking_torque, stress_along, tool_stress, twisted_too
from firstoff.errors import OutOfRange


def test_bending_from_the_section_modulus() -> None:
    # gere: sigma = M c / I
    inertia = np.pi * 0.006**4 / 64
    assert bending_stress(100.0, 0.02, 0.006) == pytest.approx(100.0 * 0.02 * 0.003 / inertia)


@given(st.floats(1e8, 3e9), st.floats(1e-3, 2e-2))
def test_at_the_breaking_torque_the_surface_bears_no_more(strength: float, core: float) -> None:
    # gere: tau = T c / J
    polar = np.pi * core**4 / 32
    assert breaking_torque(strength, core) * core / 2 / polar == pytest.approx(strength)


def test_the_worse_of_two_sections_counts() -> None:
    slender = tool_stress(50.0, 0.03, 0.028, 0.002, 0.006, 0.0048)   # flutes nearly to the collet
    stubby = tool_stress(50.0, 0.03, 0.005, 0.002, 0.006, 0.0048)    # short flutes: the collet
    assert slender == pytest.approx(bending_stress(50.0, 0.027, 0.0048))
    assert stubby == pytest.approx(bending_stress(50.0, 0.029, 0.006))


@given(st.floats(0.0, 3e9), st.floats(0.0, 50.0), st.floats(2e-3, 2e-2))
def test_a_neck_is_bent_and_twisted(bent: float, torque: float, neck: float) -> None:
    """The larger eigenvalue of the stress at its surface; bending alone, and torsion alone, as each is."""
    shear = torque * neck / 2 / (np.pi * neck**4 / 32)
    tensor = np.array([[bent, shear], [shear, 0.0]])
    assert twisted_too(bent, torque, neck) == pytest.approx(np.linalg.eigvalsh(tensor)[1], rel=1e-9, abs=1e-3)
    assert twisted_too(bent, 0.0, neck) == pytest.approx(bent)


def test_small_carbide_breaks_where_large_does_not() -> None:
    # 100 N at 12 mm: a 2 mm cutter (core 1.6) is beyond groover's 1.4 ... 2.4 GPa of carbide, a 6 mm far below
    assert bending_stress(100.0, 0.012, 0.0016) > 2.4e9
    assert bending_stress(100.0, 0.012, 0.0048) < 0.2e9


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="diameter is 0"):
        bending_stress(10.0, 0.01, 0.0)
    with pytest.raises(OutOfRange, match="force is -5"):
        bending_stress(np.array([1.0, -5.0]), 0.01, 0.006)
    with pytest.raises(OutOfRange, match="core diameter is -1"):
        breaking_torque(1e9, -1.0)
    with pytest.raises(OutOfRange, match="flute length is 0"):
        tool_stress(50.0, 0.03, 0.0, 0.002, 0.006, 0.0048)


def test_a_cone_breaks_where_it_is_half_again_as_thick() -> None:
    # x / (t + s x)^3 is largest at s x = t / 2
    up, slope = np.linspace(0.0, 0.03, 3001), 0.2
    got = stress_along(np.array([10.0, 20.0]), 0.0, up, 2e-3 + slope * up)
    assert got == pytest.approx(bending_stress(np.array([10.0, 20.0]), 1e-3 / slope, 3e-3), rel=1e-5)
    assert stress_along(50.0, 0.0, np.array([0.0, 0.02]), np.array([6e-3, 6e-3])) == pytest.approx(
        bending_stress(50.0, 0.02, 6e-3))
