"""The circle of forces: worked examples of the books, and there and back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.heat import shear_strain
from firstoff.cutting.orthogonal import shear_angle, shear_plane, specific_forces
from firstoff.errors import OutOfRange
from tests.published import agrees


def test_forces_of_the_first_book() -> None:
    # FO-04: chip 0.25 to 0.75 mm, 2.5 mm wide, rake 0, 950 and 475 N
    plane = shear_plane(950.0, 475.0, 0.25e-3, 2.5e-3, 0.25 / 0.75)
    agrees("force", "friction of chip on tool, 950 and 475 N (problem 4.2)", "ghosh", 0.5,
           float(np.tan(plane.friction)), "1", within=1e-3)
    agrees("force", "shear stress at 950 and 475 N, chip 0.25 to 0.75 mm (problem 4.2)", "ghosh", 380.0,
           float(plane.stress) / 1e6, "N/mm2", within=0.01)


def test_forces_of_the_second_book() -> None:
    # FO-05: 0.127 to 0.228 mm, 6.35 wide, 2 m/s, rake 10 degrees, 567 and 227 N
    ratio, rake = 0.127 / 0.228, np.radians(10.0)
    plane = shear_plane(567.0, 227.0, 0.127e-3, 6.35e-3, ratio, rake)
    for what, published, ours, unit in (
        ("shear angle", 31.27, np.degrees(plane.angle), "deg"), ("friction angle", 31.82, np.degrees(plane.friction),
                                                                  "deg"),
        ("shear stress", 236.1, plane.stress / 1e6, "N/mm2"), ("strain of the chip", 2.036, shear_strain(ratio, rake),
                                                               "1"),
        ("power", 1.134, specific_forces(plane, rake).tangential * 0.127e-3 * 6.35e-3 * 2.0 / 1e3, "kW"),
        ("speed of the chip", 1.114, 2.0 * ratio, "m/s"),
    ):
        agrees("force", f"{what}: 567 and 227 N at 2 m/s, chip 0.127 to 0.228 mm (Exa 14.3)", "sharma", published,
               float(ours), unit, within=0.01)


def test_angle_and_strain_of_the_first_book() -> None:
    # FO-06: 0.15 to 0.4 mm, rake 10 degrees
    ratio, rake = 0.15 / 0.4, np.radians(10.0)
    agrees("force", "shear angle, chip 0.15 to 0.4 mm, rake 10 degrees (problem 4.1)", "ghosh", 21.6,
           float(np.degrees(shear_angle(ratio, rake))), "deg", within=5e-3)
    agrees("force", "strain of the same chip (problem 4.1)", "ghosh", 2.74, float(shear_strain(ratio, rake)), "1",
           within=5e-3)


@given(st.floats(100.0, 5000.0), st.floats(0.2, 1.0), st.floats(0.15, 0.8), st.floats(-0.2, 0.4))
def test_forces_go_in_and_come_out(force: float, share: float, ratio: float, rake: float) -> None:
    """What was measured on a chip is what the law then says of that chip."""
    plane = shear_plane(force, share * force, 1e-4, 3e-3, ratio, rake)
    back = specific_forces(plane, rake)
    if plane.stress > 0.0:
        assert back.tangential * 3e-7 == pytest.approx(force, rel=1e-9)
        assert back.radial * 3e-7 == pytest.approx(share * force, rel=1e-9)


def test_impossible_tests_are_refused() -> None:
    with pytest.raises(OutOfRange, match="chip ratio is 0"):
        shear_angle(0.0)
    with pytest.raises(OutOfRange, match="rake is 2"):
        shear_angle(0.5, 2.0)
    with pytest.raises(OutOfRange, match="thrust is -1"):
        shear_plane(100.0, -1.0, 1e-4, 1e-3, 0.5)
