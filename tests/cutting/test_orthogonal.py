"""The shear plane: worked examples of the books."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting.heat import shear_strain
from firstoff.cutting.orthogonal import shear_angle
from firstoff.errors import OutOfRange
from tests.published import agrees


def test_chip_of_the_second_book() -> None:
    # FO-05: 0.127 to 0.228 mm, rake 10 degrees, 2 m/s
    ratio, rake = 0.127 / 0.228, np.radians(10.0)
    for what, published, ours, unit in (
        ("shear angle", 31.27, np.degrees(shear_angle(ratio, rake)), "deg"),
        ("strain of the chip", 2.036, shear_strain(ratio, rake), "1"),
        ("speed of the chip", 1.114, 2.0 * ratio, "m/s"),
    ):
        agrees("force", f"{what}: 2 m/s, chip 0.127 to 0.228 mm (Exa 14.3)", "sharma", published, float(ours), unit,
               within=0.01)


def test_angle_and_strain_of_the_first_book() -> None:
    # FO-06: 0.15 to 0.4 mm, rake 10 degrees
    ratio, rake = 0.15 / 0.4, np.radians(10.0)
    agrees("force", "shear angle, chip 0.15 to 0.4 mm, rake 10 degrees (problem 4.1)", "ghosh", 21.6,
           float(np.degrees(shear_angle(ratio, rake))), "deg", within=5e-3)
    agrees("force", "strain of the same chip (problem 4.1)", "ghosh", 2.74, float(shear_strain(ratio, rake)), "1",
           within=5e-3)


def test_impossible_tests_are_refused() -> None:
    with pytest.raises(OutOfRange, match="chip ratio is 0"):
        shear_angle(0.0)
    with pytest.raises(OutOfRange, match="rake is 2"):
        shear_angle(0.5, 2.0)
