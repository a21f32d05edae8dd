"""Chances that sizes are out of their limits: one size, or several that share errors."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.normal import normal_cdf, normal_quantile
from firstoff.stack._arrays import Array, covariance_matrix, finite, limits, not_negative

POINTS = 128  # fixed points a size: the chance comes within some 3 % of itself; the cost grows in proportion
_TOGETHER = 128  # rows that are computed together, so that they stay in the cache
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83, 89, 97)
_LOWEST = 1e-300  # a chance below it counts as none
_LEAST = 1e-6  # no point lies nearer to the end of a tail's mass
_GOLDEN = (5.0**0.5 - 1.0) / 2.0  # multiples of it spread evenly
_FLAT = 1e-12  # eigenvalues of a correlation below it are rounding
_FULL = 1e-10  # share of the variance by which a singular covariance is made a little less so


def chance_out(mean: npt.ArrayLike, sd: npt.ArrayLike, lower: npt.ArrayLike, upper: npt.ArrayLike) -> Array:
    """Chance that a normally spread size lies outside its limits.

    Args:
        mean: expected size by row [m], shape (N,).
        sd: standard deviation [m], broadcast with the rows; 0 for a size that does not vary.
        lower: lower limit [m], minus infinity where there is none.
        upper: upper limit [m], infinity where there is none.

    Returns:
        Chance [1], shape (N,), with its relative accuracy kept however small it is.

    Raises:
        OutOfRange: if sd is negative or a lower limit is not below its upper one.

    Range: all.
    Source: own, both tails of the normal distribution added.
    """
    below, above = _tails(finite("mean", mean), not_negative("sd", sd), *limits(lower, upper))
    return np.asarray(below + above)


def joint_chance_out(
    offsets: npt.ArrayLike, covariance: npt.ArrayLike, lower: npt.ArrayLike, upper: npt.ArrayLike,
    scale: npt.ArrayLike = 1.0, *, points: int = POINTS,
) -> Array:
    """Chance by row that any of several sizes with shared errors lies outside its limits.

    Args:
        offsets: expected sizes by row [m], shape (N, K).
        covariance: covariance of the sizes, the same for all rows [m2], shape (K, K), or of each row, (N, K, K); it
            may be singular.
        lower: lower limits [m], shape (K,), minus infinity where there is none.
        upper: upper limits [m], shape (K,), infinity where there is none.
        scale: by which all standard deviations of a row are larger [1], shape (N,).
        points: that each row looks at, a share of all [1]. Where only what many rows come to together counts, few do:
            one row and the next look at others, so that what they miss averages out.

    Returns:
        Chance [1], shape (N,), between the largest single chance and the sum of all; exact for one size,
        and for sizes that are out only together. Else within some 3 % of itself, however small.

    Raises:
        OutOfRange: if shapes differ, limits are crossed or the covariance is none.

    Range: up to 25 sizes at once.
    Source: owen2019, sect. 3 (each size in turn is put outside, the others drawn given that, and the chance
        divided by how many are then out), with fixed quasi-random points in place of random ones.
    """
    rows = np.atleast_2d(finite("offsets", offsets))
    size = rows.shape[1]
    matrix = _matrices(covariance, len(rows), size)
    low, high = (np.broadcast_to(limit, (size,)) for limit in limits(lower, upper))
    if size > len(_PRIMES):
        raise OutOfRange(f"{size} sizes at once", right=f"at most {len(_PRIMES)}")
    wide = np.broadcast_to(not_negative("scale", scale), (len(rows),))
    sd = np.sqrt(np.clip(np.diagonal(matrix, axis1=1, axis2=2), 0.0, None))
    below, above = _tails(rows, wide[:, None] * sd, low, high)
    single = below + above
    total = np.zeros(len(rows))
    for k in range(size):
        if single[:, k].max(initial=0.0) > _LOWEST:
            total += single[:, k] * _share_of_one(k, rows, matrix, (low, high), (below[:, k], above[:, k]), wide,
                                                  max(POINTS // max(points, 1), 1))
    return np.clip(total, single.max(axis=1), np.minimum(single.sum(axis=1), 1.0))


def _matrices(covariance: npt.ArrayLike, rows: int, size: int) -> Array:
    """One covariance for all rows, (1, K, K), or one for each, (N, K, K)."""
    if np.ndim(covariance) != 3:
        return covariance_matrix("covariance", covariance, size)[None]
    each = finite("covariance", covariance)
    if each.shape != (rows, size, size):
        raise OutOfRange(f"covariance has the shape {each.shape}", right=f"({rows}, {size}, {size})")
    return each


def _tails(mean: Array, sd: Array, low: Array, high: Array) -> tuple[Array, Array]:
    """Chances below the lower and above the upper limit."""
    mean, sd, low, high = np.broadcast_arrays(mean, sd, low, high)
    spread = np.where(sd > 0.0, sd, 1.0)
    below = np.where(sd > 0.0, normal_cdf((low - mean) / spread), mean < low)
    above = np.where(sd > 0.0, normal_cdf((mean - high) / spread), mean > high)
    return np.asarray(below, dtype=float), np.asarray(above, dtype=float)


def _share_of_one(
    k: int, rows: Array, matrix: Array, window: tuple[Array, Array], tails: tuple[Array, Array], wide: Array,
    step: int,
) -> Array:
    """Mean of 1/(sizes out) by row, given that size k is out: what its single chance counts for.

    Each row looks at every `step`-th point, another row at others.
    """
    variance = np.clip(matrix[:, k, k], 0.0, None)
    slope = matrix[:, :, k] / np.where(variance > 0.0, variance, np.inf)[:, None]
    root, points = _root(matrix, slope, k), _points(len(matrix[0]))
    found = np.empty(len(rows))
    aside = np.full(len(rows), 0.5) if step == 1 else np.mod(_GOLDEN * np.arange(1, len(rows) + 1), 1.0)
    for number, start in enumerate(range(0, len(rows), _TOGETHER)):
        some = slice(start, start + _TOGETHER)
        own = some if len(matrix) > 1 else slice(None)
        u = (np.arange(POINTS // step) + aside[some, None]) * step / POINTS
        moved = _deviation_when_out(np.sqrt(variance[own, None]), tails[0][some], tails[1][some], u)
        drawn = slope[own], moved, root[own] @ points[number % step::step].T
        found[some] = _mean_share(k, rows[some], wide[some, None], window, drawn)
    return found


def _mean_share(
    k: int, rows: Array, wide: Array, window: tuple[Array, Array], drawn: tuple[Array, Array, Array]
) -> Array:
    """Mean of 1/(sizes out) over the points: what size k has moved by, and the rest drawn given that."""
    (low, high), (slope, moved, rest) = window, drawn
    out = np.ones(moved.shape)
    for j in range(rows.shape[1]):
        if j != k:
            value = wide * (slope[:, j, None] * moved + rest[:, j]) + rows[:, j, None]
            out += (value < low[j]) | (value > high[j])
    return np.asarray((1.0 / out).mean(axis=1))


def _deviation_when_out(sd: Array, below: Array, above: Array, u: Array) -> Array:
    """Deviations from the mean of a size that is out, spread evenly over both tails: at shares u of their mass."""
    total = np.maximum(below + above, _LOWEST)
    mass = np.clip(u, _LEAST, 1.0 - _LEAST) * total[:, None]
    is_below = mass < below[:, None]
    tail = np.where(is_below, mass, total[:, None] - mass)
    bound = np.where(is_below, below[:, None], above[:, None])
    inside = np.maximum(np.minimum(tail, np.minimum(bound, 1.0 - 1e-16)), _LOWEST)
    return np.asarray(np.where(is_below, 1.0, -1.0) * sd * normal_quantile(inside))


def _root(matrix: Array, slope: Array, k: int) -> Array:
    """What the other sizes vary by when one is known, for each unit of independent points: (1 or N, K, K)."""
    if len(matrix) == 1:
        values, vectors = np.linalg.eigh(matrix[0] - np.outer(slope[0], matrix[0, k]))
        order = np.argsort(values)[::-1]  # most variance first: the first coordinates are spread best
        flat = _FLAT * max(float(np.trace(matrix[0])), 0.0)
        return np.asarray(vectors[:, order] * np.sqrt(np.where(values[order] > flat, values[order], 0.0)))[None]
    trace = np.trace(matrix, axis1=1, axis2=2)
    try:  # a little more on the diagonal, so that sizes that are sums of others have a root, too
        more = np.maximum(_FULL * trace, _LOWEST)[:, None, None] * np.eye(len(matrix[0]))
        whole = np.linalg.cholesky(matrix + more)
    except np.linalg.LinAlgError:
        raise OutOfRange("covariance has a negative variance", right="no negative eigenvalue") from None
    turned = np.mod(np.arange(1, len(matrix) + 1)[:, None] * np.sqrt(_PRIMES[: len(matrix[0])]), 1.0) < 0.5
    # each row sees the points mirrored in another way, so that what they miss averages out over the rows
    return np.asarray((whole - slope[:, :, None] * whole[:, None, k]) * np.where(turned, -1.0, 1.0)[:, None, :])


@cache
def _points(size: int) -> Array:
    """Fixed points of so many independent normal variables: (POINTS, K)."""
    steps = np.sqrt(np.array(_PRIMES[:size], dtype=float))
    return normal_quantile(np.mod(np.outer(np.arange(1, POINTS + 1), steps), 1.0))
