"""Modes that swing freely between impulses: what the discretization of a cut follows, a batch at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array
from firstoff.cutting.chatter import Mode

#: of one or two directions by one or two
Matrix = list[list[Array]]


def stacked(matrix: Matrix) -> Array:
    """One array of a matrix whose parts broadcast."""
    flat = np.stack(np.broadcast_arrays(*(item for row in matrix for item in row)))
    return np.asarray(flat.reshape(len(matrix), -1, *flat.shape[1:]))


def times(matrix: Array, vector: Array) -> Array:
    """A matrix (K, D, ...) times a vector (D, ...)."""
    found: Array = matrix[:, 0] * vector[0]
    for i in range(1, len(vector)):
        found += matrix[:, i] * vector[i]
    return found


class Swing:
    """The modes of a batch as they swing, each a complex number that a free swing only turns and shrinks: its place,
    and what it would be a quarter of a swing later if nothing damped it.

    All figures of the modes have as many axes as a batch has. Where one direction has fewer modes than the other
    the rest of its M stand still. Inside the modes come first, (M, D, ...), which is quickest to add up.
    """

    def __init__(
        self, directions: tuple[tuple[Mode, ...], ...], shape: tuple[int, ...], step: Array, gap: Array,
    ) -> None:
        self.shape = shape
        most = max(map(len, directions))
        modes = list(zip(*([*some, *[some[0]] * (most - len(some))] for some in directions), strict=True))
        there = np.array([[float(i < len(some)) for some in directions] for i in range(most)])
        damping = stacked([[np.asarray(mode.damping) for mode in some] for some in modes])
        straight = np.sqrt(1.0 - damping**2)
        self.ring = stacked([[np.asarray(mode.natural) for mode in some] for some in modes]) * straight
        self.push = stacked([[mode.natural**2 / mode.stiffness * here for mode, here in zip(some, row, strict=True)]
                              for some, row in zip(modes, there, strict=True)]) / self.ring
        self.lag = damping / straight
        self.velocity = -self.ring * (self.lag + 1j)     # times a swing: its velocity as real part
        self.turns = [np.exp(-(self.lag + 1j) * self.ring * time) for time in (step, gap)]
        start = np.exp(1j * (1.0 + 2.4 * np.arange(there.size).reshape(there.T.shape).T)) * there
        place, speed = (np.broadcast_to(part.reshape(*there.shape, *(1,) * len(shape)), (*there.shape, *shape))
                        for part in (start.imag, start.real))
        self.swing = place + 1j * (speed + self.lag * place)

    @property
    def place(self) -> Array:
        """Displacement of each mode (D, M, ...)."""
        return np.asarray(self.swing.real.swapaxes(0, 1))

    @property
    def speed(self) -> Array:
        """Velocity of each mode (D, M, ...), over its damped frequency."""
        return np.asarray((self.swing.imag - self.lag * self.swing.real).swapaxes(0, 1))

    def places(self) -> Array:
        """Displacement in each direction (D, ...)."""
        return _summed(self.swing.real)

    def speeds(self) -> Array:
        """Velocity in each direction (D, ...)."""
        return _summed((self.velocity * self.swing).real)

    def kick(self, impulses: Array, last: bool) -> None:
        """Takes the impulses away and swings on to the next node."""
        imag = self.swing.imag
        imag -= self.push * impulses
        self.swing *= self.turns[last]

    def shrink(self, size: Array) -> None:
        """The same swing in a larger unit."""
        self.swing /= size


class Node(NamedTuple):
    """What happens at a node, as columns of what each direction adds (D, ...), D directions: what is small in each
    step of many is made once.
    """

    impulse: tuple[Array, ...]      # of a displacement since the last tooth
    mix: tuple[Array, ...]          # how much of it the surface takes
    drag: tuple[Array, ...]         # impulse of a velocity; empty where nothing rubs
    before: Array                   # displacement (D, ...) that the last tooth left here; it is moved on


class Follower:
    """Follows a swing over one tooth after the other. Nothing is allocated on the way: a batch is small, and takes
    thousands of steps.
    """

    def __init__(self, swing: Swing, nodes: Sequence[Node]) -> None:
        self.swing, self.nodes = swing, nodes
        self._moved, self._fast, self._impulse, self._part = np.empty((4, swing.swing.shape[1], *swing.shape))
        self._turning, self._taken = np.empty_like(swing.swing), np.empty_like(swing.swing.real)

    def tooth(self) -> None:
        """On to the first node of the next tooth."""
        swing, state = self.swing, self.swing.swing
        places, turning = tuple(state.real), tuple(self._turning.real)
        moved, fast, impulse, part = self._moved, self._fast, self._impulse, self._part
        for node in self.nodes:
            _add_up(places, moved)
            moved -= node.before
            _times(node.impulse, moved, impulse, part)
            if node.drag:
                np.multiply(swing.velocity, state, out=self._turning)
                _add_up(turning, fast)
                for column, one in zip(node.drag, fast, strict=True):
                    np.multiply(column, one, out=part)
                    impulse += part
            np.multiply(swing.push, impulse, out=self._taken)
            state.imag -= self._taken
            state *= swing.turns[node is self.nodes[-1]]
            _times(node.mix, moved, impulse, part)
            node.before.__iadd__(impulse)


def _add_up(parts: tuple[Array, ...], total: Array) -> None:
    """The sum of some arrays, into another."""
    if len(parts) == 1:
        total[...] = parts[0]
        return
    np.add(parts[0], parts[1], out=total)
    for one in parts[2:]:
        total += one


def _times(columns: tuple[Array, ...], vector: Array, found: Array, part: Array) -> None:
    """A matrix by its columns times a vector, into another array."""
    np.multiply(columns[0], vector[0], out=found)
    for column, one in zip(columns[1:], vector[1:], strict=True):
        np.multiply(column, one, out=part)
        found += part


def _summed(values: Array) -> Array:
    """Over the modes of each direction."""
    return np.asarray(sum(values[1:], values[0]))
