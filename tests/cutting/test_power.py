"""Power and torque: worked examples of the books, and balances."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.power import belt_torque, cutting_power, power_of_removal, removal_rate, spindle_torque
from firstoff.errors import OutOfRange


def test_face_milling_of_the_book() -> None:
    # FO-07: kalpakjian, ex. 23.2: 3 x 60 mm at 0.6 m/min, 1.1 W s/mm3
    rate = removal_rate(3e-3, 60e-3, 0.6 / 60)
    assert rate == pytest.approx(108000e-9 / 60)
    assert power_of_removal(1.1e9, rate) == pytest.approx(1980.0)


@given(st.floats(10.0, 3000.0), st.floats(50.0, 2000.0))
def test_spindle_gives_its_power_above_the_base_speed_and_its_torque_below(base: float, power: float) -> None:
    above, below = spindle_torque(power, base, 2 * base), spindle_torque(power, base, base / 2)
    assert cutting_power(above, 2 * base) == pytest.approx(power)
    assert below == pytest.approx(power / base)


def test_press_on_its_lowest_step() -> None:
    # balance: 350 W, 500 /min, all of it reaching the spindle, stalls at 2.0 times 6.68 N m
    speed = 500 * 2 * np.pi / 60
    assert belt_torque(350.0, 1.0, 2.0, speed) == pytest.approx(2.0 * 6.6845, rel=1e-4)
    assert cutting_power(belt_torque(350.0, 0.8, 1.0, speed), speed) == pytest.approx(280.0)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="spindle speed is 0"):
        spindle_torque(400.0, 800.0, 0.0)
    with pytest.raises(OutOfRange, match=r"efficiency is 1\.2"):
        belt_torque(350.0, 1.2, 2.0, 50.0)
    with pytest.raises(OutOfRange, match="torque is -1"):
        cutting_power(-1.0, 50.0)
    with pytest.raises(OutOfRange, match="table feed is -1"):
        removal_rate(1e-3, 1e-3, -1.0)
    with pytest.raises(OutOfRange, match="specific energy is -5"):
        power_of_removal(np.array([1.0, -5.0]), 1e-7)
