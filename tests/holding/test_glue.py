"""Glued and taped work: published strengths, hand-solved prying, limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.holding.glue import (
    EDGE,
    POISSON,
    edge_pull,
    patch_use,
    peel_use,
    shear_capacity,
    strength_after,
    strength_when_warm,
)
from tests.published import agrees

INCH, POUND = 0.0254, 4.4482216152605


def test_published_strengths_are_force_over_area() -> None:
    # table 10.16 gives both psi and MPa: one square inch carries so many pounds
    for pair, age, pounds, strength in (
        ("aluminium on aluminium", "10 min", 1480.0, 10.2e6), ("aluminium on aluminium", "48 h", 2270.0, 15.65e6),
        ("steel on steel", "10 min", 1920.0, 13.24e6), ("steel on steel", "48 h", 3300.0, 22.75e6),
    ):
        agrees("holding", f"cyanoacrylate, {pair}, {age}: what a square inch carries (table 10.16)", "petrie", pounds,
               float(shear_capacity(INCH**2, strength)) / POUND, "lbf", within=0.002)


def test_warm_glue_lets_go() -> None:
    assert strength_when_warm(10e6, [0.0, -5.0, 60.0], 60.0) == pytest.approx([10e6, 10e6, 5e6])
    rows = strength_when_warm(10e6, np.linspace(0.0, 200.0, 50), 60.0)
    assert (np.diff(rows) < 0.0).all() and rows[-1] < 0.3e6
    assert strength_when_warm(10e6, 12.0, 60.0) > 0.99 * 10e6, "a little warm is as good as cold"


def test_prying_by_hand() -> None:
    # 40 x 30 mm, 120 N up: 0.1 MPa; 0.8 N m about the short way adds 6 x 0.8/(0.03 x 0.0016) = 0.1 MPa.
    assert edge_pull(120.0, 0.8, 40e-3, 30e-3) == pytest.approx(0.2e6)
    assert edge_pull(-120.0, 0.8, 40e-3, 30e-3) == pytest.approx(0.0, abs=1e-6)


@given(st.floats(-500.0, 500.0), st.floats(-200.0, 200.0), st.floats(0.0, 0.05))
def test_edge_stress_by_adding_up_the_patch(side: float, up: float, height: float) -> None:
    # Linear stress over the length: its sum is the force, its moment the prying.
    length, width = 0.04, 0.03
    edge = float(edge_pull(up, side * height, length, width))
    mean = up / (length * width)
    x = (np.arange(1000) + 0.5) / 1000 * length - length / 2.0
    stress = mean + (edge - mean) * x / (length / 2.0)
    step = length / 1000 * width
    assert stress.sum() * step == pytest.approx(up, abs=1e-6)
    assert (stress * x).sum() * step == pytest.approx(abs(side * height), rel=1e-4, abs=1e-9)


def test_use_has_its_two_limits() -> None:
    # Force in the joint: shear alone. Pure lift: pull alone.
    assert patch_use(120.0, 0.0, 0.0, 40e-3, 30e-3, 1e6, 1e6) == pytest.approx(0.1)
    assert patch_use(0.0, 240.0, 0.0, 40e-3, 30e-3, 1e6, 1e6) == pytest.approx(0.2)
    assert patch_use(0.0, -240.0, 0.0, 40e-3, 30e-3, 1e6, 1e6) == 0.0


@given(st.floats(0.0, 0.05), st.floats(0.0, 0.05))
def test_a_higher_cut_pries_more(low: float, more: float) -> None:
    args = (40e-3, 30e-3, 4e6, 3e6)
    assert patch_use(100.0, 0.0, low, *args) <= patch_use(100.0, 0.0, low + more, *args)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match=r"covered is 1\.5"):
        shear_capacity(1e-3, 1e6, 1.5)
    with pytest.raises(OutOfRange, match="length is 0"):
        edge_pull(1.0, 0.0, 0.0, 1.0)
    with pytest.raises(OutOfRange, match="load_height is -1"):
        patch_use(1.0, 0.0, -1.0, 1.0, 1.0, 1.0, 1.0)


def test_tape_creeps_by_a_power_of_time() -> None:
    # ten times as long at an exponent of 0.2: 10^-0.2 = 0.631
    assert strength_after(2e5, 600.0, 60.0, 0.2) == pytest.approx(0.631 * 2e5, rel=1e-3)
    assert strength_after(2e5, 30.0, 60.0, 0.2) == 2e5, "no stronger than it was measured"
    rows = strength_after(2e5, np.array([60.0, 300.0, 3600.0]), 60.0, np.array([0.2, 0.2, 0.2]))
    assert (np.diff(rows) < 0.0).all() and (strength_after(2e5, 1e4, 60.0, 0.0) == 2e5)
    for bad in ((-1.0, 60.0, 60.0, 0.2), (1.0, 0.0, 60.0, 0.2), (1.0, 60.0, 60.0, -0.1)):
        with pytest.raises(OutOfRange):
            strength_after(*bad)


def edge_of_a_plate(poisson: float) -> float:
    """Pressure under a load at the free edge of a plate on springs, times sqrt(D/k) over the load.

    Our own solution: waves along the edge, exp(-s y) with (s^2 - a^2)^2 = -1, no moment and the load's shear there.
    """
    def wave(along: float) -> float:
        s = np.sqrt(along**2 + 1j)
        roots = np.array([s, np.conj(s)])
        moment, shear = roots**2 - poisson * along**2, -roots**3 + (2.0 - poisson) * along**2 * roots
        return float(abs(np.linalg.solve(np.array([moment, shear]), np.array([0.0, 1.0])).sum().real))

    from scipy.integrate import quad

    return float(quad(wave, 0.0, 200.0, limit=500)[0]) / np.pi


def test_a_load_at_the_edge_of_a_plate_on_springs() -> None:
    """Published for any Poisson's ratio as a formula: what we use of it against the plate solved anew."""
    agrees("holding", "lift at the free edge of a thin plate on its glue: pull x sqrt(D/k) / force, nu 0.3, by waves",
           "westergaard1926", edge_of_a_plate(POISSON), EDGE, "1", within=0.01)
    formula = np.sqrt(2.0 + 1.2 * 0.15) / np.sqrt(12.0 * (1.0 - 0.15**2))
    assert edge_of_a_plate(0.15) == pytest.approx(formula, rel=0.002), "the ratio of the publication"


def test_peeling_by_hand() -> None:
    # 1 mm of aluminium, 70 GPa: D = 70e9 x 1e-9/(12 x 0.91) = 6.41 N m; 600 N/m: sqrt(2 x 600 x 6.41)/0.465 = 189 N
    assert peel_use(189.0, 1e-3, 70e9, 600.0) == pytest.approx(1.0, rel=0.01)
    assert peel_use(-189.0, 1e-3, 70e9, 600.0) == 0.0
    assert patch_use(0.0, 20.0, 0.0, 40e-3, 30e-3, 1e6, 1e6, peeled=0.5) == pytest.approx(0.5)
    assert patch_use(0.0, 20.0, 0.0, 40e-3, 30e-3, 1e6, 1e6, peeled=1e-6) == pytest.approx(20.0 / 1200.0)


@given(st.floats(0.2e-3, 20e-3), st.floats(0.1, 10.0))
def test_a_plate_twice_as_thick_bears_eight_times_the_energy(thick: float, load: float) -> None:
    one, two = (float(peel_use(load, size, 70e9, 300.0)) for size in (thick, 2.0 * thick))
    assert one == pytest.approx(two * 8.0**0.5) and peel_use(2.0 * load, thick, 70e9, 300.0) == pytest.approx(2 * one)


def test_twist_and_prying_by_hand() -> None:
    # 40 x 30 mm: 1.2 N m turn it with 6 x 1.2/(0.04 x 0.03 x 0.05) = 0.12 N/mm2 at a corner
    assert patch_use(0.0, 0.0, 0.0, 40e-3, 30e-3, 1e6, 1e6, twist=-1.2) == pytest.approx(0.12)
    # 0.8 N m over the length 0.1 N/mm2, 0.6 N m over the width another 0.1
    assert patch_use(0.0, 0.0, 0.0, 40e-3, 30e-3, 1e6, 1e6, pry=0.8, other_pry=-0.6) == pytest.approx(0.2)
    both = patch_use(120.0, 0.0, 0.0, 40e-3, 30e-3, 1e6, 1e6, pry=0.8, twist=1.2)
    assert both == pytest.approx(np.hypot(0.1 + 0.12, 0.1))
    # pressed on by 120 N beyond its kern: 0.8 N m lift the other edge no more
    assert patch_use(0.0, -120.0, 0.0, 40e-3, 30e-3, 1e6, 1e6, pry=0.8) == pytest.approx(0.0, abs=1e-9)
