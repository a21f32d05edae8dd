"""Moves rows of standard normals from the prior to the posterior: tempered, with prior-preserving moves.

Importance sampling alone collapses as parameters grow. Here the likelihood is let in by steps that
keep half of the rows effective; after each step all rows are moved by proposals that leave the
cloud through the present rows unchanged, and accepted by what that cloud gets wrong. The cloud is the prior but for
the few ways along which the likelihood tells anything, as its slopes at some rows show. What is
quick to compute is let in first; what is dear is computed only for rows that the rest has not refused.
A few rows walk, and where they were at several times is kept, far enough apart that one hardly
remembers another: that many rows cost no more moves than a few do.
Of two explanations, between which rows rarely change, the shares are told by the weights of what was proposed.
Rows go in two halves that know nothing of each other: where they end apart, the answer has not converged.

Source: cui2014, likelihood-informed ways and the prior square to them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from ..belief import Rows
from .modes import Cloud, Heaps, heaps

Matrix = Rows                                #: [N, K] standard normals
Index = np.ndarray[tuple[int], np.dtype[np.intp]]
LogLikelihood = Callable[[Matrix, Index], Rows]     #: some rows [n, K] and which these are -> [n]

EFFECTIVE: Final = 0.5      #: share of the rows that each step of the likelihood keeps effective
EFFECTIVE_LAST: Final = 0.4 #: ditto, of the last step, which saves another one
MOVES: Final = 5            #: most moves of all rows after each step
STIRRED: Final = 0.3        #: of where they began they need not remember less than this, until all is let in
LAST_MOVES: Final = 20      #: most moves when a part is wholly in, where it does not say how many
LOOKED: Final = 10          #: moves after which shares of heaps are looked at anew
REFIT: Final = 5            #: moves after which the Gaussian is drawn through the rows anew
#: how far a proposal goes from a row: 0 stays, 1 forgets it; the short ones move rows that sit in a tail
STRIDES: Final = (1.0, 1.0, 0.5, 1.0, 1.0, 0.25)
DRAWN_THROUGH: Final = 2048 #: so many rows, or one time of them
#: draws of a half, by their weights worth so many, tell the shares of two heaps better than rows that rarely change;
#: and moves go on until they are worth so many
WORTH: Final = 40.0
WORTH_ENOUGH: Final = 100.0
#: where a row has changed its heap so often, in the mean, shares need no telling
CHANGES: Final = 5.0
SWAPS: Final = 3            #: moves of which one is such a proposal, where blocks of columns may be exchanged
LOOKS: Final = 8            #: rows at which the slope of the likelihood is looked at, after each step
FORMER_LOOKS: Final = 6     #: times that it is looked at so, of what rows were moved to already
ASIDE: Final = 0.2          #: how far beside a row, in deviations of the prior
FADES: Final = 0.8          #: what a slope that was seen a step ago still counts
TELLS: Final = 0.02         #: least mean square of a slope along a way on which the likelihood tells something
REMEMBERED: Final = 0.03    #: moves go on until rows remember no more than this of where they began
#: and, where they are kept at several times, no more than this from one time to the next
BETWEEN: Final = 0.3
CHANGED: Final = (0.5, 0.2) #: shares of the blocks of a row that such moves change in turn
#: moves go on, too, until the halves are as near to each other as this many times what rows that know nothing of each
#: other would be in the farthest column
NEAR: Final = 1.3
WHOLE: Final = 0.75         #: share of rows from which all are computed: what was found for them serves again
SETTLED: Final = 0.05       #: least share of accepted moves for the answer to be trusted
WELL_WITHIN: Final = 0.9       #: and nearer than this share of the most that they may be apart
APART: Final = 0.2          #: most that two runs may differ for it, in standard deviations, as the halves tell


@dataclass(frozen=True)
class Moved:
    """Rows after learning, and what tells whether to trust them."""

    z: Matrix
    accepted: float              # share of the last moves that were taken
    heaps: Heaps | None          # where they lie in two heaps: two explanations
    #: most that the means of two such runs would differ, in posterior deviations; infinite where there are two heaps
    #: and nothing tells how many rows belong to either
    apart: float
    forgotten: bool = True       # whether rows came to forget where they began before the moves were at an end

    @property
    def settled(self) -> bool:
        """Whether the rows have moved enough, and both halves say the same."""
        return self.forgotten and self.accepted >= SETTLED and self.apart <= APART


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

    @property
    def computed_whole(self) -> bool:
        """Whether no row is refused before all of it is computed."""
        return len(self.pieces) == 1 and self.rest(0) == math.inf

    def loglik(self, z: Matrix) -> Rows:
        """Of all rows."""
        return np.asarray(np.sum([piece(z, np.arange(len(z))) for piece in self.pieces], axis=0))


def sample(
    z: Matrix, parts: Sequence[Part], generator: np.random.Generator, walkers: int = 0, within: int = 0,
    blocks: Sequence[Index] = (),
) -> Moved:
    """Move prior rows to the posterior.

    Args:
        z: standard normals of the columns that matter, shape (N, K).
        parts: of the likelihood, the quickest to compute first.
        generator: seeded.
        walkers: how many rows walk; 0 for all.
        within: how many of the parts the rows were moved to already; not all of them.
        blocks: where some were: columns that these parts do not tie together, each in one block.

    Returns:
        Posterior rows, shape (N, K).
    """
    many = min(len(z), walkers or len(z))
    first, times = z[:many].copy(), -(-len(z) // many)
    logs = np.array([part.loglik(first) for part in parts[:within]]).reshape(within, many)
    state, slopes = _State(first, logs, (1.0,) * within), _Slopes(np.zeros((z.shape[1],) * 2), 0.0)
    for _ in range(FORMER_LOOKS if within else 0):
        slopes = slopes.seen(state, parts[:within], generator)
    trail = Trail([first], [])
    for count in range(within + 1, len(parts) + 1):
        log_l = parts[count - 1].loglik(state.z)
        state = _State(state.z, np.vstack([state.logs, log_l]), (*state.powers, 0.0))
        while state.powers[-1] < 1.0:
            state = _stepped(state, generator)
            wholly = state.powers[-1] == 1.0
            moves, at = (parts[count - 1].moves, times if count == len(parts) else 1) if wholly else (MOVES, 0)
            slopes = slopes.seen(state, parts[:count], generator)
            state, trail = _move(state, parts[:count], slopes.ways(), _Pool(z, blocks, within), generator, moves, at)
    rows = trail.rows(times)[:len(z)]
    told = trail.balanced(rows, generator)
    rows, apart = (rows, math.inf) if told is None else (told, _apart(told))
    return Moved(rows, trail.accepted, heaps(rows), apart, trail.forgotten(times))


class _Pool(NamedTuple):
    """Rows as the first parts leave them, of columns in blocks that these do not tie together: proposals that only
    the later parts can refuse.
    """

    z: Matrix
    blocks: Sequence[Index]
    parts: int

    def moved(self, z: Matrix, share: float, generator: np.random.Generator) -> Matrix:
        """Rows with some of their blocks from others of the same half."""
        out, many = z.copy(), len(z)
        half = generator.integers(len(self.z) // 2, size=(many, len(self.blocks)))
        for i, block in enumerate(self.blocks):
            at = np.flatnonzero(generator.random(many) < share)
            out[at[:, None], block] = self.z[(2 * half[at, i] + at % 2)[:, None], block]
        return out


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
    if _effective(_weights((1.0 - power) * log_l)) >= EFFECTIVE_LAST:
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


def _evenly(rows: Index, many: int) -> Index:
    """So many of them, each as often as any other, give or take one."""
    return rows[np.arange(many) * len(rows) // max(many, 1)]


@dataclass
class Trail:
    """Where rows were after each move, and the share of each that was taken."""

    places: list[Matrix]
    taken: list[float]
    remembered: float = 1.0          # of where they began
    #: proposals that forgot where they began, and the logarithm of their weights, where all were computed
    draws: list[tuple[Matrix, Rows]] = field(default_factory=list)

    def add(self, z: Matrix, taken: float, kept: float) -> None:
        """Another move, that of what it moves keeps so much."""
        self.places.append(z)
        self.taken.append(taken)
        self.remembered *= 1.0 - taken * (1.0 - kept)

    @property
    def accepted(self) -> float:
        """Mean share of the moves that was taken."""
        return float(np.mean(self.taken)) if self.taken else 1.0

    def rows(self, times: int) -> Matrix:
        """Where they were at several times, evenly apart, as one: even rows stay even."""
        at = np.linspace(0, len(self.places) - 1, times + 1).round().astype(int)[1:]
        return np.concatenate([self.places[i] for i in at])

    def clouds(self, ways: Matrix) -> tuple[Cloud, Cloud]:
        """Drawn through each half as it was at some of the later half of the moves."""
        later, many = self.places[len(self.places) // 2:], len(self.places[0])
        rows = np.concatenate(later[::-(-len(later) * many // DRAWN_THROUGH)])
        return Cloud.of(rows[::2], ways), Cloud.of(rows[1::2], ways)

    def balanced(self, rows: Matrix, generator: np.random.Generator, worth: float = WORTH) -> Matrix | None:
        """Rows with as many in either of two heaps as draws of their half tell; None where these are worth less, and
        rows hardly change their heap.
        """
        found = heaps(rows) if self.draws else None
        if found is None:
            return rows
        out, above, later = rows.copy(), found.above(rows), self.draws[len(self.draws) // 2:]
        draws, logs = np.concatenate([z for z, _ in later]), np.concatenate([log for _, log in later])
        upper = found.above(draws)
        for mine, drawn in zip(_halves(len(rows)), _halves(len(draws)), strict=True):
            weights = _weights(logs[drawn])
            if _effective(weights) * len(weights) < worth:
                return rows if self.changes(found) >= CHANGES else None
            heap = [mine[above[mine]], mine[~above[mine]]]
            many = round(float(weights[upper[drawn]].sum()) * len(mine))
            if all(part.size for part in heap):
                taken = np.concatenate([_evenly(heap[0], many), _evenly(heap[1], len(mine) - many)])
                out[mine] = rows[generator.permutation(taken)]
        return out

    def changes(self, found: Heaps) -> float:
        """How often a row has changed its heap, in the mean."""
        above = np.stack([found.above(z) for z in self.places])
        return float(np.sum(above[1:] != above[:-1]) / above.shape[1])

    def forgotten(self, times: int) -> bool:
        """Whether rows have forgotten where they began, and at each of several times where they were at the last."""
        return self.remembered <= (REMEMBERED if times == 1 else BETWEEN ** (times + 1))

    def enough(self, times: int, generator: np.random.Generator) -> bool:
        """Whether rows have forgotten where they began, and the halves are near to each other; or, for no times, are
        stirred enough.
        """
        if times == 0:
            return self.remembered <= STIRRED
        if not self.forgotten(times):
            return False
        rows = self.rows(times)
        near = min(NEAR * math.sqrt(4.0 * math.log(2.0 * rows.shape[1]) / len(rows)), WELL_WITHIN * APART)
        if not self.draws:
            return _apart(rows) <= near
        told = None if len(self.taken) % LOOKED else self.balanced(rows, generator, WORTH_ENOUGH)
        return told is not None and _apart(told) <= near


def _move(
    state: _State, parts: Sequence[Part], ways: Matrix, pool: _Pool, generator: np.random.Generator, moves: int,
    times: int,
) -> tuple[_State, Trail]:
    """Rows moved until they forget where they began, and as they were at so many times on the way."""
    trail, fit = Trail([state.z], []), 0
    weighs = times > 0 and all(part.computed_whole for part in parts)
    for count in range(moves):
        if trail.enough(times, generator):
            break
        if count == fit:
            clouds, fit = trail.clouds(ways), count + max(REFIT, count // REFIT)
        needed = np.log(generator.random(len(state.z)))
        if pool.blocks and count % SWAPS:
            share = CHANGED[count % len(CHANGED)]
            state, taken, _ = _taken(pool.moved(state.z, share, generator), state, parts, needed, pool.parts)
            trail.add(state.z, taken, 1.0 - share)
            continue
        stride = STRIDES[count // (SWAPS if pool.blocks else 1) % len(STRIDES)]
        proposal, dense = _proposed(state.z, clouds, stride, generator)
        state, taken, log_l = _taken(proposal, state, parts, needed + dense[0] - dense[1], 0)
        trail.add(state.z, taken, math.sqrt(1.0 - stride**2))
        if weighs and stride == 1.0:
            trail.draws.append((proposal, log_l - dense[0]))
    return state, trail


def _proposed(
    z: Matrix, clouds: tuple[Cloud, Cloud], stride: float, generator: np.random.Generator
) -> tuple[Matrix, Rows]:
    """Where rows may go, each half by its own cloud; and how dense that is over the prior there, and here [2, N]."""
    proposal, dense = np.empty_like(z), np.empty((2, len(z)))
    for half, cloud in zip(_halves(len(z)), clouds, strict=True):
        proposal[half] = cloud.moved(z[half], stride, generator)
        dense[:, half] = cloud.over_prior(proposal[half]), cloud.over_prior(z[half])
    return proposal, dense


def _taken(
    proposal: Matrix, state: _State, parts: Sequence[Part], needed: Rows, free: int
) -> tuple[_State, float, Rows]:
    """The state after proposals that the first parts cannot refuse, where some are free, the share taken, and the
    logarithm of the later parts at the proposals, as far as it was computed.
    """
    later = _State(state.z, state.logs[free:], state.powers[free:])
    new, take = _accepted(proposal, later, parts[free:], needed)
    logs, at = np.vstack([state.logs[:free], np.where(take, new, later.logs)]), np.flatnonzero(take)
    for i, part in enumerate(parts[:free] if at.size else ()):
        logs[i, at] = np.sum([piece(proposal[at], at) for piece in part.pieces], axis=0)
    state = _State(np.where(take[:, None], proposal, state.z), logs, state.powers)
    return state, float(take.mean()), np.asarray(later.powers @ new)


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
