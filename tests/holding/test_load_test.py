"""A pull with a luggage scale: what holding and slipping say of the capacity."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.holding.load_test import held_loglik, pull_of, slipped_loglik
from firstoff.normal import normal_cdf

FORCES, SCATTERS = st.floats(1.0, 1e4), st.floats(0.02, 0.5)


def test_a_kilogram_is_known() -> None:
    assert pull_of(20.0) == pytest.approx(196.133)


@given(FORCES, SCATTERS)
def test_holding_its_own_capacity_is_even_odds(force: float, scatter: float) -> None:
    assert held_loglik(force, force, scatter) == pytest.approx(np.log(0.5))


@given(FORCES, FORCES, SCATTERS)
def test_the_chance_of_holding_is_that_of_not_having_slipped_before(
    capacity: float, force: float, scatter: float,
) -> None:
    """The density of slipping, added up over all loads above this one, is the chance that this one holds."""
    logs = np.linspace(np.log(force), np.log(force) + 12.0 * scatter + abs(np.log(capacity / force)), 4001)
    density = np.exp(slipped_loglik(capacity, np.exp(logs), scatter)) / np.sqrt(2.0 * np.pi)
    holds = float(np.exp(held_loglik(capacity, force, scatter)))
    assert np.trapezoid(density, logs) == pytest.approx(holds, abs=2e-3)
    assert holds == pytest.approx(float(normal_cdf(np.log(capacity / force) / scatter)), abs=1e-9)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="mass is -1"):
        pull_of(-1.0)
    with pytest.raises(OutOfRange, match="scatter is 0"):
        held_loglik(100.0, 100.0, 0.0)
    with pytest.raises(OutOfRange, match="force is 0"):
        slipped_loglik(100.0, 0.0, 0.1)
