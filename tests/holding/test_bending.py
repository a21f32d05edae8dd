"""Bending: hand-solved beams, symmetry, and a plate against direct integration."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from firstoff.errors import OutOfRange
from firstoff.holding.bending import (
    bending_stress,
    between_rests_at,
    bow_in_jaws,
    deflection_between_supports,
    edge_load_coefficient,
    moment_between_supports,
    overhang_deflection,
    plate_between_rests,
    support_share,
    wall_deflection,
    wall_stiffness,
)
from tests.published import agrees

ARMS = st.floats(1e-3, 0.1)


def test_centre_load_by_hand() -> None:
    # 800 N in the middle of 40 mm: F l/4 = 8 N m; 16 x 5 mm: 6 M/(b t^2) = 120 N/mm2.
    assert moment_between_supports(800.0, 20e-3, 20e-3) == pytest.approx(8.0)
    assert bending_stress(8.0, 16e-3, 5e-3) == pytest.approx(120e6)
    # F l^3/(48 E I), E 100 GPa, I = 16 x 125/12 mm4: 800 x 64e-6/(48 x 1e11 x 166.7e-12) = 64 um.
    assert deflection_between_supports(800.0, 20e-3, 20e-3, 16e-3, 5e-3, 1e11) == pytest.approx(64e-6)


@given(ARMS, ARMS)
def test_supports_share_the_force(near: float, far: float) -> None:
    share, other = support_share(near, far), support_share(far, near)
    assert share + other == pytest.approx(1.0)
    assert share * near == pytest.approx(other * far)  # moments about the screw
    assert moment_between_supports(1.0, near, far) == pytest.approx(share * near)


@given(ARMS, ARMS)
def test_deflection_by_integrating_the_moment(near: float, far: float) -> None:
    # Work of the load: w = integral of M m / (E I) with the moment m of a unit load.
    span, stiffness = near + far, 1e11 * 0.02 * 0.005**3 / 12.0
    x = (np.arange(4000) + 0.5) / 4000 * span
    unit = np.where(x < near, x * far / span, (span - x) * near / span)
    work = (unit**2).sum() * span / 4000 / stiffness
    assert deflection_between_supports(1.0, near, far, 0.02, 0.005, 1e11) == pytest.approx(work, rel=1e-3)


@pytest.mark.parametrize("nu", [0.0, 0.25, 0.33, 0.45])
def test_plate_coefficient_by_another_integration(nu: float) -> None:
    def wave(q: float) -> float:
        s, c = np.sinh(q), np.cosh(q)
        return float(2.0 * (s * c - q) / (q**3 * (4 * c * c - (1 + nu) ** 2 * s * s + (1 - nu) ** 2 * q * q)))

    start, stop = 0.02, 60.0
    ends = start / 3.0 + 1.0 / (stop**2 * (4.0 - (1.0 + nu) ** 2))  # limits of the wave at 0 and far out
    body = quad(wave, start, stop, limit=200)[0]
    assert edge_load_coefficient(nu) == pytest.approx((body + ends) / np.pi, rel=1e-4)


def test_plate_coefficient_of_the_book() -> None:
    agrees("holding", "long plate held along one edge, load on the free one, nu 0.3: give in F H2/D",
           "timoshenko1959", 0.168, float(edge_load_coefficient(0.3)), "1", within=0.02)


def test_one_wave_solves_the_plate_equation() -> None:
    # w = [A (sinh y - y cosh y) + B y sinh y] cos x, held at y = 0, load at y = q: free of moment there, and its
    # edge shear is the load: the closed form of each wave, checked by a linear system of the four conditions.
    nu, q = 0.3, 1.3
    s, c = np.sinh(q), np.cosh(q)
    f = np.array([[s - q * c, q * s], [-q * s, s + q * c],
                  [-(s + q * c), 2 * c + q * s], [-(2 * c + q * s), 3 * s + q * c]])
    moment, shear = f[2] - nu * f[0], f[3] - (2.0 - nu) * f[1]
    a_b = np.linalg.solve(np.stack([moment, shear]), [0.0, -1.0])
    closed = 2.0 * (s * c - q) / (4 * c * c - (1 + nu) ** 2 * s * s + (1 - nu) ** 2 * q * q)
    assert f[0] @ a_b == pytest.approx(closed)


def _cantilever(force: float, length: float, width: float, thickness: float, young: float) -> float:
    """F l^3/(3 E I)."""
    return force * length**3 / (3.0 * young * width * thickness**3 / 12.0)


def test_short_wall_is_a_cantilever_and_a_long_one_does_not_know_its_length() -> None:
    args = (2e-3, 7e10, 0.33)
    short = wall_deflection(50.0, 15e-3, 5e-3, *args)
    assert short == pytest.approx(_cantilever(50.0, 15e-3, 5e-3, 2e-3, 7e10 / (1.0 - 0.33**2)))
    assert wall_deflection(50.0, 15e-3, 0.1, *args) == wall_deflection(50.0, 15e-3, 0.2, *args)
    assert wall_deflection(-50.0, 15e-3, 0.1, *args) == -wall_deflection(50.0, 15e-3, 0.1, *args)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="arm is 0"):
        moment_between_supports(1.0, 0.0, 1.0)
    with pytest.raises(OutOfRange, match=r"poisson is 0\.5"):
        edge_load_coefficient(0.5)
    with pytest.raises(OutOfRange, match="thickness is -1"):
        deflection_between_supports(1.0, 1.0, 1.0, 1.0, -1.0, 1.0)


@pytest.mark.parametrize(("ends", "deflection"), [
    (2, lambda x: x**2 * (1.0 - x) ** 2 / 24.0), (1, lambda x: x**2 * (6.0 - 4.0 * x + x**2) / 24.0),
])
def test_a_wall_under_even_pressure_is_a_beam(ends: int, deflection: object) -> None:
    # unit beam: E I = 1 and q = 1 on a length of 1, its mean deflection integrated
    assert callable(deflection)
    mean = quad(deflection, 0.0, 1.0)[0]
    assert float(wall_stiffness(1.0, 12.0, 1.0, 1.0, ends)) == pytest.approx(1.0 / mean, rel=1e-9)
    assert float(wall_stiffness(12.0, 1.0, 1.0, 1.0, 0, floor_height=1.0)) == pytest.approx(20.0, rel=1e-9)
    assert float(wall_stiffness(1.0, 1.0, 1.0, 1.0, 0)) == 0.0
    with pytest.raises(OutOfRange, match="ends is 3"):
        wall_stiffness(1.0, 1.0, 1.0, 1.0, 3)


def test_a_flat_jaw_shares_its_force_between_wall_and_ends() -> None:
    # no solid metal beside it: all force on the wall; a wall as stiff as its faces: half of the approach
    assert float(bow_in_jaws(100.0, 0.0, 1e-4, 1e12, 1e6)) == pytest.approx(1e-4)
    both = float(bow_in_jaws(100.0, 1e-4, 1e-4, 1e12, 1e8))
    assert both == pytest.approx(100.0 / (1e8 + 0.5e8) / 2.0)
    assert float(bow_in_jaws(100.0, 1e-4, 1e-4, 1e12, 0.0)) == pytest.approx(100.0 / 1e8)
    with pytest.raises(OutOfRange, match="nothing bears"):
        bow_in_jaws(100.0, 0.0, 1e-4, 1e12, 0.0)


def test_a_plate_on_two_rests() -> None:
    force, span, thick, young, nu = 50.0, 0.06, 2e-3, 210e9, 0.3
    rigidity = young * thick**3 / (12.0 * (1.0 - nu**2))
    endless = float(plate_between_rests(force, span, 10.0, thick, young, nu))
    agrees("holding", "endless strip on two edges, load in the middle: give in F a2/D (table 23)", "timoshenko1959",
           0.01695, endless * rigidity / (force * span**2), "1", within=0.002)
    # short along its rests it is a beam, stiffer by 1 - nu^2 since it cannot bend across
    short = float(plate_between_rests(force, span, 5e-3, thick, young, nu))
    assert short == pytest.approx(force * span**3 * (1.0 - nu**2) / (4.0 * young * 5e-3 * thick**3))
    assert plate_between_rests(-force, span, 5e-3, thick, young, nu) == pytest.approx(-short)


def test_a_clamp_beyond_the_last_rest_by_hand() -> None:
    # 2000 N at 12 mm beyond rests 40 mm apart, 30 x 6 mm of aluminium, I = 540 mm4:
    # F c2 (l + c)/(3 E I) = 2000 x 144 x 52/(3 x 70000 x 540) = 0.13206 mm
    agrees("holding", "clamp 12 mm beyond rests 40 mm apart, 2000 N on 30 x 6 mm aluminium: give (table A-9)",
           "shigley", 0.13206, float(overhang_deflection(2000.0, 12e-3, 40e-3, 30e-3, 6e-3, 7e10)) * 1e3, "mm",
           within=0.001)


@given(ARMS, st.floats(0.0, 0.1))
def test_overhang_by_integrating_the_moment(over: float, back: float) -> None:
    stiffness = 1e11 * 0.02 * 0.005**3 / 12.0
    x, y = ((np.arange(4000) + 0.5) / 4000 * long for long in (back, over))
    work = ((x * over / max(back, 1e-9)) ** 2).sum() * back / 4000 + (y**2).sum() * over / 4000
    found = float(overhang_deflection(1.0, over, back, 0.02, 0.005, 1e11))
    assert found == pytest.approx(work / stiffness, rel=1e-3)
    if back == 0.0:
        assert found == pytest.approx(_cantilever(1.0, over, 0.02, 0.005, 1e11))


@given(ARMS, ARMS)
def test_aside_of_the_middle_a_beam_gives_less(near: float, far: float) -> None:
    half = (near + far) / 2.0
    aside, middle = (float(deflection_between_supports(1.0, a, b, 0.02, 0.005, 1e11))
                     for a, b in ((near, far), (half, half)))
    assert float(between_rests_at(near, far)) == pytest.approx(aside / middle)


def test_clamps_refuse_what_is_no_size() -> None:
    for bad in ((-1.0, 0.01, 0.0), (1.0, 0.0, 0.0), (1.0, 0.01, -0.1)):
        with pytest.raises(OutOfRange):
            overhang_deflection(*bad, 0.02, 0.005, 1e11)
    with pytest.raises(OutOfRange):
        between_rests_at(0.0, 0.0)
