"""The chain of errors from settings, cuts and instruments to the limits of a part: linear and Gaussian.

Each error source (a zero found by an edge, a part seated again, a cutter's true diameter) moves each limit by
its sensitivity times its error. A source of an angle enters with its lever as the sensitivity: only the
product of both, a length, counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.stack._arrays import Array, covariance_matrix, finite, not_negative


@dataclass(frozen=True)
class ErrorSource:
    """One thing that moves sizes: how far, and how long it stays the same.

    Fields:
        name: what a person calls it.
        sd: standard deviation [m].
        level: how long it stays the same (setting, operation, hole ...).
    """

    name: str
    sd: float
    level: str


@dataclass(frozen=True)
class Gaussian:
    """Sizes that share errors: one mean and one covariance for all rows; offsets by row come beside it.

    Fields:
        names: what each size is called.
        mean: expected size, or deviation from nominal [m], shape (K,).
        cov: covariance [m2], shape (K, K).
    """

    names: tuple[str, ...]
    mean: Array
    cov: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "mean", finite("mean", self.mean))
        object.__setattr__(self, "cov", covariance_matrix("cov", self.cov, len(self.names)))
        if self.mean.shape != (len(self.names),):
            raise OutOfRange(f"mean has the shape {self.mean.shape}", right=f"({len(self.names)},)")

    @property
    def sd(self) -> Array:
        """Standard deviation of each size [m], shape (K,)."""
        return np.asarray(np.sqrt(np.clip(np.diag(self.cov), 0.0, None)))

    def part(self, names: Sequence[str]) -> Gaussian:
        """The same belief about some of the sizes, in the order asked for."""
        missing = [name for name in names if name not in self.names]
        if missing:
            raise OutOfRange(f"no size {missing[0]!r} in the chain", right=", ".join(self.names))
        pick = np.array([self.names.index(name) for name in names], dtype=int)
        return Gaussian(tuple(names), self.mean[pick], self.cov[np.ix_(pick, pick)])


def covariance(sensitivities: npt.ArrayLike, sd: npt.ArrayLike) -> Array:
    """Covariance of sizes that are sums of independent errors.

    Args:
        sensitivities: change of each size per unit of each error [1], shape (K, S).
        sd: standard deviation of each error [m], shape (S,).

    Returns:
        Covariance [m2], shape (K, K).

    Raises:
        OutOfRange: if the shapes differ, or a standard deviation is negative.

    Range: errors independent of each other and small enough for a linear chain.
    Source: gum2008, eq. (13) with independent inputs.
    """
    matrix, spread = _chain(sensitivities, sd)
    scaled = matrix * spread
    return np.asarray(scaled @ scaled.T)


def share_of_each_source(sensitivities: npt.ArrayLike, sd: npt.ArrayLike) -> Array:
    """Which part of a size's variance comes from which error: where care pays.

    Args:
        sensitivities: change of each size per unit of each error [1], shape (K, S).
        sd: standard deviation of each error [m], shape (S,).

    Returns:
        Share of the variance [1], shape (K, S); each row adds up to 1, or is 0 where nothing varies.

    Raises:
        OutOfRange: if the shapes differ, or a standard deviation is negative.

    Range: as covariance.
    Source: gum2008, eq. (10): the terms of the sum.
    """
    matrix, spread = _chain(sensitivities, sd)
    terms = (matrix * spread) ** 2
    total = terms.sum(axis=1, keepdims=True)
    return np.asarray(np.divide(terms, total, out=np.zeros_like(terms), where=total > 0.0))


def worst_case(sensitivities: npt.ArrayLike, half_tolerance: npt.ArrayLike) -> Array:
    """How far a size can be out when every error is at its limit and all point the same way.

    Args:
        sensitivities: change of each size per unit of each error [1], shape (K, S).
        half_tolerance: largest error either way [m], shape (S,).

    Returns:
        Largest deviation either way [m], shape (K,).

    Raises:
        OutOfRange: if the shapes differ, or a tolerance is negative.

    Range: a linear chain.
    Source: own, from the triangle inequality on the linear chain.
    """
    matrix, half = _chain(sensitivities, half_tolerance)
    return np.asarray(np.abs(matrix) @ half)


def sd_of_equally_likely(half_width: npt.ArrayLike) -> Array:
    """Standard deviation of an error of which only its bounds are known.

    Args:
        half_width: largest error either way [m], any shape.

    Returns:
        Standard deviation [m], same shape.

    Raises:
        OutOfRange: if the half width is negative.

    Range: all values between the bounds equally likely.
    Source: gum2008, eq. (7).
    """
    return np.asarray(not_negative("half_width", half_width) / np.sqrt(3.0))


def gaussian_of(
    names: Sequence[str], mean: npt.ArrayLike, sensitivities: npt.ArrayLike, sources: Sequence[ErrorSource]
) -> Gaussian:
    """The joint belief about sizes whose errors come from named sources.

    Args:
        names: what each size is called.
        mean: expected size or deviation from nominal [m], shape (K,).
        sensitivities: change of each size per unit of each error [1], shape (K, S).
        sources: the S error sources.

    Returns:
        Names, mean and covariance of the sizes.

    Raises:
        OutOfRange: if the shapes differ.

    Range: as covariance.
    Source: gum2008, eq. (13).
    """
    spread = [source.sd for source in sources]
    return Gaussian(tuple(names), finite("mean", mean), covariance(sensitivities, spread))


def _chain(sensitivities: npt.ArrayLike, spread: npt.ArrayLike) -> tuple[Array, Array]:
    matrix, widths = finite("sensitivities", sensitivities), not_negative("spread of the errors", spread)
    if matrix.ndim != 2 or widths.shape != (matrix.shape[1],):
        raise OutOfRange(
            f"sensitivities have the shape {matrix.shape}, the errors {widths.shape}",
            right="(limits, errors) and (errors,)",
        )
    return matrix, widths
