"""How long a program takes and how fast each move really goes: limits of the axes, corners, and looking ahead."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstoff.errors import OutOfRange
from firstoff.removal.moves import AXES, Doubt, Floats, Kind, Moves, joined, lengths, swept

#: shorter moves than this take no time and turn no corner [mm]
NOTHING: Final = 1e-9
#: moves that wait for what comes, at most; then the machine is taken to stop at their end
MOST_WAITING: Final = 200_000
_HELD_BACK: Final = 1000
_UNTIMED: Final = int(Doubt.FEED | Doubt.UNIT | Doubt.END)


@dataclass(frozen=True)
class Limits:
    """What a machine can do. Axes in the order X, Y, Z.

    Fields:
        rapid: fastest rapid of each axis [mm/s].
        feed: fastest feed of each axis [mm/s].
        acceleration: of each axis [mm/s2]; None where it gets to speed in no time.
        corner: how far the path may leave a corner to go round it without stopping [mm].
        override: share of the programmed feed at which it runs [1].
        tool_change: how long a tool change or a stop takes [s].
    """

    rapid: tuple[float, float, float]
    feed: tuple[float, float, float]
    acceleration: tuple[float, float, float] | None = None
    corner: float = 0.01
    override: float = 1.0
    tool_change: float = 0.0

    def __post_init__(self) -> None:
        """Raises OutOfRange if the machine could never move."""
        wanted = (*self.rapid, *self.feed, *(self.acceleration or ()), self.override)
        if not all(0.0 < value < np.inf for value in wanted) or self.corner < 0.0 or self.tool_change < 0.0:
            raise OutOfRange("a limit of the machine is not above 0", right="speeds in mm/s, acceleration in mm/s2")


@dataclass(frozen=True)
class Timed:
    """How fast n moves really go.

    Fields:
        length: of each move [mm], shape (n,).
        entry: speed at its start [mm/s], shape (n,).
        top: highest speed on it [mm/s], shape (n,).
        exit: speed at its end [mm/s], shape (n,).
        seconds: how long it takes [s]; 0 where that can't be said, shape (n,).
        timed: whether it can be said, shape (n,).
    """

    length: Floats
    entry: Floats
    top: Floats
    exit: Floats
    seconds: Floats
    timed: NDArray[np.bool_]

    @property
    def feed(self) -> Floats:
        """Mean speed over each move [mm/s]; 0 where it stands or where that can't be said, shape (n,)."""
        return np.divide(self.length, self.seconds, out=np.zeros_like(self.length), where=self.seconds > 0.0)

    def take(self, which: slice | NDArray[np.bool_]) -> Timed:
        """Some of them, in order."""
        return Timed(**{f.name: getattr(self, f.name)[which] for f in fields(self)})


def timed(chunks: Iterable[Moves], limits: Limits) -> Iterator[tuple[Moves, Timed]]:
    """Moves with their times, chunk by chunk; what may still have to brake waits for the next chunk.

    Args:
        chunks: the moves in order.
        limits: of the machine.

    Yields:
        The same moves in order, in other chunks, each with its times.
    """
    waiting, entry = joined([]), 0.0
    for chunk in chunks:
        waiting = joined([waiting, chunk])
        found = time_of(waiting, limits, entry)
        done = _settled(waiting, found, limits)
        if done:
            yield waiting.take(slice(None, done)), found.take(slice(None, done))
            entry = float(found.exit[done - 1])
            waiting = waiting.take(slice(done, None))
    if len(waiting):
        yield waiting, time_of(waiting, limits, entry)


def _settled(moves: Moves, found: Timed, limits: Limits) -> int:
    """How many of the first moves no later move can slow down: the braking distance lies behind them."""
    if limits.acceleration is None:
        return len(moves)
    fastest = max(*limits.rapid, *limits.feed)
    braking = fastest * fastest / min(limits.acceleration)
    left = np.cumsum(found.length[::-1])[::-1]
    done = int(np.count_nonzero(left > braking))
    if len(moves) - done > MOST_WAITING:
        done = len(moves) - _HELD_BACK
    return max(done - 1, 0)


def time_of(moves: Moves, limits: Limits, entry: float = 0.0) -> Timed:
    """Speeds and times of moves after which the machine stops.

    Args:
        moves: n of them.
        limits: of the machine.
        entry: speed at the start of the first [mm/s].
    """
    length = lengths(moves)
    stands = moves.kind == Kind.STAND
    unsaid = ((moves.doubt & _UNTIMED) != 0) & ~stands | ((moves.doubt & int(Doubt.START)) != 0) & ~stands
    going = np.flatnonzero((length > NOTHING) & ~unsaid & ~stands)
    n = len(moves)
    result = Timed(length, np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n), ~unsaid)
    result.seconds[stands] = np.where(moves.wait[stands] > 0.0, moves.wait[stands], limits.tool_change)
    if len(going):
        _run(moves, going, limits, entry, result)
    return result


def _run(moves: Moves, going: NDArray[np.int64], limits: Limits, entry: float, result: Timed) -> None:
    """Fill in the moves that go somewhere; between two of them the machine stops where anything stands."""
    some, length = moves.take(going), result.length[going]
    first, last = directions(some, length)
    highest, acceleration = _highest(some, first, length, limits)
    if acceleration is None:
        result.entry[going] = result.exit[going] = result.top[going] = highest
        result.seconds[going] = length / highest
        return
    gaps = np.diff(going) > 1
    stop = some.exact[:-1] | (gaps & _between(moves, going))
    corner = np.where(stop, 0.0, _corner_speed(last[:-1], first[1:], length, acceleration, limits))
    begin = min(entry, float(highest[0])) if going[0] == 0 or not _stands(moves, 0, int(going[0])) else 0.0
    node = np.concatenate(([begin], np.minimum(corner, np.minimum(highest[:-1], highest[1:])), [0.0]))
    speed = looked_ahead(node, length, acceleration)
    top, seconds = trapezoid(length, speed[:-1], speed[1:], highest, acceleration)
    result.entry[going], result.exit[going] = speed[:-1], speed[1:]
    result.top[going], result.seconds[going] = top, seconds


def _stands(moves: Moves, begin: int, end: int) -> bool:
    return bool((moves.kind[begin:end] == Kind.STAND).any())


def _between(moves: Moves, going: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether something other than a move of no length lies between each two that go."""
    odd = (moves.kind == Kind.STAND) | ((moves.doubt & (_UNTIMED | int(Doubt.START))) != 0)
    count = np.concatenate(([0], np.cumsum(odd)))
    return count[going[1:]] > count[going[:-1] + 1]


def directions(moves: Moves, length: Floats) -> tuple[Floats, Floats]:
    """Which way each move sets out and arrives.

    Args:
        moves: n of them, none without length.
        length: of each [mm], shape (n,).

    Returns:
        Unit vectors at its start and at its end [1], each of shape (n, 3).
    """
    first = (moves.end - moves.start) / length[:, None]
    last = first.copy()
    angle = swept(moves)
    for plane, (one, two, across) in AXES.items():
        at = np.flatnonzero(moves.turns & (moves.plane == plane))
        rise = (moves.end - moves.start)[at, across] / length[at]
        flat = np.sqrt(np.maximum(1.0 - rise * rise, 0.0))
        for way, side in ((first, moves.start), (last, moves.end)):
            out = side[at] - moves.centre[at]
            radius = np.hypot(out[:, one], out[:, two])
            share = np.sign(angle[at]) * flat / np.where(radius > 0.0, radius, 1.0)
            way[at, one], way[at, two], way[at, across] = -out[:, two] * share, out[:, one] * share, rise
    return first, last


def _highest(moves: Moves, first: Floats, length: Floats, limits: Limits) -> tuple[Floats, Floats | None]:
    """Highest speed [mm/s] and acceleration [mm/s2] along each move, by its axes and by how tight it turns."""
    share = np.abs(first)
    flat = np.ones(len(moves))
    for plane, (one, two, across) in AXES.items():
        at = moves.turns & (moves.plane == plane)
        flat[at] = np.hypot(share[at, one], share[at, two])
        share[at, one] = share[at, two] = flat[at]      # somewhere on the arc each axis takes all of the speed
        share[at, across] = np.abs(first[at, across])
    share = np.maximum(share, 1e-12)
    rapid = (np.array(limits.rapid) / share).min(axis=1)
    feed = (np.array(limits.feed) / share).min(axis=1)
    highest = np.where(moves.kind == Kind.RAPID, rapid, np.minimum(moves.feed * limits.override, feed))
    if limits.acceleration is None:
        return highest, None
    acceleration = (np.array(limits.acceleration) / share).min(axis=1)
    turn = np.abs(swept(moves))
    radius = np.divide(length * flat, turn, out=np.zeros(len(moves)), where=turn > 0.0)
    arcs = moves.turns & (radius > 0.0)
    tight = np.sqrt(acceleration[arcs] * flat[arcs] * radius[arcs]) / np.maximum(flat[arcs], 1e-12)
    highest[arcs] = np.minimum(highest[arcs], tight)
    return highest, acceleration


def _corner_speed(last: Floats, first: Floats, length: Floats, acceleration: Floats, limits: Limits) -> Floats:
    cos = np.clip((last * first).sum(axis=1), -1.0, 1.0)
    change = first - last
    size = np.sqrt((change * change).sum(axis=1))
    share = np.maximum(np.abs(change) / np.where(size > 0.0, size, 1.0)[:, None], 1e-12)
    axes = np.array(limits.acceleration)
    along = np.where(size > 0.0, (axes / share).min(axis=1), np.minimum(acceleration[:-1], acceleration[1:]))
    half = 0.5 * np.minimum(length[:-1], length[1:])
    return corner_speed(cos, half, along, limits.corner)


def corner_speed(cos: Floats, half: Floats, acceleration: Floats, corner: float) -> Floats:
    """Speed round a corner on the circle that touches both legs.

    The circle may leave the corner by `corner` and use up half of the shorter leg: with the turn φ its radius is
    the smaller of corner·cos(φ/2)/(1 − cos(φ/2)) and half/tan(φ/2), and v² = a·r.

    Args:
        cos: cosine of the turn φ between the legs [1], shape (n,).
        half: half of the shorter leg [mm], shape (n,).
        acceleration: towards the inside of the corner [mm/s2], shape (n,).
        corner: how far the path may leave the corner [mm].

    Returns:
        Speed [mm/s], infinite where it goes straight on, shape (n,).
    """
    sine, cosine = np.sqrt(0.5 * (1.0 - cos)), np.sqrt(0.5 * (1.0 + cos))
    straight = sine < 1e-9
    sine = np.where(straight, 1.0, sine)
    within = corner * cosine * (1.0 + cosine) / (sine * sine)
    radius = np.minimum(within, half * cosine / sine)
    return np.where(straight, np.inf, np.sqrt(acceleration * radius))


def looked_ahead(node: Floats, length: Floats, acceleration: Floats) -> Floats:
    """Highest speeds at the ends of moves so that each can be reached from its neighbours.

    v² changes by at most 2·a·length over a move, so with the running sum P of that, backwards v² + P and forwards
    v² − P only ever fall: two running minima instead of two loops.

    Args:
        node: highest speed allowed at each end [mm/s], shape (n + 1,).
        length: of each move [mm], shape (n,).
        acceleration: along each move [mm/s2], shape (n,).

    Returns:
        Speed at each end [mm/s], shape (n + 1,).
    """
    run = np.concatenate(([0.0], np.cumsum(2.0 * acceleration * length)))
    square = node * node
    braking = np.minimum.accumulate((square + run)[::-1])[::-1] - run
    square = np.minimum(square, np.maximum(braking, 0.0))
    starting = np.minimum.accumulate(square - run) + run
    speed: Floats = np.sqrt(np.minimum(square, np.maximum(starting, 0.0)))
    return speed


def trapezoid(
    length: Floats, entry: Floats, leave: Floats, highest: Floats, acceleration: Floats
) -> tuple[Floats, Floats]:
    """Top speed and time of moves that speed up, go evenly, slow down.

    Args:
        length: [mm], shape (n,).
        entry: speed at the start [mm/s], shape (n,).
        leave: speed at the end [mm/s], shape (n,).
        highest: speed that is not passed [mm/s], shape (n,).
        acceleration: [mm/s2], shape (n,).

    Returns:
        Top speed [mm/s] and time [s], each of shape (n,).
    """
    reach = np.sqrt(0.5 * (entry * entry + leave * leave) + acceleration * length)
    top = np.maximum(np.minimum(highest, reach), np.maximum(entry, leave))
    ramps = (2.0 * top * top - entry * entry - leave * leave) / (2.0 * acceleration)
    even = np.maximum(length - ramps, 0.0)
    return top, (2.0 * top - entry - leave) / acceleration + even / np.where(top > 0.0, top, 1.0)
