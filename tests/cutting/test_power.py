"""Power and torque: worked examples of the books, and balances."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.power import cutting_power, power_of_removal, removal_rate, spindle_torque
from firstoff.errors import OutOfRange
from firstoff.shop.library import load_shop
from tests.published import agrees


def test_face_milling_of_the_book() -> None:
    rate = removal_rate(3e-3, 60e-3, 0.6 / 60)
    agrees("power", "metal removed in face milling, 3 x 60 mm at 0.6 m/min (ex. 23.2)", "kalpakjian", 108000.0,
           float(rate) * 60e9, "mm3/min", within=1e-6)
    agrees("power", "power of that face milling at 1.1 W s/mm3 (ex. 23.2)", "kalpakjian", 1980.0,
           float(power_of_removal(1.1e9, rate)), "W", within=1e-6)


def test_power_of_an_orthogonal_cut_of_the_book() -> None:
    # 567 N at 2 m/s, on a shaft of 0.1 m that turns at 20 rad/s
    agrees("power", "power of an orthogonal cut, 567 N at 2 m/s (ex. 14.3)", "sharma", 1134.0,
           float(cutting_power(567.0 * 0.1, 20.0)), "W", within=1e-3)


#: unit energies of the table [kW/(cm3/min)], least and most, and the material of the starter library that it is like
UNIT_ENERGY = [
    ("soft steel", "s275_hot_rolled", 0.05, 0.066,
     "our law is that of Kienzle's table for St37/42, which lies lower; the thickness of chip is not told here"),
    ("aluminium", "al_6082", 0.012, 0.022, ""),
    ("stainless steel", "stainless_304", 0.055, 0.09, ""),
    ("free-cutting brass", "brass_cz121", 0.056, 0.07,
     "this row of the table lies far above other handbooks, and is taken for wrong"),
]


@pytest.mark.parametrize(("what", "name", "least", "most", "miss"), UNIT_ENERGY)
def test_unit_energies_of_the_handbook(what: str, name: str, least: float, most: float, miss: str) -> None:
    """The starter library's force law at a chip of 0.1 mm, within the handbook's range."""
    material = load_shop(None).materials[name]
    assert material.tangential is not None and material.tangential_edge is not None
    energy = material.tangential.value + material.tangential_edge.value / 0.1e-3
    agrees("power", f"unit energy of {what}, middle of the range of table 2.1, at a chip of 0.1 mm", "stephenson",
           (least + most) / 2.0, energy / 60e9, "kW/(cm3/min)", within=(most - least) / 2.0, absolute=True,
           measured=True, miss=miss)


@given(st.floats(10.0, 3000.0), st.floats(50.0, 2000.0))
def test_spindle_gives_its_power_above_the_base_speed_and_its_torque_below(base: float, power: float) -> None:
    above, below = spindle_torque(power, base, 2 * base), spindle_torque(power, base, base / 2)
    assert cutting_power(above, 2 * base) == pytest.approx(power)
    assert below == pytest.approx(power / base)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="spindle speed is 0"):
        spindle_torque(400.0, 800.0, 0.0)
    with pytest.raises(OutOfRange, match="torque is -1"):
        cutting_power(-1.0, 50.0)
    with pytest.raises(OutOfRange, match="table feed is -1"):
        removal_rate(1e-3, 1e-3, -1.0)
    with pytest.raises(OutOfRange, match="specific energy is -5"):
        power_of_removal(np.array([1.0, -5.0]), 1e-7)
