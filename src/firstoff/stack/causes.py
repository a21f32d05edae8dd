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

#: A cause that is at work is off by some of these times its usual spread, each a normal distribution of its own:
#: small slips are the likeliest; a wrong figure that was keyed in is off by far more. Centres, standard deviations
#: and how likely each is; judged. FAR is the one in the middle of the likely ones.
FARS = np.array([3.5, 5.0, 7.0, 10.0, 15.0, 25.0])
FAR_SDS = np.array([0.8, 1.2, 1.6, 2.5, 4.0, 7.0])
FARS_WEIGHTS = np.array([0.25, 0.30, 0.22, 0.12, 0.07, 0.04])
FAR = 5.0
#: chance, before anything was measured, that all is as usual; judged
USUAL = 0.5
#: Nobody knows how far and how often things go wrong in a shop: other habits that it may have, as weights of FARS,
#: and as chances that all is as usual. What holds under all of them is in the readings, not in what was judged.
HABITS = np.array([FARS_WEIGHTS, [0.6, 0.4, 0.0, 0.0, 0.0, 0.0], [0.2, 0.4, 0.4, 0.0, 0.0, 0.0]])
USUALS = np.array([USUAL, 0.3, 0.7])


class Explained(NamedTuple):
    """What the readings say, for each of G causes and, last, for all being as usual.

    Fields:
        chance: of each cause given the readings [1], shape (G+1,).
        source: each source under each cause [m], shape (G+1, S).
        size: each size under each cause [m], shape (G+1, K).
        size_sd: its standard deviation [m], shape (G+1, K).
        surest: the greatest chance that any one cause has, whatever the habits of the shop [1].
    """

    chance: Array
    source: Array
    size: Array
    size_sd: Array
    surest: float


def explain(
    readings: npt.ArrayLike, lines: npt.ArrayLike, expected: npt.ArrayLike, covariance: npt.ArrayLike,
    reading_sd: npt.ArrayLike, causes: npt.ArrayLike, sizes: npt.ArrayLike, asleep: npt.ArrayLike = False,
    shows: npt.ArrayLike = True, farthest: npt.ArrayLike = np.inf,
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
        shows: whether each cause could show in these readings at all [1], broadcast to (G,); one that could not is
            none of them, and makes the others no less likely.
        farthest: greatest of FARS that each cause can be off by [1], broadcast to (G,): a machine's own scatter grows
            a few times, what a person keys in or leaves under a part may be off by any.

    Returns:
        Chances, sources and sizes under each cause; the last stands for all being as usual.

    Raises:
        OutOfRange: if shapes differ or a reading has no uncertainty.

    Range: small errors that add; at most one cause off by much more than usual (FARS times, give or take).
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
    far = np.maximum(np.broadcast_to(np.asarray(farthest, dtype=float), (number,)), FARS[0])
    ways = _ways(group, rare, np.sqrt(np.clip(np.diag(usual), 0.0, None)), far)
    once = np.where(np.outer(rare, rare) & ~np.eye(len(mean), dtype=bool), 0.0, usual)
    awake = np.where(np.outer(~rare, ~rare), usual, 0.0)
    fit, pull, size, variance = _under(read / noise, line / noise[:, None], mean, awake, once, wanted, ways)
    log = np.full((number + 1, len(FARS)), -np.inf)
    np.logaddexp.at(log, (ways.cause, ways.far), fit + np.log(ways.share))
    density, able = np.exp(log - log.max()), np.vstack([far[:, None] >= FARS, FARS[0] == FARS])
    seen = np.broadcast_to(np.asarray(shows, dtype=bool), (number,))
    chances = np.array([_chances(density, habit * able, often, seen) for habit in HABITS for often in USUALS])
    share = _shares(fit + np.log(ways.share * FARS_WEIGHTS[ways.far]), ways)
    source = _sources(share, pull, ways, group, mean, awake, once)
    middle = ways.by_cause(share, size)
    spread = np.sqrt(np.clip(ways.by_cause(share, variance + size**2) - middle**2, 0.0, None))
    return Explained(chances[0], source, middle, spread, float(chances.max()))


class _Ways(NamedTuple):
    """W ways in which a cause may be at work, cause by cause; the last is that all is as usual.

    Fields:
        cause: that each belongs to, in order, shape (W,).
        far: which of FARS it is, shape (W,).
        share: of the ways of its cause and of this FARS, shape (W,).
        entry: number of the set of sources that are spread otherwise, shape (W,).
        entries: these sets, shape (E, S).
        cross: by how much their covariances with the others grow, shape (W,).
        own: by how much their covariances with each other grow, shape (W,).
        shift: of each source, shape (W, S).
    """

    cause: npt.NDArray[np.int_]
    far: npt.NDArray[np.int_]
    share: Array
    entry: npt.NDArray[np.int_]
    entries: npt.NDArray[np.bool_]
    cross: Array
    own: Array
    shift: Array

    def by_cause(self, share: Array, each: Array) -> Array:
        """Sums over the ways of each cause, each with its share."""
        first = np.searchsorted(self.cause, np.arange(self.cause[-1] + 1))
        return np.asarray(np.add.reduceat(share[:, None] * each, first, axis=0))


def _ways(group: npt.NDArray[np.int_], rare: npt.NDArray[np.bool_], sd: Array, farthest: Array) -> _Ways:
    """A single source this way or that; several together any way; of those that sleep, one that is woken."""
    rows: list[tuple[int, int, float, int, float, float, float]] = []
    entries: list[list[int]] = []
    able = [(q, float(FARS[q]), float(FAR_SDS[q]) - 1.0) for q in range(len(FARS))]
    of_cause: list[list[int]] = [[] for _ in farthest]
    for k, g in enumerate(group.tolist()):
        of_cause[g].append(k)
    wakes = rare.tolist()
    for g, (most, members) in enumerate(zip(farthest.tolist(), of_cause, strict=True)):
        far = [one for one in able if one[1] <= most]
        if any(wakes[k] for k in members):
            for k in members:
                rows += [(g, q, 1.0 / len(members), len(entries), 0.0, f**2, 0.0) for q, f, _ in far]
                entries.append([k])
            continue
        for q, f, wide in far:
            rows += ([(g, q, 0.5, len(entries), wide, wide**2, s * f) for s in (1.0, -1.0)]
                     if len(members) == 1 else [(g, q, 1.0, len(entries), f - 1.0, (f - 1.0) ** 2, 0.0)])
        entries.append(members)
    rows.append((len(farthest), 0, 1.0, len(entries), 0.0, 0.0, 0.0))
    cause, far_of, share, entry, cross, own, shift = (np.array(column) for column in zip(*rows, strict=True))
    which = np.zeros((len(entries) + 1, len(group)), dtype=bool)
    for e, members in enumerate(entries):
        which[e, members] = True
    return _Ways(cause, far_of, share, entry, which, cross, own, shift[:, None] * sd * which[entry])


def _chances(density: Array, habit: Array, often: float, seen: npt.NDArray[np.bool_]) -> Array:
    """Chance of each cause where a shop has this habit."""
    prior = np.append(np.where(seen, (1.0 - often) / max(int(seen.sum()), 1), 0.0), often)
    weight = prior * (density * habit).sum(axis=1) / habit.sum(axis=1)
    total = float(weight.sum())
    return np.asarray(weight / total) if total > 0.0 else np.eye(len(prior))[-1]


def _shares(log: Array, ways: _Ways) -> Array:
    """How likely each way is if its cause is at work, shape (W,)."""
    best = np.full(ways.cause[-1] + 1, -np.inf)
    np.maximum.at(best, ways.cause, log)
    share = np.exp(log - best[ways.cause])
    return np.asarray(share / np.maximum(np.bincount(ways.cause, share), np.finfo(float).tiny)[ways.cause])


def _sources(
    share: Array, pull: Array, ways: _Ways, group: npt.NDArray[np.int_], mean: Array, awake: Array, once: Array
) -> Array:
    """Each source under each cause: the ways of a cause spread the same sources, or sources that sleep each alone."""
    member = np.arange(ways.cause[-1] + 1)[:, None] == group
    mine = ways.entries[ways.entry] * pull
    plain = ways.by_cause(share, pull + ways.cross[:, None] * mine)
    within = (ways.by_cause(share * ways.cross, pull) @ awake + ways.by_cause(share * ways.own, mine) @ once)
    return np.asarray(mean + ways.by_cause(share, ways.shift) + plain @ awake + member * within)


def _under(
    read: Array, line: Array, mean: Array, awake: Array, once: Array, wanted: Array, ways: _Ways
) -> tuple[Array, Array, Array, Array]:
    """By way: log density of the readings (each in its own standard uncertainties), their pull on each source of unit
    spread, the sizes and their variances."""
    number, table = len(read), np.concatenate([line, wanted])       # the readings and the sizes, by source
    plain, grow = table @ awake, np.stack([ways.cross, ways.own], axis=1)
    wider = np.zeros((len(ways.entries), 2, number + 1, len(table)))    # covariances with readings; last, variances
    size = ways.entries.sum(axis=1)
    alone = np.flatnonzero(size == 1)
    k = np.argmax(ways.entries[alone], axis=1)
    each, half = table[:, k].T, plain[:, k].T
    own = each * once[k, k][:, None]
    wider[alone, 0, :number] = each[:, :number, None] * half[:, None] + half[:, :number, None] * each[:, None]
    wider[alone, 1, :number] = own[:, :number, None] * each[:, None]
    wider[alone, 0, number], wider[alone, 1, number] = 2.0 * each * half, own * each
    for e in np.flatnonzero(size > 1):
        mine = ways.entries[e]
        own, half, each = table[:, mine] @ once[np.ix_(mine, mine)], plain[:, mine], table[:, mine]
        wider[e, 0, :number] = each[:number] @ half.T + half[:number] @ each.T
        wider[e, 1, :number] = own[:number] @ each.T
        wider[e, :, number] = 2.0 * (each * half).sum(axis=1), (own * each).sum(axis=1)
    usual = np.concatenate([plain[:number] @ table.T, (plain * table).sum(axis=1)[None]])
    wide = usual + np.einsum("wc,wcmt->wmt", grow, wider[ways.entry])
    root = np.linalg.cholesky(wide[:, :number, :number] + np.eye(number))
    expected, reach = mean + ways.shift, wide[:, :number, number:]
    missed = np.linalg.solve(root, (read - expected @ line.T)[:, :, None])
    weight = np.linalg.solve(root.transpose(0, 2, 1), missed)[:, :, 0]
    made = expected @ wanted.T + np.einsum("wm,wmk->wk", weight, reach)
    variance = wide[:, number, number:] - (np.linalg.solve(root, reach) ** 2).sum(axis=1)
    fit = -0.5 * (missed[:, :, 0] ** 2).sum(axis=1) - np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
    return fit, weight @ line, made, np.clip(variance, 0.0, None)


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


#: What is left of readings is usual up to so many standard deviations of a normal, as far as its square is one of
#: chi squared: once in a thousand by chance.
BEYOND = 3.09


def left_over(
    readings: npt.ArrayLike, lines: npt.ArrayLike, explained: npt.ArrayLike, covariance: npt.ArrayLike,
    reading_sd: npt.ArrayLike,
) -> Array:
    """What a cause leaves unexplained of each reading, where all else is as usual: nought where that is usual.

    Args:
        readings: deviations that were read [m], shape (M,).
        lines: what one unit of each source does to each reading [1], shape (M, S).
        explained: sources as the cause has them, the others as expected [m], shape (S,).
        covariance: of the other sources when all is as usual, nought for those of the cause [m2], shape (S, S).
        reading_sd: standard uncertainty of each reading [m], shape (M,).

    Returns:
        What is left of each reading in standard deviations of what is usual [1], shape (M,).

    Raises:
        OutOfRange: if a reading has no uncertainty.

    Range: all.
    Source: wilson1931, chi squared by its cube root.
    """
    line, noise = finite("lines", lines), above_zero("reading_sd", reading_sd)
    left = finite("readings", readings) - line @ finite("explained", explained)
    usual = line @ covariance_matrix("covariance", covariance, line.shape[1]) @ line.T + np.diag(noise**2)
    number = len(left)
    if number == 0:
        return left
    third = 2.0 / (9.0 * number)
    most = number * (1.0 - third + BEYOND * np.sqrt(third)) ** 3
    far = float(left @ np.linalg.solve(usual, left)) > most
    return np.asarray(left / np.sqrt(np.diag(usual)) if far else np.zeros(number))


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
