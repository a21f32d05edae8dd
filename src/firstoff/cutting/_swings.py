"""Modes that swing freely between impulses: what the discretization of a cut follows, a batch at once."""

from __future__ import annotations

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
    """A matrix (D, D, ...) times a vector (D, ...)."""
    if len(matrix) == 1:
        return np.asarray(matrix[0] * vector)
    found: Array = matrix[:, 0] * vector[0]
    found += matrix[:, 1] * vector[1]
    return found


class Swing:
    """The modes of a batch as they swing: places, and speeds over the damped frequency, both (D, M, ...).

    All figures of the modes have as many axes as a batch has. Where one direction has fewer modes than the other
    the rest of its M stand still.
    """

    def __init__(
        self, directions: tuple[tuple[Mode, ...], ...], shape: tuple[int, ...], step: Array, gap: Array,
    ) -> None:
        self.shape = shape
        most = max(map(len, directions))
        modes = [[*some, *[some[0]] * (most - len(some))] for some in directions]
        there = np.array([[float(i < len(some)) for i in range(most)] for some in directions])
        self.ring = stacked([[mode.natural * np.sqrt(1.0 - np.asarray(mode.damping) ** 2) for mode in some]
                              for some in modes])
        self.push = stacked([[mode.natural**2 / mode.stiffness * here for mode, here in zip(some, row, strict=True)]
                              for some, row in zip(modes, there, strict=True)]) / self.ring
        damping = stacked([[np.asarray(mode.damping) for mode in some] for some in modes])
        self.turns = [_turns(self.ring, damping, time) for time in (step, gap)]
        start = np.exp(1j * (1.0 + 2.4 * np.arange(there.size).reshape(there.shape))) * there
        self.place, self.speed = (np.broadcast_to(part.reshape(*there.shape, *(1,) * len(shape)),
                                                  (*there.shape, *shape)).copy() for part in (start.imag, start.real))

    def places(self) -> Array:
        """Displacement in each direction (D, ...)."""
        return _summed(self.place)

    def speeds(self) -> Array:
        """Velocity in each direction (D, ...)."""
        return _summed(self.ring * self.speed)

    def kick(self, impulses: Array, last: bool) -> None:
        """Takes the impulses away and swings on to the next node."""
        stay, gain, lose, keep = self.turns[last]
        self.speed -= self.push * impulses[:, None]
        now = stay * self.place
        now += gain * self.speed
        self.speed *= keep
        self.place *= lose
        self.speed += self.place
        self.place = now

    def shrink(self, size: Array) -> None:
        """The same swing in a larger unit."""
        self.place /= size
        self.speed /= size


def _turns(ring: Array, damping: Array, time: Array) -> tuple[Array, Array, Array, Array]:
    """What a free swing over a time makes of place and speed: place from both, speed from both."""
    lag = damping / np.sqrt(1.0 - damping**2)
    fade, sine, cosine = np.exp(-lag * ring * time), np.sin(ring * time), np.cos(ring * time)
    return (fade * (cosine + lag * sine), fade * sine, -fade * (1.0 + lag**2) * sine, fade * (cosine - lag * sine))


def _summed(values: Array) -> Array:
    """Over the modes of each direction."""
    found = values[:, 0]
    for i in range(1, values.shape[1]):
        found = found + values[:, i]
    return found
