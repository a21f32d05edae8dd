"""A narrow band between jaws: limits of plane strain, and a handworked grip."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.holding.grip import crushed_height, crushing_pressure
from tests.published import agrees


def test_limits_of_plane_strain() -> None:
    agrees("holding", "flat die on the corner of a block: mean pressure over yield strength, 2 k", "hill1950", 1.155,
           float(crushing_pressure(1.0)), "1", within=0.001)
    agrees("holding", "flat die inside a face: mean pressure over yield strength, (2 + pi) k", "johnson1985", 2.97,
           float(crushing_pressure(1.0, at_edge=False)), "1", within=0.002)


def test_a_sliding_corner_bears_no_more_than_the_edge_pressure() -> None:
    # upper bound: a corner of height h shears off at an angle t: force x sin = k h/cos x length: p = 2 k/sin(2 t)
    angles = np.linspace(0.2, 1.3, 200)
    shear = 1.0 / np.sqrt(3.0)
    bounds = 2.0 * shear / np.sin(2.0 * angles)
    agrees("holding", "grip at the edge of a block: pressure at which a corner shears off, best angle", "own",
           float(bounds.min()), float(crushing_pressure(1.0)), "1", within=0.001)


def test_a_vise_on_a_thin_edge_by_hand() -> None:
    # 8000 N over 100 mm of S275: 8000/(100 x 275 x 1.1547) = 0.252 mm
    agrees("holding", "8000 N over 100 mm of jaw, yield 275 N/mm2: height that bears it, by hand", "own", 0.2519,
           float(crushed_height(8000.0, 0.1, 275e6)) * 1e3, "mm", within=0.001)


@given(st.floats(0.0, 5e4), st.floats(1e-3, 0.2), st.floats(1e7, 1e9))
def test_the_band_at_its_limit_presses_at_its_limit(force: float, width: float, strength: float) -> None:
    high = float(crushed_height(force, width, strength))
    assert high * width * float(crushing_pressure(strength)) == pytest.approx(force, rel=1e-9, abs=1e-9)


def test_refusals() -> None:
    for bad in ((-1.0, 0.1, 1e8), (1.0, 0.0, 1e8), (1.0, 0.1, 0.0)):
        with pytest.raises(OutOfRange):
            crushed_height(*bad)
