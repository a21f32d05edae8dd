"""Screws: published preloads and torques, the balance of work, properties."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.holding.screw import (
    FLANK_ANGLE,
    finger_torque,
    handle_torque,
    head_diameter_mean,
    jaw_force,
    preload_by_factor,
    preload_limit,
    preload_of_torque,
    proof_load,
    screw_efficiency,
    tightening_torque,
    torque_by_factor,
)
from tests.published import agrees

INCH, POUND = 0.0254, 4.4482216152605
FRICTION = np.array([0.08, 0.10, 0.12, 0.14])

# VDI 2230-1, table A1, class 8.8 (R_p0.2 640 N/mm2): preload [kN] and torque [N m] for the frictions above.
# Sizes: pitch, d2, d3 of ISO 724; smallest bearing face of a hexagon head and medium hole [mm].
TABLE = [
    (1.0, 5.3505, 4.7731, 8.88, 6.6, (10.7, 10.4, 10.2, 9.9), (7.7, 9.0, 10.1, 11.3)),
    (1.5, 9.0257, 8.1597, 14.63, 11.0, (31.0, 30.3, 29.6, 28.8), (36.0, 43.0, 48.0, 54.0)),
]


@pytest.mark.parametrize(("pitch", "d2", "d3", "face", "hole", "kilonewtons", "torques"), TABLE)
def test_published_preloads_and_torques(
    pitch: float, d2: float, d3: float, face: float, hole: float,
    kilonewtons: tuple[float, ...], torques: tuple[float, ...],
) -> None:
    preload = preload_limit(640e6, pitch / 1000, d2 / 1000, d3 / 1000, FRICTION)
    head = head_diameter_mean(face / 1000, hole / 1000)
    torque = tightening_torque(preload, pitch / 1000, d2 / 1000, head, FRICTION, FRICTION)
    for i, mu in enumerate(FRICTION):
        case = f"M{hole / 1.1:.0f} 8.8, mu {mu:.2f} (table A1)"
        agrees("joints", f"preload of {case}", "vdi2230", kilonewtons[i], float(preload[i]) / 1e3, "kN", within=0.015)
        agrees("joints", f"torque of {case}", "vdi2230", torques[i], float(torque[i]), "N m", within=0.015)


def test_m12_at_friction_014() -> None:
    agrees("joints", "preload of M12 8.8, mu 0.14 (worked example)", "vdi2230", 41.9,
           float(preload_limit(640e6, 1.75e-3, 10.8633e-3, 9.853e-3, 0.14)) / 1e3, "kN", within=0.015)


def test_torque_by_factor_of_a_textbook() -> None:
    pull = 0.85 * proof_load(0.334 * INCH**2, 85000 * POUND / INCH**2)
    torque = torque_by_factor(0.2, 0.75 * INCH, pull)
    agrees("joints", "torque of a 3/4 in screw, 0.334 in2, 85 % of 85,000 psi, K 0.2 (ex. 6.1)", "wentzell2004",
           3619.73, float(torque) / (POUND * INCH), "lbf in", within=1e-3)
    assert preload_by_factor(0.2, 0.75 * INCH, torque) == pytest.approx(pull)


@pytest.mark.parametrize(("size", "area", "newtons"), [("M4", 8.78, 5100), ("M5", 14.2, 8230), ("M8", 36.6, 21200)])
def test_proof_loads_of_88(size: str, area: float, newtons: float) -> None:
    # S_p 580 N/mm2
    agrees("joints", f"proof load of {size} 8.8", "iso898", newtons, float(proof_load(area * 1e-6, 580e6)), "N",
           within=0.003)


@given(st.floats(1.0, 1e5), st.floats(0.0, 0.4), st.floats(0.0, 0.4))
def test_preload_undoes_torque(preload: float, thread: float, head: float) -> None:
    torque = tightening_torque(preload, 0.8e-3, 4.48e-3, 7e-3, thread, head)
    assert preload_of_torque(torque, 0.8e-3, 4.48e-3, 7e-3, thread, head) == pytest.approx(preload)


@pytest.mark.parametrize(("size", "area", "stress", "newtons"), [
    ("M4 4.8", 8.78, 310.0, 2720.0), ("M5 10.9", 14.2, 830.0, 11800.0), ("M6 12.9", 20.1, 970.0, 19500.0),
])
def test_proof_loads_of_other_classes(size: str, area: float, stress: float, newtons: float) -> None:
    agrees("joints", f"proof load of {size} (recalled)", "iso898", newtons,
           float(proof_load(area * 1e-6, stress * 1e6)), "N", within=0.003)


def test_power_screw_of_a_textbook() -> None:
    """32 mm, two starts of 4 mm, a collar of 40 mm, mu 0.08, 6.4 kN."""
    efficiency = screw_efficiency(8e-3, 30e-3, 0.08, 40e-3, 0.08, 0.0)
    agrees("joints", "efficiency of a square screw with its collar (ex. 8-1)", "shigley", 0.311, float(efficiency),
           "1", within=0.003)
    agrees("joints", "torque of the same screw to raise 6.4 kN (ex. 8-1)", "shigley", 26.18,
           float(6400.0 * 8e-3 / (2.0 * np.pi * efficiency)), "N m", within=0.002)


def test_a_machinists_vise_of_a_textbook() -> None:
    """A couple of 35 N on 250 mm, a square thread of 6 mm mean radius and 8 mm lead, mu 0.27."""
    efficiency = screw_efficiency(8e-3, 12e-3, 0.27, 0.0, 0.0, 0.0)
    agrees("holding", "squeeze of a machinist's vise by a couple of 35 N (problem 8-76)", "hibbeler", 2.851,
           float(jaw_force(35.0 * 0.25, 8e-3, efficiency)) / 1e3, "kN", within=0.001)


def test_clamp_of_a_textbook() -> None:
    """Two starts of 2 mm at a mean diameter of 10 mm, mu 0.3, 40 N m (sample problem 8.5)."""
    efficiency = screw_efficiency(4e-3, 10e-3, 0.3, 0.0, 0.0, 0.0)
    agrees("joints", "force of a clamp with a square screw by 40 N m (problem 8.5, recalled)", "beer", 17.97,
           float(jaw_force(40.0, 4e-3, efficiency)) / 1e3, "kN", within=0.005)


def test_without_friction_all_work_goes_into_the_pull() -> None:
    # One turn: 2 pi T = F P.
    assert tightening_torque(1000.0, 1e-3, 5e-3, 8e-3, 0.0, 0.0) == pytest.approx(1.0 / (2.0 * np.pi))
    assert screw_efficiency(4e-3, 16e-3, 0.0, 20e-3, 0.0, 0.26) == pytest.approx(1.0)
    assert jaw_force(10.0, 4e-3, 1.0) == pytest.approx(2.0 * np.pi * 10.0 / 4e-3)


def test_vise_screw_by_hand() -> None:
    # 150 N at 120 mm on a screw of lead 4 at 0.25: 2 pi 18 / 0.004 / 4 = 7069 N.
    assert jaw_force(handle_torque(150.0, 0.12), 4e-3, 0.25) == pytest.approx(7068.6, rel=1e-4)
    assert finger_torque(50.0, 0.02, 0.5) == pytest.approx(0.5)  # two fingers, 25 N each at 10 mm


def test_efficiency_agrees_with_the_torque_of_a_v_thread() -> None:
    # The same screw by both formulas; the linear one leaves out the product of helix and friction (0.7 %).
    torque = tightening_torque(1000.0, 1e-3, 5.35e-3, 7.8e-3, 0.1, 0.12)
    efficiency = screw_efficiency(1e-3, 5.35e-3, 0.1, 7.8e-3, 0.12, FLANK_ANGLE)
    assert 1000.0 * 1e-3 / (2.0 * np.pi * torque) == pytest.approx(efficiency, rel=0.01)


@given(st.floats(0.01, 0.4), st.floats(0.5e-3, 40e-3))
def test_what_holds_itself_has_an_efficiency_below_a_half(friction: float, lead: float) -> None:
    # The classic statement for flat flanks without a collar.
    if lead / (np.pi * 16e-3) < friction:
        assert screw_efficiency(lead, 16e-3, friction, 0.0, 0.0, 0.0) < 0.5


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="preload is -1"):
        tightening_torque(-1.0, 1e-3, 5e-3, 7e-3, 0.1, 0.1)
    with pytest.raises(OutOfRange, match="pitch is 0"):
        preload_of_torque(1.0, 0.0, 5e-3, 7e-3, 0.1, 0.1)
    with pytest.raises(OutOfRange, match=r"efficiency is 1\.2"):
        jaw_force(1.0, 1e-3, 1.2)
    with pytest.raises(OutOfRange, match="jams"):
        screw_efficiency(50e-3, 16e-3, 1.2, 0.0, 0.0, 0.0)
    with pytest.raises(OutOfRange, match="a head of"):
        head_diameter_mean(5e-3, 6e-3)
    with pytest.raises(OutOfRange, match="torque holds nan"):
        preload_of_torque(np.nan, 1e-3, 5e-3, 7e-3, 0.1, 0.1)
