"""Moves rows of standard normals from the prior to the posterior: tempered, with prior-preserving moves.

Importance sampling alone collapses as parameters grow. Here the likelihood is let in by steps that
keep half of the rows effective; after each step all rows are moved by proposals that leave the
Gaussian through the present rows unchanged, and accepted by what that Gaussian gets wrong. Rows go in
two halves that know nothing of each other: where they end apart, the answer has not converged.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..belief import Rows

Matrix = Rows                                #: [N, K] standard normals
Index = np.ndarray[tuple[int], np.dtype[np.intp]]
LogLikelihood = Callable[[Matrix], Rows]     #: [N, K] -> [N]

EFFECTIVE: Final = 0.5      #: share of the rows that each step of the likelihood keeps effective
MOVES: Final = 2            #: most moves of all rows after each step
LAST_MOVES: Final = 20      #: most moves when the whole likelihood is in
FEWEST: Final = 3           #: and the fewest
#: how far a proposal goes from a row: 0 stays, 1 forgets it; the short one moves rows that sit in a tail
STRIDES: Final = (1.0, 0.7)
REMEMBERED: Final = 0.03    #: moves go on until rows remember no more than this of where they began
SETTLED: Final = 0.05       #: least share of accepted moves for the answer to be trusted
APART: Final = 0.2          #: most that two runs may differ for it, in standard deviations, as the halves tell


@dataclass(frozen=True)
class Moved:
    """Rows after learning, and what tells whether to trust them."""

    z: Matrix
    accepted: float              # share of the last moves that were taken
    apart: float                 # most that the means of two such runs would differ, in posterior deviations

    @property
    def settled(self) -> bool:
        """Whether the rows have moved enough, and both halves say the same."""
        return self.accepted >= SETTLED and self.apart <= APART


def sample(z: Matrix, loglik: LogLikelihood, generator: np.random.Generator) -> Moved:
    """Move prior rows to the posterior.

    Args:
        z: standard normals of the columns that matter, shape (N, K).
        loglik: log likelihood of such rows, shape (N,).
        generator: seeded.

    Returns:
        Posterior rows, shape (N, K).
    """
    z, log_l, power = z.copy(), loglik(z), 0.0
    accepted = 1.0
    while power < 1.0:
        step = _next_step(log_l, power)
        order = np.arange(len(z))
        for half in _halves(len(z)):
            order[half] = half[_systematic(_weights((step - power) * log_l[half]), generator)]
        z, log_l, power = z[order], log_l[order], step
        moves = MOVES if power < 1.0 else LAST_MOVES
        z, log_l, accepted = _move(z, log_l, power, loglik, generator, moves)
    return Moved(z, accepted, _apart(z))


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
    z: Matrix, log_l: Rows, power: float, loglik: LogLikelihood, generator: np.random.Generator, moves: int
) -> tuple[Matrix, Rows, float]:
    accepted: list[float] = []
    remembered = 1.0
    halves = [(half, *_gaussian(z[half])) for half in _halves(len(z))]
    while len(accepted) < moves and (remembered > REMEMBERED or len(accepted) < FEWEST):
        stride = STRIDES[len(accepted) % len(STRIDES)]
        kept = math.sqrt(1.0 - stride**2)
        proposal, beside = np.empty_like(z), np.empty(len(z))
        for half, mean, root in halves:
            noise = generator.standard_normal(z[half].shape) @ root.T
            proposal[half] = mean + kept * (z[half] - mean) + stride * noise
            beside[half] = _beside(proposal[half], mean, root) - _beside(z[half], mean, root)
        log_new = loglik(proposal)
        gain = power * (log_new - log_l) + beside
        take = np.log(generator.random(len(z))) < gain
        z = np.where(take[:, None], proposal, z)
        log_l = np.where(take, log_new, log_l)
        accepted.append(float(take.mean()))
        remembered *= 1.0 - accepted[-1] * (1.0 - kept)
    return z, log_l, float(np.mean(accepted))


def _gaussian(z: Matrix) -> tuple[Rows, Matrix]:
    """Mean of the rows and the root of their covariance."""
    mean = z.mean(axis=0)
    spread = np.einsum("ni,nj->ij", z - mean, z - mean) / (len(z) - 1)
    root: Matrix = np.asarray(np.linalg.cholesky(spread + 1e-9 * np.eye(z.shape[1])), dtype=np.float64)
    return mean, root


def _beside(z: Matrix, mean: Rows, root: Matrix) -> Rows:
    """Log of the prior over the Gaussian through the rows; constants cancel in a move."""
    white = np.linalg.solve(root, (z - mean).T)
    return np.asarray(0.5 * np.sum(white**2, axis=0) - 0.5 * np.sum(z**2, axis=1))
