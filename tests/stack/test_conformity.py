"""Decisions on measured sizes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.stack.conformity import (
    Decision,
    acceptance_zone,
    decide,
    expanded_uncertainty,
    share_of_tolerance,
    too_coarse,
)
from tests.published import agrees


def test_zone_of_ten_plus_minus_005() -> None:
    # the rule: accept from LSL + U to USL - U
    zone = acceptance_zone(9.95e-3, 10.05e-3, expanded_uncertainty(4e-6))
    for word, published, ours in (("lower", 9.958, zone.lower), ("upper", 10.042, zone.upper)):
        agrees("decisions", f"10 +- 0.05 mm read with U 0.008 mm: {word} end of what is accepted", "iso14253",
               published, float(ours) * 1e3, "mm", within=1e-9)


def test_expanded_uncertainty_of_the_guide() -> None:
    # H.1.6 of the guide takes 2.92 for 99 % with 16 degrees of freedom; the usual factor 2 is that of 6.3.3
    agrees("decisions", "u 0.5, coverage factor 2: expanded uncertainty (6.3.3)", "gum2008", 1.0,
           float(expanded_uncertainty(0.5)), "1", within=1e-9)


def test_three_answers() -> None:
    reading = np.array([9.941, 9.943, 9.957, 9.959, 10.0, 10.041, 10.043, 10.057, 10.059]) * 1e-3
    said = decide(reading, 8e-6, 9.95e-3, 10.05e-3)
    assert said.tolist() == [-1, 0, 0, 1, 1, 1, 0, 0, -1]
    assert Decision(int(said[0])) is Decision.DOES_NOT_CONFORM


def test_one_sided_limit() -> None:
    assert decide([1e-3, 9.9e-4], 5e-5, -np.inf, 1e-3).tolist() == [0, 0]
    assert decide([9.4e-4, 1.1e-3], 5e-5, -np.inf, 1e-3).tolist() == [1, -1]


@given(st.floats(-1.0, 1.0), st.floats(0.0, 0.6), st.floats(0.0, 0.6))
def test_a_better_instrument_never_turns_a_verdict_over(y: float, u: float, v: float) -> None:
    fine, coarse = sorted((u, v))
    better, worse = (int(decide(y, band, -0.5, 0.5)) for band in (fine, coarse))
    assert better == worse or worse == 0


@given(st.floats(1e-6, 2.0), st.floats(-1.0, 1.0))
def test_too_coarse_at_one_means_that_nothing_is_proved(u: float, y: float) -> None:
    if too_coarse(u, -0.5, 0.5, 1.0) and y != 0.0:
        assert int(decide(y, u, -0.5, 0.5)) <= 0
    assert share_of_tolerance(u, -0.5, 0.5) == pytest.approx(2.0 * u)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="limits"):
        decide(0.0, 0.1, 1.0, -1.0)
    with pytest.raises(OutOfRange, match="uncertainty is -1"):
        acceptance_zone(0.0, 1.0, -1.0)
    with pytest.raises(OutOfRange, match="allowed_share is 2"):
        too_coarse(0.1, 0.0, 1.0, 2.0)
