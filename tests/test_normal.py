"""The normal distribution against the mathematics library, its inverse, its symmetry and its tails."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special

from firstoff.errors import OutOfRange
from firstoff.normal import normal_cdf, normal_logcdf, normal_quantile


def test_cdf_equals_erfc_to_1e13_of_itself_down_to_the_last_float() -> None:
    x = np.concatenate([np.linspace(-37.0, 9.0, 9001), [0.0, -4.0 * math.sqrt(2.0)]])
    exact = np.array([0.5 * math.erfc(-v / math.sqrt(2.0)) for v in x])
    np.testing.assert_allclose(normal_cdf(x), exact, rtol=1e-12)


def test_log_goes_on_where_the_chance_is_zero() -> None:
    x = np.array([-1e4, -200.0, -40.0, -8.0, -1.0, 0.0, 1.0, 8.0, 30.0])
    np.testing.assert_allclose(normal_logcdf(x), special.log_ndtr(x), rtol=1e-12)
    assert normal_cdf(-200.0) == 0.0


def test_infinities() -> None:
    np.testing.assert_array_equal(normal_cdf([-np.inf, np.inf]), [0.0, 1.0])
    np.testing.assert_array_equal(normal_logcdf([-np.inf, np.inf]), [-np.inf, 0.0])


@given(st.floats(-300.0, -1e-9))
def test_quantile_undoes_the_cdf(log10_chance: float) -> None:
    chance = 10.0**log10_chance
    back = normal_cdf(normal_quantile(chance))
    # Far out one rounding of x changes the chance by x dx: the inverse can be no better than that.
    np.testing.assert_allclose(back, chance, rtol=1e-15 + 40.0**2 * 4e-16)


@given(st.floats(-8.0, 8.0))
def test_both_sides_make_one(x: float) -> None:
    assert abs(normal_cdf(x) + normal_cdf(-x) - 1.0) < 4e-16


def test_quantile_against_known_points() -> None:
    chance = np.array([1e-300, 1e-20, 1e-9, 0.025, 0.5, 0.6, 0.975])
    np.testing.assert_allclose(normal_quantile(chance), special.ndtri(chance), rtol=1e-13)


@pytest.mark.parametrize("bad", [0.0, 1.0, -0.1, float("nan")])
def test_quantile_refuses_what_is_no_chance(bad: float) -> None:
    with pytest.raises(OutOfRange, match="a chance is"):
        normal_quantile([0.5, bad])


def test_not_a_number_is_refused() -> None:
    with pytest.raises(OutOfRange, match="not a number"):
        normal_cdf([0.0, np.nan])


def test_few_are_as_many() -> None:
    """A few numbers are worked out one by one, many all at once."""
    x = np.linspace(-37.0, 9.0, 2001)
    many = normal_cdf(x)
    few = np.concatenate([normal_cdf(part) for part in np.array_split(x, 20)])
    assert few == pytest.approx(many, rel=5e-13)
    assert normal_cdf(np.array([[0.0, 1.0]])).shape == (1, 2) and normal_cdf(-np.inf) == 0.0
