"""What a measurement says about sizes that share errors: one Gaussian update, and the weight of each row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.stack._arrays import Array, above_zero, covariance_matrix, finite


@dataclass(frozen=True)
class Updated:
    """Sizes after a measurement.

    Fields:
        mean: expected sizes by row [m], shape (N, K).
        cov: covariance, the same for all rows [m2], shape (K, K).
        log_likelihood: log density of the readings by row, counted per instrument sd [1], shape (N,).
    """

    mean: Array
    cov: Array
    log_likelihood: Array


def update(
    offsets: npt.ArrayLike,
    covariance: npt.ArrayLike,
    design: npt.ArrayLike,
    readings: npt.ArrayLike,
    reading_sd: npt.ArrayLike,
) -> Updated:
    """Sizes by row after readings of them, or of sums of them.

    Args:
        offsets: expected sizes by row before [m], shape (N, K).
        covariance: covariance of the sizes before [m2], shape (K, K).
        design: what each reading adds up [1], shape (M, K); a row of one 1 for a size measured directly.
        readings: what was read [m], shape (M,).
        reading_sd: standard uncertainty of each reading [m], shape (M,).

    Returns:
        Expected sizes and covariance afterwards, and the marginal log likelihood by row: it weighs the rows.

    Raises:
        OutOfRange: if shapes differ or a reading has no uncertainty.

    Range: readings independent of each other and of what is measured.
    Source: own, the conditional normal distribution.
    """
    rows = np.atleast_2d(finite("offsets", offsets))
    before = covariance_matrix("covariance", covariance, rows.shape[1])
    matrix, sd = _plan(design, reading_sd, rows.shape[1])
    read = finite("readings", readings)
    if read.shape != sd.shape:
        raise OutOfRange(f"{read.size} readings", right=f"as many as the design has rows: {sd.size}")
    root = _root(before, matrix, sd)
    reach = matrix @ before / sd[:, None]
    missed = np.linalg.solve(root, ((read - rows @ matrix.T) / sd).T)
    fit = -0.5 * (missed**2).sum(axis=0) - np.log(np.diag(root)).sum()
    moved = rows + np.linalg.solve(root.T, missed).T @ reach
    after = before - reach.T @ _solve(root, reach)
    return Updated(moved, 0.5 * (after + after.T), fit - 0.5 * len(sd) * np.log(2.0 * np.pi))


def covariance_after(covariance: npt.ArrayLike, design: npt.ArrayLike, reading_sd: npt.ArrayLike) -> Array:
    """Covariance that a planned measurement will leave, known before it is made.

    Args:
        covariance: covariance of the sizes before [m2], shape (K, K).
        design: what each reading adds up [1], shape (M, K).
        reading_sd: standard uncertainty of each reading [m], shape (M,).

    Returns:
        Covariance [m2], shape (K, K).

    Raises:
        OutOfRange: if shapes differ or a reading has no uncertainty.

    Range: as update.
    Source: own, the conditional normal distribution.
    """
    before = covariance_matrix("covariance", covariance)
    matrix, sd = _plan(design, reading_sd, len(before))
    reach = matrix @ before / sd[:, None]
    after = before - reach.T @ _solve(_root(before, matrix, sd), reach)
    return np.asarray(0.5 * (after + after.T))


def row_weights(log_likelihood: npt.ArrayLike) -> Array:
    """Weights of the rows from their log likelihoods.

    Args:
        log_likelihood: log likelihood of what was seen, by row [1], shape (N,).

    Returns:
        Weights [1], shape (N,), which add up to 1.

    Raises:
        OutOfRange: if no row makes the readings possible.

    Range: rows that stood for equal chances before.
    Source: own, the rule of Bayes.
    """
    logs = np.asarray(log_likelihood, dtype=float)
    top = logs.max(initial=-np.inf)
    if not np.isfinite(top) or np.isnan(logs).any():
        raise OutOfRange("no row makes what was read possible", right="check the readings and their unit")
    weight = np.exp(logs - top)
    return np.asarray(weight / weight.sum())


def _plan(design: npt.ArrayLike, reading_sd: npt.ArrayLike, size: int) -> tuple[Array, Array]:
    matrix, sd = finite("design", design), above_zero("reading_sd", reading_sd)
    if matrix.ndim != 2 or matrix.shape != (sd.size, size):
        raise OutOfRange(f"the design has the shape {matrix.shape}", right=f"({sd.size}, {size})")
    return matrix, sd


def _root(before: Array, matrix: Array, sd: Array) -> Array:
    """Root of the covariance of the readings, each in units of its own standard uncertainty."""
    whitened = matrix / sd[:, None]
    return np.asarray(np.linalg.cholesky(whitened @ before @ whitened.T + np.eye(len(sd))))


def _solve(root: Array, right_side: Array) -> Array:
    return np.asarray(np.linalg.solve(root.T, np.linalg.solve(root, right_side)))
