"""Which cause explains what was measured, and what the sizes that were not measured will be. Closed form.

Every source of error has its usual spread. Either all are as usual, or one cause (a group of sources) is off by far
more than usual: each of these is a normal distribution of the readings, so that their chances, the sources and all
other sizes follow without drawing a single number.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.stack._arrays import Array, above_zero, covariance_matrix, finite

#: a cause that is at work is off by so many times its usual spread, and so much more or less; judged
FAR = 5.0
FAR_SD = 1.5
#: chance, before anything was measured, that all is as usual; judged
USUAL = 0.5


class Explained(NamedTuple):
    """What the readings say, for each of G causes and, last, for all being as usual.

    Fields:
        chance: of each cause given the readings [1], shape (G+1,).
        source: each source under each cause [m], shape (G+1, S).
        size: each size under each cause [m], shape (G+1, K).
        size_sd: its standard deviation [m], shape (G+1, K).
    """

    chance: Array
    source: Array
    size: Array
    size_sd: Array


def explain(
    readings: npt.ArrayLike, lines: npt.ArrayLike, expected: npt.ArrayLike, covariance: npt.ArrayLike,
    reading_sd: npt.ArrayLike, causes: npt.ArrayLike, sizes: npt.ArrayLike, asleep: npt.ArrayLike = False,
) -> Explained:
    """Chances of causes, and sources and sizes under each of them.

    Args:
        readings: deviations that were read [m], shape (M,).
        lines: what one unit of each source does to each reading [1], shape (M, S).
        expected: sources as they are expected to be [m], shape (S,).
        covariance: of the sources when all is as usual [m2], shape (S, S).
        reading_sd: standard uncertainty of each reading [m], shape (M,).
        causes: number of the cause that each source belongs to, from 0 [1], shape (S,).
        sizes: what one unit of each source does to each size that is asked for [1], shape (K, S).
        asleep: whether a source is nought unless its cause is at work, such as steps that were lost [1], broadcast to
            (S,); of such a cause one source alone is at work, nobody knows which.

    Returns:
        Chances, sources and sizes under each cause; the last stands for all being as usual.

    Raises:
        OutOfRange: if shapes differ or a reading has no uncertainty.

    Range: small errors that add; at most one cause off by much more than usual (FAR times, give or take).
    Source: own, Bayes' rule with normal distributions.
    """
    read, line = finite("readings", readings), finite("lines", lines)
    usual = covariance_matrix("covariance", covariance, line.shape[1])
    mean, noise = finite("expected", expected), above_zero("reading_sd", reading_sd)
    group, wanted = np.asarray(causes, dtype=int), finite("sizes", sizes)
    if line.shape != (len(read), len(mean)) or noise.shape != read.shape or group.shape != mean.shape:
        raise OutOfRange(f"{len(read)} readings, {len(mean)} sources, lines {line.shape}",
                         right="(readings, sources)")
    number, rare = int(group.max(initial=-1)) + 1, np.broadcast_to(np.asarray(asleep, dtype=bool), mean.shape)
    awake = np.where(np.outer(~rare, ~rare), usual, 0.0)
    found = []
    for g in range(number):
        ways = _woken(mean, awake, usual, group == g) if rare[group == g].any() else _at_work(mean, awake, group == g)
        found.append(_mixed([_under(read, line, *way, noise, wanted) for way in ways]))
    found.append(_under(read, line, mean, awake, noise, wanted))
    prior = np.append(np.full(number, (1.0 - USUAL) / max(number, 1)), USUAL)
    logs = np.log(prior) + np.array([item[0] for item in found])
    weight = np.exp(logs - logs.max())
    return Explained(weight / weight.sum(), *(np.array([item[k] for item in found]) for k in (1, 2, 3)))


_Found = tuple[float, Array, Array, Array]


def _at_work(mean: Array, usual: Array, cause: npt.NDArray[np.bool_]) -> list[tuple[Array, Array]]:
    """Sources with one cause off by far more than usual: a single one this way or that, several together any way."""
    alone = int(cause.sum()) == 1
    scale = np.where(cause, FAR_SD if alone else FAR, 1.0)
    spread = usual * np.outer(scale, scale)
    if not alone:
        return [(mean, spread)]
    far = np.where(cause, FAR * np.sqrt(np.diag(usual)), 0.0)
    return [(mean + far, spread), (mean - far, spread)]


def _woken(
    mean: Array, awake: Array, usual: Array, cause: npt.NDArray[np.bool_]
) -> list[tuple[Array, Array]]:
    """Sources that are nought but for one of a cause, off by some unknown way."""
    ways = []
    for k in np.flatnonzero(cause):
        spread = awake.copy()
        spread[k, k] = usual[k, k] * FAR**2
        ways.append((mean, spread))
    return ways


def _mixed(found: list[_Found]) -> _Found:
    """Equally likely ways in which a cause may be at work, as one."""
    if len(found) == 1:
        return found[0]
    logs = np.array([item[0] for item in found])
    weight = np.exp(logs - logs.max())
    fit = float(logs.max() + np.log(weight.mean()))
    weight = weight / weight.sum()
    source, size = (np.einsum("w,w...->...", weight, np.array([item[k] for item in found])) for k in (1, 2))
    square = np.einsum("w,w...->...", weight, np.array([item[3] ** 2 + (item[2] - size) ** 2 for item in found]))
    return fit, source, size, np.sqrt(square)


def _under(
    read: Array, line: Array, mean: Array, spread: Array, noise: Array, wanted: Array
) -> _Found:
    """Log density of the readings, and sources and sizes given them."""
    reach = line @ spread
    root = np.linalg.cholesky(reach @ line.T / np.outer(noise, noise) + np.eye(len(read)))
    missed = np.linalg.solve(root, (read - line @ mean) / noise)
    pull = np.linalg.solve(root, reach / noise[:, None])
    source = mean + pull.T @ missed
    left = wanted @ pull.T
    variance = ((wanted @ spread) * wanted).sum(axis=1) - (left**2).sum(axis=1)
    fit = -0.5 * float(missed @ missed) - float(np.log(np.diag(root)).sum())
    return fit, source, wanted @ source, np.sqrt(np.clip(variance, 0.0, None))


class Forecast(NamedTuple):
    """Sizes after readings, by row.

    Fields:
        log_likelihood: log density of the readings by row, counted per instrument sd [1], shape (N,).
        mean: of each size [m], shape (N, K).
        sd: of each size [m], shape (N, K).
    """

    log_likelihood: Array
    mean: Array
    sd: Array


def forecast(
    missed: npt.ArrayLike, lines: npt.ArrayLike, sd: npt.ArrayLike, reading_sd: npt.ArrayLike, sizes: npt.ArrayLike,
    offset: npt.ArrayLike,
) -> Forecast:
    """Sizes by row after readings, where each row has spreads of its own.

    Args:
        missed: what was read less what the row expects [m], shape (N, M).
        lines: what one unit of each source does to each reading [1], shape (M, S).
        sd: standard deviation of each source by row [m], shape (N, S).
        reading_sd: standard uncertainty of each reading [m], shape (M,).
        sizes: what one unit of each source does to each size [1], shape (K, S).
        offset: what the row expects of each size [m], shape (N, K).

    Returns:
        How well each row expects the readings, and its sizes afterwards.

    Raises:
        OutOfRange: if a number is not finite or a reading has no uncertainty.

    Range: small errors that add, independent of each other within a row.
    Source: own, the conditional normal distribution in each row.
    """
    off, line, wanted = finite("missed", missed), finite("lines", lines), finite("sizes", sizes)
    variance, noise = finite("sd", sd) ** 2, above_zero("reading_sd", reading_sd)
    scaled = line / noise[:, None]
    seen = np.einsum("ms,ns,ps->nmp", scaled, variance, scaled, optimize=True)
    root = np.linalg.cholesky(seen + np.eye(len(noise)))
    left = np.linalg.solve(root, (off / noise)[:, :, None])[:, :, 0]
    reach = np.linalg.solve(root, np.einsum("ms,ns,ks->nmk", scaled, variance, wanted, optimize=True))
    fit = -0.5 * (left**2).sum(axis=1) - np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
    mean = finite("offset", offset) + np.einsum("nmk,nm->nk", reach, left)
    spread = variance @ (wanted**2).T - (reach**2).sum(axis=1)
    return Forecast(fit, mean, np.sqrt(np.clip(spread, 0.0, None)))


def told_apart(
    first: npt.ArrayLike, second: npt.ArrayLike, spread: npt.ArrayLike, reading_sd: npt.ArrayLike
) -> Array:
    """How well one more reading of a size would tell two causes apart: the higher the better.

    Args:
        first: the size under the one cause [m], shape (K,).
        second: under the other [m], shape (K,).
        spread: standard deviation of the size under either [m], shape (K,).
        reading_sd: standard uncertainty of a reading of it [m], shape (K,).

    Returns:
        Distance between the two in standard deviations of the reading [1], shape (K,).

    Raises:
        OutOfRange: if a reading has no uncertainty.

    Range: all.
    Source: own, the distance of two normal distributions of one width.
    """
    apart = np.abs(finite("first", first) - finite("second", second))
    return np.asarray(apart / np.hypot(finite("spread", spread), above_zero("reading_sd", reading_sd)))
