"""Holes: worked examples of the books, a maker's order of size, and balances."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.force import specific_force
from firstoff.cutting.hole import (
    drill_chip,
    drill_power,
    drill_torque,
    lip_thrust,
    tap_torque,
    thrust_by_power_law,
    thrust_over_pilot,
)
from firstoff.cutting.power import power_of_removal
from firstoff.errors import OutOfRange
from tests.cutting.shared import table

POINT = np.radians(118)
KGF = 9.80665


def test_torque_from_unit_power() -> None:
    # DR-01: kalpakjian, ex. 22.2 and sharma, 15.10: 10 mm, 0.2 mm, 800 /min, 0.5 W s/mm3
    torque, speed = drill_torque(0.5e9, 0.01, 0.2e-3, 0.0), 800 * 2 * np.pi / 60
    assert torque == pytest.approx(1.25)
    assert drill_power(torque, speed) == pytest.approx(104.72, rel=1e-4)


def test_torque_and_thrust_from_hardness() -> None:
    # DR-03: sharma, 15.4: HB 200, 12.7 mm, 0.254 mm, k 1.1, 100 /min (formulas recomputed: the book has an error)
    torque = drill_torque(200 * KGF * 1e6, 12.7e-3, 0.254e-3, 0.0)
    assert torque == pytest.approx(1024.2e-3 * KGF, rel=1e-3)
    assert drill_power(torque, 100 * 2 * np.pi / 60) == pytest.approx(97.0, rel=0.1)
    thrust = thrust_by_power_law(1.16 * 1.1 * KGF * 1e3, 12.7e-3, 0.254e-3, 0.01e-3, 0.85)
    assert thrust == pytest.approx(253.4 * KGF, rel=2e-3)


def test_order_of_size_in_steel() -> None:
    # DR-04: a tool maker's course: 10 mm at 0.3 mm in steel takes about 15 N m and 2500 N; klocke2011 for E295
    kc = specific_force(1990e6, 0.26, drill_chip(0.3e-3, POINT), 1e-3)
    assert drill_torque(kc, 0.01, 0.3e-3, 0.0) == pytest.approx(15.0, rel=0.3)
    assert lip_thrust(kc, 0.6, 0.01, 0.3e-3, POINT) == pytest.approx(2500.0, rel=0.3)


@given(st.floats(1e-3, 2e-2), st.floats(0.0, 0.99), st.floats(1e-5, 5e-4), st.floats(1.0, 300.0))
def test_torque_does_the_work_of_the_chips(diameter: float, pilot: float, feed: float, speed: float) -> None:
    rate = np.pi / 4 * (diameter**2 - (pilot * diameter) ** 2) * feed * speed / (2 * np.pi)
    power = drill_power(drill_torque(2e9, diameter, feed, pilot * diameter), speed)
    assert power == pytest.approx(power_of_removal(2e9, rate))


@given(st.floats(0.5, 3.1))
def test_thrust_is_ratio_times_area_times_sine(angle: float) -> None:
    # chip f/2 sin and lip D / 2 / sin: two lips make k f D / 2 whatever the point, projected by the sine
    assert lip_thrust(2e9, 0.7, 0.01, 1e-4, angle) == pytest.approx(0.7 * 2e9 * 1e-4 * 0.005 * np.sin(angle / 2))


def test_a_pilot_takes_the_chisel_edge_and_its_lip() -> None:
    assert thrust_over_pilot(1000.0, 0.5, 0.01, 0.0015, np.array([0.0015, 0.01])) == pytest.approx([500.0, 0.0])


def test_tapping_of_the_catalogue() -> None:
    # TA-01: tapcatalogue: M6 in Ck15, spiral flutes
    assert tap_torque(3.6e9, 1.15, 6e-3, 5e-3) == pytest.approx(1.5935, rel=1e-4)
    for case in table("tapping.json"):
        got = tap_torque(case["kc"] * 1e6, case["K"], case["D"] * 1e-3, case["Do"] * 1e-3)
        assert got == pytest.approx(case["torque_Nm"], rel=1e-3)


def test_a_wider_hole_taps_easier() -> None:
    torque = tap_torque(3.6e9, 1.35, 5e-3, np.array([4.1e-3, 4.2e-3, 4.3e-3, 5e-3]))
    assert np.all(np.diff(torque) < 0)
    assert torque[-1] == pytest.approx(0.0)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="pilot diameter is"):
        drill_torque(2e9, 0.01, 1e-4, 0.011)
    with pytest.raises(OutOfRange, match="point angle is 0"):
        drill_chip(1e-4, 0.0)
    with pytest.raises(OutOfRange, match="hole diameter is"):
        tap_torque(3.6e9, 1.3, 5e-3, 5.1e-3)
    with pytest.raises(OutOfRange, match=r"pilot diameter is 0\.001"):
        thrust_over_pilot(1000.0, 0.5, 0.01, 0.0015, 0.001)
    with pytest.raises(OutOfRange, match="specific force is -1"):
        lip_thrust(-1.0, 0.7, 0.01, 1e-4, 2.0)
    with pytest.raises(OutOfRange, match="feed per turn is 0"):
        thrust_by_power_law(1e4, 0.01, 0.0, 1e-5, 0.8)
    with pytest.raises(OutOfRange, match="spindle speed is -1"):
        drill_power(1.0, -1.0)
