"""Moves rows of standard normals from the prior to the posterior: tempered, with prior-preserving moves.

Importance sampling alone collapses as parameters grow. Here the likelihood is let in by steps that
keep half of the rows effective; after each step all rows are moved by proposals that leave the
cloud through the present rows unchanged, and accepted by what that cloud gets wrong. The cloud is the prior but for
the few ways along which the likelihood tells anything, as its slopes at some rows show. What is
quick to compute is let in first; what is dear is computed only for rows that the rest has not refused.
Rows go in two halves that know nothing of each other: where they end apart, the answer has not converged.

Source: cui2014, likelihood-informed ways and the prior square to them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from ..belief import Rows
from .modes import Cloud, Heaps, heaps

Matrix = Rows                                #: [N, K] standard normals
Index = np.ndarray[tuple[int], np.dtype[np.intp]]
LogLikelihood = Callable[[Matrix, Index], Rows]     #: some rows [n, K] and which these are -> [n]

EFFECTIVE: Final = 0.5      #: share of the rows that each step of the likelihood keeps effective
MOVES: Final = 3            #: most moves of all rows after each step
LAST_MOVES: Final = 20      #: most moves when a part is wholly in, where it does not say how many
REFIT: Final = 5            #: moves after which the Gaussian is drawn through the rows anew
#: how far a proposal goes from a row: 0 stays, 1 forgets it; the short ones move rows that sit in a tail
STRIDES: Final = (1.0, 0.5, 0.25)
LOOKS: Final = 12           #: rows at which the slope of the likelihood is looked at, after each step
FORMER_LOOKS: Final = 6     #: times that it is looked at so, of what rows were moved to already
ASIDE: Final = 0.2          #: how far beside a row, in deviations of the prior
FADES: Final = 0.8          #: what a slope that was seen a step ago still counts
TELLS: Final = 0.02         #: least mean square of a slope along a way on which the likelihood tells something
REMEMBERED: Final = 0.03    #: moves go on until rows remember no more than this of where they began
#: moves go on, too, until the halves are as near to each other as this many times what rows that know nothing of each
#: other would be in the farthest column
NEAR: Final = 1.3
WHOLE: Final = 0.75         #: share of rows from which all are computed: what was found for them serves again
SETTLED: Final = 0.05       #: least share of accepted moves for the answer to be trusted
APART: Final = 0.2          #: most that two runs may differ for it, in standard deviations, as the halves tell


@dataclass(frozen=True)
class Moved:
    """Rows after learning, and what tells whether to trust them."""

    z: Matrix
    accepted: float              # share of the last moves that were taken
    heaps: Heaps | None          # where they lie in two heaps: two explanations
    apart: float                 # most that the means of two such runs would differ, in posterior deviations

    @property
    def settled(self) -> bool:
        """Whether the rows have moved enough, and both halves say the same."""
        return self.accepted >= SETTLED and self.apart <= APART


class Part(NamedTuple):
    """A part of the likelihood.

    Fields:
        pieces: their logarithms add up; the quickest to compute first.
        most: that each of them can be at any row; one for all, or each its own.
        moves: most moves when it is wholly in: many of what is quick to compute.
    """

    pieces: tuple[LogLikelihood, ...]
    most: float | tuple[float, ...] = math.inf
    moves: int = LAST_MOVES

    def rest(self, after: int) -> float:
        """The most that pieces from this one on can be together."""
        each = self.most if isinstance(self.most, tuple) else (self.most,) * len(self.pieces)
        return sum(each[after:])

    def loglik(self, z: Matrix) -> Rows:
        """Of all rows."""
        return np.asarray(np.sum([piece(z, np.arange(len(z))) for piece in self.pieces], axis=0))


def sample(z: Matrix, parts: Sequence[Part], generator: np.random.Generator, within: int = 0) -> Moved:
    """Move prior rows to the posterior.

    Args:
        z: standard normals of the columns that matter, shape (N, K).
        parts: of the likelihood, the quickest to compute first.
        generator: seeded.
        within: how many of the parts the rows were moved to already; not all of them.

    Returns:
        Posterior rows, shape (N, K).
    """
    logs = np.array([part.loglik(z) for part in parts[:within]]).reshape(within, len(z))
    state, slopes = _State(z.copy(), logs, (1.0,) * within), _Slopes(np.zeros((z.shape[1],) * 2), 0.0)
    for _ in range(FORMER_LOOKS if within else 0):
        slopes = slopes.seen(state, parts[:within], generator)
    accepted = 1.0
    for count in range(within + 1, len(parts) + 1):
        log_l = parts[count - 1].loglik(state.z)
        state = _State(state.z, np.vstack([state.logs, log_l]), (*state.powers, 0.0))
        while state.powers[-1] < 1.0:
            state = _stepped(state, generator)
            moves = MOVES if state.powers[-1] < 1.0 else parts[count - 1].moves
            slopes = slopes.seen(state, parts[:count], generator)
            state, accepted = _move(state, parts[:count], slopes.ways(), generator, moves)
    return Moved(state.z, accepted, heaps(state.z), _apart(state.z))


class _State(NamedTuple):
    z: Matrix
    logs: Rows                       # of each part that is let in, [P, N]
    powers: tuple[float, ...]        # how far it is in


class _Slopes(NamedTuple):
    """Slopes of the likelihood that were seen: the sum of their squares and products [K, K], and of how many."""

    products: Matrix
    many: float

    def seen(self, state: _State, parts: Sequence[Part], generator: np.random.Generator) -> _Slopes:
        """With those at some more rows; older ones fade."""
        columns = state.z.shape[1]
        at = generator.choice(len(state.z), min(LOOKS, len(state.z) // columns or 1), replace=False)
        beside = (state.z[at][:, None, :] + ASIDE * np.eye(columns)).reshape(-1, columns)
        rows = np.repeat(at, columns)
        there = np.sum([piece(beside, rows) for part in parts for piece in part.pieces], axis=0)
        slope = (there.reshape(len(at), columns) - state.logs[:, at].sum(axis=0)[:, None]) / ASIDE
        return _Slopes(FADES * self.products + slope.T @ slope, FADES * self.many + len(at))

    def ways(self) -> Matrix:
        """Ways along which the likelihood tells something, as unit vectors [K, R]."""
        square, ways = np.linalg.eigh(self.products / self.many)
        return np.asarray(ways[:, square > TELLS])


def _stepped(state: _State, generator: np.random.Generator) -> _State:
    """The newest part let in by one more step, rows drawn again by what it says of them."""
    newest, power = state.logs[-1], state.powers[-1]
    step = _next_step(newest, power)
    order = np.arange(len(state.z))
    for half in _halves(len(order)):
        order[half] = half[_systematic(_weights((step - power) * newest[half]), generator)]
    return _State(state.z[order], state.logs[:, order], (*state.powers[:-1], step))


def _halves(rows: int) -> tuple[Index, Index]:
    """Every other row."""
    return np.arange(0, rows, 2), np.arange(1, rows, 2)


def _apart(z: Matrix) -> float:
    """How far the means of two such runs would lie apart: halves have half the rows, so lie farther apart."""
    one, two = (z[half] for half in _halves(len(z)))
    between = np.abs(one.mean(axis=0) - two.mean(axis=0)) / np.maximum(z.std(axis=0), 1e-9)
    return float(np.max(between)) / math.sqrt(2.0)


def _next_step(log_l: Rows, power: float) -> float:
    """The largest power of the likelihood that keeps enough rows effective."""
    if _effective(_weights((1.0 - power) * log_l)) >= EFFECTIVE:
        return 1.0
    low, high = power, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        if _effective(_weights((middle - power) * log_l)) >= EFFECTIVE:
            low = middle
        else:
            high = middle
    return max(low, power + 1e-6)


def _weights(log_w: Rows) -> Rows:
    w = np.exp(log_w - log_w.max())
    return np.asarray(w / w.sum())


def _effective(weights: Rows) -> float:
    return float(1.0 / np.sum(weights**2) / len(weights))


def _systematic(weights: Rows, generator: np.random.Generator) -> Index:
    """Resample with one random offset: a row of weight w is taken N·w times, give or take one."""
    places = (generator.random() + np.arange(len(weights))) / len(weights)
    return np.minimum(np.searchsorted(np.cumsum(weights), places), len(weights) - 1)


def _move(
    state: _State, parts: Sequence[Part], ways: Matrix, generator: np.random.Generator, moves: int
) -> tuple[_State, float]:
    accepted: list[float] = []
    remembered = 1.0
    z, logs, powers = state
    near = NEAR * math.sqrt(2.0 * math.log(2.0 * z.shape[1]) / len(z))
    while len(accepted) < moves and (remembered > REMEMBERED or len(accepted) % REFIT or _apart(z) > near):
        if len(accepted) % REFIT == 0:
            clouds = [(half, Cloud.of(z[half], ways)) for half in _halves(len(z))]
        stride = STRIDES[len(accepted) % len(STRIDES)]
        kept = math.sqrt(1.0 - stride**2)
        proposal, beside = np.empty_like(z), np.empty(len(z))
        for half, cloud in clouds:
            proposal[half] = cloud.moved(z[half], stride, generator)
            beside[half] = cloud.over_prior(z[half]) - cloud.over_prior(proposal[half])
        needed = np.log(generator.random(len(z))) - beside
        new, take = _accepted(proposal, _State(z, logs, powers), parts, needed)
        z, logs = np.where(take[:, None], proposal, z), np.where(take, new, logs)
        accepted.append(float(take.mean()))
        remembered *= 1.0 - accepted[-1] * (1.0 - kept)
    return _State(z, logs, powers), float(np.mean(accepted))


def _accepted(
    proposal: Matrix, state: _State, parts: Sequence[Part], needed: Rows
) -> tuple[Rows, npt.NDArray[np.bool_]]:
    """Which proposals gain more than is needed, and their logarithms: what is left is only computed where the rest
    could still make up for what is lacking.
    """
    new, gain, alive = state.logs.copy(), np.zeros(len(proposal)), np.ones(len(proposal), dtype=bool)
    most = [power * (part.rest(0) - old) for part, power, old in zip(parts, state.powers, state.logs, strict=True)]
    for i, part in enumerate(parts):
        power, found = state.powers[i], np.zeros(len(proposal))
        later = np.sum(most[i + 1:], axis=0) - power * state.logs[i]
        for j, piece in enumerate(part.pieces):
            alive &= gain + power * (found + part.rest(j)) + later > needed
            rows = np.flatnonzero(alive) if alive.mean() < WHOLE else np.arange(len(alive))
            if rows.size:
                found[rows] += piece(proposal[rows], rows)
        new[i] = np.where(alive, found, new[i])
        gain += power * (new[i] - state.logs[i])
    return new, alive & (gain > needed)
