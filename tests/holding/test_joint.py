"""Screws in their holes: lengths, heads, slipping."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.errors import OutOfRange
from firstoff.holding.joint import bottoming, projection, slip_capacity, slip_use


def test_sole_screws_by_hand() -> None:
    # Sole 5 mm, head 0.3 below, thread 9 deep: M4 x 16 stands out 11.3 and bottoms by 2.3; x 12 has 1.7 to spare.
    length = np.array([16e-3, 12e-3])
    np.testing.assert_allclose(projection(length, 5e-3, 0.3e-3), [11.3e-3, 7.3e-3])
    np.testing.assert_allclose(bottoming(length, 5e-3, 0.3e-3, 9e-3), [2.3e-3, -1.7e-3])


def test_slip_by_hand() -> None:
    # Four screws of 2000 N, one pair of faces, 0.15: 1200 N.
    assert slip_capacity(2000.0, 4.0, 1.0, 0.15) == pytest.approx(1200.0)
    np.testing.assert_allclose(slip_use([600.0, -1800.0], 1200.0), [0.5, 1.5])
    assert slip_use(1.0, 0.0) == np.inf


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="screw_length is 0"):
        projection(0.0, 5e-3, 0.0)
    with pytest.raises(OutOfRange, match="usable_depth is -1"):
        bottoming(1.0, 1.0, 0.0, -1.0)
    with pytest.raises(OutOfRange, match=r"friction is -0\.1"):
        slip_capacity(1.0, 1.0, 1.0, -0.1)
