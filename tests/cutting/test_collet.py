"""Collets: the wedge in closed form, the published span of pulls, and the resultant of friction."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.collet import collet_grip, creep_share
from firstoff.errors import OutOfRange
from tests.published import agrees


def test_a_frictionless_thread_ring_by_hand() -> None:
    # push 30 N m / (0.15 x 25 mm) = 8 kN; tan(8 degrees + atan 0.15) = 0.2967
    assert collet_grip(30.0, 0.025, 0.15, np.radians(8), 0.15) == pytest.approx(0.15 * 8000 / 0.29672, rel=1e-3)


def test_published_pulls_lie_within_technique() -> None:
    # colletslip: 600 lbf ill done, 3750 well done, on a 19 mm shank: the span is that of torque and oil
    ill = float(collet_grip(30.0, 0.032, 0.15, np.radians(8), 0.08))
    well = float(collet_grip(100.0, 0.032, 0.10, np.radians(8), 0.15))
    agrees("holding", "pull out of a collet, ill done (oiled, 30 N m)", "colletslip", 600 * 4.448, ill, "N",
           within=0.5, measured=True)
    agrees("holding", "pull out of a collet, well done (clean, 100 N m)", "colletslip", 3750 * 4.448, well, "N",
           within=0.5, measured=True)


@given(st.floats(1.0, 500.0), st.floats(0.1, 5.0))
def test_pull_and_torque_add_as_a_resultant(pull: float, torque: float) -> None:
    both = creep_share(pull, torque, 0.006, 4000.0)
    assert both**2 == pytest.approx(creep_share(pull, 0.0, 0.006, 4000.0) ** 2
                                    + creep_share(0.0, torque, 0.006, 4000.0) ** 2)
    assert creep_share(-pull, torque, 0.006, 4000.0) == creep_share(0.0, torque, 0.006, 4000.0)


def test_impossible_collets_are_refused() -> None:
    with pytest.raises(OutOfRange, match="taper angle is 0"):
        collet_grip(30.0, 0.025, 0.15, 0.0, 0.15)
    with pytest.raises(OutOfRange, match="torque is -1"):
        creep_share(10.0, -1.0, 0.006, 4000.0)
    with pytest.raises(OutOfRange, match="grip is 0"):
        creep_share(10.0, 1.0, 0.006, 0.0)
