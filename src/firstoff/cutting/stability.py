"""Chatter by discretization: the largest Floquet multiplier of a cut, at any immersion and with several modes.

Between two nodes of the arc each mode swings freely, which is exact; at a node the cutting force of its share of
the arc acts as an impulse. What an impulse leaves out while it acts is given back to second order by Euler and
Maclaurin's end term, so that 40 nodes come within half a percent of the converged limits. A cut is followed over
some tooth periods from a start that holds everything, and the recurrence that the last of them obey gives the
multipliers that matter. A batch of cuts is followed at once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive, whole_teeth
from firstoff.cutting._swings import Follower, Matrix, Node, Swing
from firstoff.cutting.chatter import Mode
from firstoff.errors import OutOfRange

Flags = npt.NDArray[np.bool_]

#: Nodes of a tooth period, or of the arc where that is shorter: nine limits of ten lie within 0.4 % of the converged
#: one, 99 of 100 within 5 %, while the fastest mode swings up to ten times in the arc; others pass an island over.
_NODES, _FEWEST, _MOST, _PER_SWING = 40, 16, 200, 5
#: Tooth periods that are followed before the recurrence is read, so that what dies away has died away.
_PERIODS: Final = 12
#: Of the greatest component: what is below is taken for noise.
_NOISE: Final = 1e-12
#: Slices of a helical edge over its lag.
_SLICES: Final = 4
#: Points that are followed together: about as many as stay in the cache.
_TOGETHER: Final = 8192
#: Depths tried in one round of the search for a limit, and rounds after the first.
_TRIED, _ROUNDS = 10, 3


class Regeneration(NamedTuple):
    """What a cut does to the swings of its tool.

    Fields:
        tangential: K_tc [N/m2], shape (N,).
        radial: K_rc [N/m2], shape (N,).
        teeth: z, number of teeth, evenly spaced [1].
        entry: phi_st [rad].
        exit: phi_ex [rad].
        lag: angle by which a helical edge trails for each depth, 2 tan(helix) over the diameter [rad/m].
        flank: C over the tool's radius, damping of the flank at a spindle speed of 1 [N/m2], shape (N,).
    """

    tangential: Num
    radial: Num
    teeth: int
    entry: float
    exit: float
    lag: float = 0.0
    flank: Num = 0.0


def largest_multiplier(
    cut: Regeneration, along: Sequence[Mode], square: Sequence[Mode], spindle_speed: Num, depth_of_cut: Num
) -> Array:
    """Largest Floquet multiplier of a cut: above 1 it sings.

    Args:
        cut: teeth, arc and coefficients.
        along: modes along the feed; none where it is rigid.
        square: modes square to the feed.
        spindle_speed: angular speed of the spindle [rad/s], shape (N,).
        depth_of_cut: a_p [m], shape (N,).

    Returns:
        Growth of a swing from one tooth to the next [1], shape (N,); all shapes are broadcast.

    Raises:
        OutOfRange: if an argument is outside its range, no mode is given, or the arc is empty or above a half turn.

    Range: linear; even pitch; within 0.01 while the fastest mode swings under 25 times in the arc.
    Source: insperger2004, the delayed equation; own, impulses at nodes between exact free swings.
    """
    return _in_parts(_of_block, cut, along, square, spindle_speed, depth_of_cut)


def sings(
    cut: Regeneration, along: Sequence[Mode], square: Sequence[Mode], spindle_speed: Num, depth_of_cut: Num
) -> Flags:
    """Whether a cut sings: a whole map with speeds[:, None] and depths[None, :].

    Args:
        cut: teeth, arc and coefficients.
        along: modes along the feed; none where it is rigid.
        square: modes square to the feed.
        spindle_speed: angular speed of the spindle [rad/s], shape (N,).
        depth_of_cut: a_p [m], shape (N,).

    Returns:
        True where the largest multiplier is above 1, shape (N,); all shapes are broadcast.

    Raises:
        OutOfRange: as largest_multiplier.

    Range: as largest_multiplier.
    Source: insperger2004; own, the recurrence tested by Schur and Cohn's reduction.
    """
    return np.asarray(_in_parts(_grows, cut, along, square, spindle_speed, depth_of_cut) > 0.0)


def stability_limit(
    cut: Regeneration, along: Sequence[Mode], square: Sequence[Mode], spindle_speed: Num, least: Num, most: Num
) -> Array:
    """Smallest depth of cut at which a cut begins to sing at a spindle speed, by row.

    Args:
        cut: teeth, arc and coefficients.
        along: modes along the feed; none where it is rigid.
        square: modes square to the feed.
        spindle_speed: angular speed of the spindle [rad/s], shape (N,).
        least: depth from which the search goes up, and down where it sings already [m], shape (N,).
        most: depth at which the search ends [m], shape (N,).

    Returns:
        Depth limit [m], shape (N,); infinite where none lies below `most`.

    Raises:
        OutOfRange: as largest_multiplier; if `most` is not above `least`.

    Range: an island thinner than a tenth of the searched range (in the logarithm) may be passed over.
    Source: insperger2004; own, sections of the range.
    """
    low, high = positive("least depth", least), positive("greatest depth", most)
    if np.any(high <= low):
        raise OutOfRange(f"depths from {float(np.min(low)):.3g} to {float(np.min(high)):.3g} m are no range",
                         right="the greatest above the least")
    numbers = (low, high, spindle_speed, *_numbers(cut, along, square))
    shape = np.broadcast_shapes(*(np.shape(item) for item in numbers))
    low, high = (np.broadcast_to(item, shape).astype(np.float64) for item in (low, high))

    def tried(depths: Array) -> Flags:
        rows = [tuple(_column(item) for item in mode) for mode in (*along, *square)]
        modes = [Mode(*row) for row in rows]
        here = cut._replace(tangential=_column(cut.tangential), radial=_column(cut.radial), flank=_column(cut.flank))
        return sings(here, modes[:len(along)], modes[len(along):], _column(spindle_speed), depths)

    return np.asarray(_sections(tried, low, high).reshape(shape))


def can_follow(
    cut: Regeneration, along: Sequence[Mode], square: Sequence[Mode], spindle_speed: Num, depth_of_cut: Num = 0.0,
    swings: float = _MOST / _PER_SWING,
) -> Flags:
    """Whether the modes swing slowly enough, against the time that a tooth cuts, for this file's functions, by row.

    Args:
        cut: teeth, arc and coefficients.
        along: modes along the feed.
        square: modes square to the feed.
        spindle_speed: angular speed of the spindle [rad/s], shape (N,).
        depth_of_cut: the deepest that is followed, for which a helical edge trails [m].
        swings: of the fastest mode while one tooth cuts, at most [1]; what they bear, unless that takes too long.

    Returns:
        False where they would refuse, shape (N,).

    Raises:
        OutOfRange: if the speed is not above 0, or the depth negative.

    Range: many cuts at once are all followed with the nodes of the fastest.
    Source: own, nodes that the arc needs.
    """
    lag = cut.lag * float(np.max(not_negative("depth of cut", depth_of_cut)))
    span = min(cut.exit - cut.entry + lag, 2.0 * np.pi / cut.teeth)
    speed = positive("spindle speed", spindle_speed)
    fastest = np.max(np.broadcast_arrays(*(mode.natural / speed for mode in (*along, *square))), axis=0)
    return np.asarray(span * fastest / (2.0 * np.pi) <= min(swings, _MOST / _PER_SWING))


def _needed(span: float, fastest: float) -> int:
    return int(np.ceil(_PER_SWING * span * fastest / (2.0 * np.pi)))


def _sections(tried: Callable[[Array], Flags], low: Array, high: Array) -> Array:
    """The first depth that sings between low and high, each round within the section that holds it."""
    loud: Flags = np.atleast_1d(tried(low[..., None])[..., 0])
    while loud.any():  # sings at the least already: the limit lies below
        high, low = np.where(loud, low, high), np.where(loud, low / 8.0, low)
        loud = np.atleast_1d(tried(low[..., None])[..., 0])
    none: Flags = np.zeros(low.shape, dtype=bool)
    for turn in range(_ROUNDS + 1):
        steps = np.arange(1, _TRIED + 1) / _TRIED
        depths = low[..., None] * (high / low)[..., None] ** steps
        loud = tried(depths)
        if turn == 0:
            none = np.asarray(~loud.any(axis=-1))
        first = np.where(loud.any(axis=-1), loud.argmax(axis=-1), _TRIED - 1)[..., None]
        above = np.take_along_axis(depths, first, axis=-1)[..., 0]
        low = np.where(first[..., 0] > 0, np.take_along_axis(depths, np.maximum(first - 1, 0), axis=-1)[..., 0], low)
        high = above
    return np.where(none, np.inf, np.sqrt(low * high))


def _column(value: Num) -> Array:
    """Rows as a column, so that depths lie along the last axis."""
    return np.asarray(value, dtype=np.float64)[..., None]


def _numbers(cut: Regeneration, along: Sequence[Mode], square: Sequence[Mode]) -> list[Num]:
    """All that has rows."""
    return [cut.tangential, cut.radial, cut.flank, *(item for mode in (*along, *square) for item in mode)]


def _in_parts(
    work: Callable[[_Batch], Array], cut: Regeneration, along: Sequence[Mode], square: Sequence[Mode],
    spindle_speed: Num, depth_of_cut: Num,
) -> Array:
    """The work done over parts of the first axis that stay in the cache, all arguments checked."""
    speed, depth = positive("spindle speed", spindle_speed), not_negative("depth of cut", depth_of_cut)
    _checked(cut, along, square)
    numbers = [np.asarray(item, dtype=np.float64) for item in (speed, depth, *_numbers(cut, along, square))]
    shape = np.broadcast_shapes(*(item.shape for item in numbers))
    full = [item.reshape((1,) * (max(len(shape), 1) - item.ndim) + item.shape) for item in numbers]
    length = shape[0] if shape else 1
    together = max(1, _TOGETHER * length // max(1, int(np.prod(shape))))
    parts = []
    for start in range(0, length, together):
        some = [item if item.shape[0] == 1 else item[start:start + together] for item in full]
        modes = [Mode(*some[i:i + 3]) for i in range(5, len(some), 3)]
        here = cut._replace(tangential=some[2], radial=some[3], flank=some[4])
        parts.append(work(_Batch.of(here, modes[:len(along)], modes[len(along):], some[0], some[1])))
    return np.concatenate(parts).reshape(shape)


def _checked(cut: Regeneration, along: Sequence[Mode], square: Sequence[Mode]) -> None:
    """Refuses what is no cut or no machine."""
    whole_teeth(cut.teeth)
    positive("K_tc", cut.tangential)
    finite("K_rc", cut.radial)
    not_negative("flank damping", cut.flank)
    not_negative("lag", cut.lag)
    start, stop = (between(name, angle, 0.0, np.pi * (1.0 + 1e-12), right="0 to a half turn: immersion at most 1")
                   for name, angle in (("entry", cut.entry), ("exit", cut.exit)))
    if stop <= start:
        raise OutOfRange(f"angle of exit {float(stop):.4g} rad is not above entry", right="a width above 0")
    if not along and not square:
        raise OutOfRange("no mode is given in either direction",
                         right="at least one mode along or square to the feed")
    for mode in (*along, *square):
        positive("stiffness", mode.stiffness)
        between("damping ratio", mode.damping, 1e-6, 0.9, right="above 0 and below 0.9")
        positive("natural frequency", mode.natural)


class _Batch(NamedTuple):
    """A batch of cuts in arrays that broadcast against each other."""

    directions: tuple[tuple[Mode, ...], ...]     # one or two, each with its modes
    nodes: int
    forces: Matrix                               # against displacement, by node first (count, ...) [N/m2]
    rubbing: Matrix                              # the same against velocity [N s/m2]; empty where nothing rubs
    step: Array                                  # between two nodes [s]
    gap: Array                                   # from the last node to the first of the next tooth [s]
    depth: Array

    @classmethod
    def of(
        cls, cut: Regeneration, along: Sequence[Mode], square: Sequence[Mode], speed: Array, depth: Array
    ) -> _Batch:
        """Nodes over the arc, or over the tooth period where the arc is longer."""
        pitch = 2.0 * np.pi / cut.teeth
        lag = cut.lag * depth if cut.lag > 0.0 else np.zeros(1)
        span = min(cut.exit - cut.entry + float(np.max(lag)), pitch)
        count = _node_count(span, pitch, max(float(np.max(mode.natural / speed)) for mode in (*along, *square)))
        which = [i for i, modes in enumerate((along, square)) if modes]
        ss, sc, cc = (part.reshape(count, *(1,) * (depth.ndim - lag.ndim), *lag.shape)
                      for part in _mean_products(cut, lag, span, count))
        forces = [[cut.tangential * a + cut.radial * b for a, b in row]
                  for row in (((sc, ss), (cc, sc)), ((-ss, sc), (-sc, cc)))]
        rubs = bool(np.any(np.asarray(cut.flank) > 0.0))
        rubbing = [[cut.flank / speed * item for item in row] for row in ((ss, sc), (sc, cc))] if rubs else []
        return cls(tuple(tuple((along, square)[i]) for i in which), count, _part(forces, which),
                   _part(rubbing, which) if rubs else [], span / count / speed,
                   (pitch - span + span / count) / speed, depth)


def _node_count(span: float, pitch: float, fastest: float) -> int:
    """Nodes that the arc needs, for a mode of this natural frequency over the speed of the spindle."""
    needed = _needed(span, fastest)
    if needed > _MOST:
        raise OutOfRange(f"the fastest mode swings {needed / _PER_SWING:.0f} times while one tooth cuts",
                         right=f"at most {_MOST // _PER_SWING}; the zero-order limit holds there")
    return max(needed, _NODES if span > pitch / 2.0 else _FEWEST)


def _mean_products(cut: Regeneration, lag: Array, span: float, count: int) -> Array:
    """Means over each node's share of the arc of sin sin, sin cos and cos cos, all teeth and slices together, shape
    (3, count, ...)."""
    pitch, slices = 2.0 * np.pi / cut.teeth, _SLICES if np.any(lag > 0.0) else 1
    edges = cut.entry + np.linspace(0.0, span, count + 1).reshape(-1, *(1,) * lag.ndim)
    last = int(np.ceil((cut.exit - cut.entry + float(np.max(lag))) / pitch))
    sums = np.zeros((3, count, *lag.shape))
    for shift in (j * pitch - lag * (i + 0.5) / slices for j in range(last + 1) for i in range(slices)):
        ends = np.clip(edges + shift, cut.entry, cut.exit)
        cuts = np.flatnonzero((ends[1:] > ends[:-1]).reshape(count, -1).any(axis=1))
        if cuts.size:
            nodes = slice(cuts[0], cuts[-1] + 1)
            sums[:, nodes] += np.diff(_products(ends[cuts[0]:cuts[-1] + 2]), axis=1)
    return np.asarray(sums / (slices * (span / count)))


def _products(angle: Array) -> Array:
    """Integrals of sin sin, sin cos and cos cos up to an angle, one above the other."""
    half, double = angle / 2.0, np.sin(2.0 * angle) / 4.0
    return np.stack([half - double, np.sin(angle) ** 2 / 2.0, half + double])


def _part(matrix: Matrix, which: list[int]) -> Matrix:
    """Only the directions that are not rigid."""
    return [[matrix[i][j] for j in which] for i in which]


def _nodes(batch: _Batch, before: Array) -> list[Node]:
    """What happens at each node, made ready; the drag of velocity is taken at the middle of its own jump."""
    give = [sum((mode.natural**2 / mode.stiffness for mode in modes), np.zeros(1)) for modes in batch.directions]
    weight = batch.depth * batch.step
    taken, slow = [one * batch.depth * batch.step**2 / 12.0 for one in give], [one * weight / 2.0 for one in give]
    mix = _inverse(_plus_one(_scaled(batch.forces, taken)))
    impulse, drag = _product(batch.forces, mix), list[Array]()
    if batch.rubbing:
        slowed = _inverse(_plus_one(_scaled_columns(batch.rubbing, slow)))
        impulse, drag = _product(slowed, impulse), _columns(_product(slowed, batch.rubbing), weight)
    pushes, mixes = _columns(impulse, weight), _columns(mix, 1.0)
    return [Node(tuple(one[i] for one in pushes), tuple(one[i] for one in mixes), tuple(one[i] for one in drag), here)
            for i, here in enumerate(before)]


def _columns(matrix: Matrix, times: Num) -> list[Array]:
    """A matrix column by column, each (count, D, ...)."""
    return [np.stack(np.broadcast_arrays(*(row[j] * times for row in matrix)), axis=1) for j in range(len(matrix))]


def _plus_one(matrix: Matrix) -> Matrix:
    return [[item + 1.0 if i == j else item for j, item in enumerate(row)] for i, row in enumerate(matrix)]


def _scaled(matrix: Matrix, rows: list[Array]) -> Matrix:
    return [[item * by for item in row] for row, by in zip(matrix, rows, strict=True)]


def _scaled_columns(matrix: Matrix, columns: list[Array]) -> Matrix:
    return [[item * by for item, by in zip(row, columns, strict=True)] for row in matrix]


def _inverse(matrix: Matrix) -> Matrix:
    if len(matrix) == 1:
        return [[1.0 / matrix[0][0]]]
    (a, b), (c, d) = matrix
    over = 1.0 / (a * d - b * c)
    return [[d * over, -b * over], [-c * over, a * over]]


def _product(left: Matrix, right: Matrix) -> Matrix:
    if len(left) == 1:
        return [[left[0][0] * right[0][0]]]
    return [[row[0] * right[0][j] + row[1] * right[1][j] for j in range(2)] for row in left]


def _shape(batch: _Batch) -> tuple[int, ...]:
    """What all arrays of a batch broadcast to."""
    return np.broadcast_shapes(batch.depth.shape, batch.step.shape, batch.forces[0][0].shape[1:],
                               *(np.shape(item) for modes in batch.directions for mode in modes for item in mode))


def _followed(batch: _Batch) -> tuple[Array, Array]:
    """The last states of a swing that is followed over tooth periods.

    Returns:
        (k + 1, d, ...) states, each of length 1, and (k + 1, ...) logarithms of what they grew since the first.
    """
    swing = Swing(batch.directions, _shape(batch), batch.step, batch.gap)
    order = 2 * sum(map(len, batch.directions)) + 2
    count, stride, ways = batch.nodes, max(1, batch.nodes // (2 * order)), len(batch.directions)
    start = np.cos(2.0 + 1.7 * np.arange(count)[:, None] + 0.9 * np.arange(ways))
    before = np.broadcast_to(start.reshape(count, ways, *(1,) * len(swing.shape)), (count, ways, *swing.shape)).copy()
    follower, states = Follower(swing, _nodes(batch, before)), list[Array]()
    grown, growths = np.zeros(swing.shape), []
    for period in range(_PERIODS + order + 1):
        follower.tooth()
        state = np.concatenate([part.reshape(-1, *swing.shape)
                                for part in (before[::stride], swing.speed, swing.place)])
        size = np.sqrt(np.einsum("d...,d...->...", state, state))
        swing.shrink(size)
        before /= size
        if period >= _PERIODS:
            grown = grown + np.log(size) if states else grown
            states.append(state / size)
            growths.append(grown)
    return np.stack(states), np.stack(growths)


def _recurrence(batch: _Batch) -> tuple[Array, Array]:
    """Coefficients (..., k) that make the next state of the last k, mean growth taken out, and that growth.

    Of all that fit the least: what is only noise then gets multipliers inside the circle.
    """
    states, grown = _followed(batch)
    products = np.einsum("ad...,bd...->...ab", states, states)
    order = products.shape[-1] - 1
    least = np.linalg.solve(products[..., :order, :order] + _NOISE * order * np.eye(order),
                            products[..., :order, order:])[..., 0]
    mean = grown[-1] / order
    left = np.moveaxis(grown[-1] - grown[:-1], 0, -1) - np.arange(order, 0.0, -1.0) * mean[..., None]
    return np.asarray(least * np.exp(left)), np.exp(mean)


def _of_block(batch: _Batch) -> Array:
    """Largest multiplier of each cut of a batch."""
    coefficients, growth = _recurrence(batch)
    order = coefficients.shape[-1]
    companion = np.zeros((*growth.shape, order, order))
    companion[..., 1:, :-1] = np.eye(order - 1)
    companion[..., :, -1] = coefficients
    return np.asarray(growth * np.abs(np.linalg.eigvals(companion)).max(axis=-1))


def _grows(batch: _Batch) -> Array:
    """1 where a multiplier lies outside the unit circle, else 0: a polynomial is reduced degree by degree."""
    coefficients, growth = _recurrence(batch)
    order = coefficients.shape[-1]
    powers = np.clip(growth, 0.1, 10.0)[..., None] ** np.arange(order, 0.0, -1.0)  # beyond them there is no doubt
    rest = np.concatenate([-coefficients * powers, np.ones((*growth.shape, 1))], axis=-1)  # from the constant up
    inside = growth < 10.0
    while rest.shape[-1] > 1:
        rest = rest / np.maximum(np.abs(rest).max(axis=-1, keepdims=True), np.finfo(float).tiny)
        inside &= np.abs(rest[..., 0]) < np.abs(rest[..., -1])
        rest = (rest[..., -1:] * rest - rest[..., :1] * rest[..., ::-1])[..., 1:]
    return np.asarray(~inside, dtype=np.float64)
