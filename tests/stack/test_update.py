"""One Gaussian update: hand-solved, against rejection of drawn samples, and its properties."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from firstoff.errors import OutOfRange
from firstoff.stack.update import covariance_after, row_weights, update

COV = np.array([[4.0, 2.0], [2.0, 9.0]])


def test_one_size_by_hand() -> None:
    # Variance 4 read with variance 1: the mean goes 4/5 of the way, the variance becomes 4/5.
    done = update([[0.0], [5.0]], [[4.0]], [[1.0]], [10.0], [1.0])
    np.testing.assert_allclose(done.mean, [[8.0], [9.0]])
    np.testing.assert_allclose(done.cov, [[0.8]])


def test_log_likelihood_is_the_density_per_instrument_sd() -> None:
    design, sd = np.array([[1.0, -1.0], [0.0, 1.0]]), np.array([0.5, 0.3])
    rows = np.array([[0.0, 0.0], [1.0, 2.0]])
    done = update(rows, COV, design, [1.0, -1.0], sd)
    spread = design @ COV @ design.T + np.diag(sd**2)
    exact = [stats.multivariate_normal(design @ row, spread).logpdf([1.0, -1.0]) + np.log(sd).sum()
             for row in rows]
    np.testing.assert_allclose(done.log_likelihood, exact, rtol=1e-12)


def test_two_updates_are_one() -> None:
    design, sd, read = np.array([[1.0, -1.0], [0.0, 1.0]]), np.array([0.5, 0.3]), np.array([1.0, -1.0])
    both = update([[0.2, 0.1]], COV, design, read, sd)
    first = update([[0.2, 0.1]], COV, design[:1], read[:1], sd[:1])
    second = update(first.mean, first.cov, design[1:], read[1:], sd[1:])
    np.testing.assert_allclose(second.mean, both.mean, rtol=1e-12)
    np.testing.assert_allclose(second.cov, both.cov, rtol=1e-10)
    np.testing.assert_allclose(first.log_likelihood + second.log_likelihood, both.log_likelihood, rtol=1e-12)


def test_rows_weighted_and_updated_are_the_exact_posterior() -> None:
    # Rows are themselves drawn from a normal: weights and updates together must give the whole posterior.
    rows = np.random.default_rng(5).normal(0.0, 2.0, size=(200_000, 1))
    done = update(rows, [[1.0]], [[1.0]], [3.0], [1.0])
    weights = row_weights(done.log_likelihood)
    mean = weights @ done.mean[:, 0]
    variance = weights @ (done.mean[:, 0] - mean) ** 2 + done.cov[0, 0]
    assert mean == pytest.approx(3.0 * 5.0 / 6.0, abs=0.01)  # variance 4 + 1 before, 1 of the reading
    assert variance == pytest.approx(5.0 / 6.0, abs=0.01)


@given(st.floats(1e-3, 1e3), st.floats(-2.0, 2.0))
def test_measuring_never_widens(sd: float, lever: float) -> None:
    after = covariance_after(COV, [[1.0, lever]], [sd])
    assert np.linalg.eigvalsh(COV - after).min() > -1e-9
    assert np.linalg.eigvalsh(after).min() > -1e-9
    np.testing.assert_allclose(after, update([[0.0, 0.0]], COV, [[1.0, lever]], [1.0], [sd]).cov, atol=1e-12)


def test_a_useless_reading_changes_nothing() -> None:
    done = update([[1.0, 2.0]], COV, [[1.0, 0.0]], [50.0], [1e9])
    np.testing.assert_allclose(done.mean, [[1.0, 2.0]], atol=1e-6)
    np.testing.assert_allclose(done.cov, COV, atol=1e-6)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="reading_sd is 0"):
        update([[0.0]], [[1.0]], [[1.0]], [1.0], [0.0])
    with pytest.raises(OutOfRange, match="2 readings"):
        update([[0.0]], [[1.0]], [[1.0]], [1.0, 2.0], [1.0])
    with pytest.raises(OutOfRange, match="design"):
        covariance_after([[1.0]], [[1.0, 2.0]], [1.0])
    with pytest.raises(OutOfRange, match="no row"):
        row_weights([-np.inf, -np.inf])
