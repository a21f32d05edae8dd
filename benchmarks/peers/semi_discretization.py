"""The textbook way to a chatter map: semi-discretization of one mode, point by point, and the same in batches.

insperger2004: over each of m steps of a tooth period the coefficients and the delayed displacement are held, the step
is a matrix exponential, and the product of all steps over the period has the multipliers.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class OneMode(NamedTuple):
    """A slot with one mode along the feed."""

    mass: float          # [kg]
    damping: float       # ratio
    natural: float       # [rad/s]
    tangential: float    # [N/m2]
    radial: float        # [N/m2]
    teeth: int


def mean_factors(mill: OneMode, steps: int, parts: int = 20) -> Array:
    """Mean over each step of the force against displacement, for each depth [N/m2]."""
    phi = (np.arange(steps * parts) + 0.5) / (steps * parts) * 2.0 * np.pi / mill.teeth
    total = np.zeros(steps * parts)
    for tooth in range(mill.teeth):
        angle = phi + 2.0 * np.pi * tooth / mill.teeth
        cuts = np.sin(angle) > 0.0
        total += cuts * (mill.tangential * np.cos(angle) + mill.radial * np.sin(angle)) * np.sin(angle)
    return np.asarray(total.reshape(steps, parts).mean(axis=1))


def map_point_by_point(mill: OneMode, speeds: Array, depths: Array, steps: int) -> Array:
    """Largest multiplier at each point, in loops as published."""
    from scipy.linalg import expm

    factors, size = mean_factors(mill, steps), steps + 2
    found = np.zeros((len(speeds), len(depths)))
    for i, speed in enumerate(speeds):
        time = 2.0 * np.pi / (mill.teeth * speed) / steps
        for j, depth in enumerate(depths):
            whole = np.eye(size)
            for factor in factors:
                push = depth * factor / mill.mass
                a = np.array([[0.0, 1.0], [-mill.natural**2 - push, -2.0 * mill.damping * mill.natural]])
                p = expm(a * time)
                r = (p - np.eye(2)) @ np.linalg.inv(a) @ np.array([0.0, push])
                step = np.zeros((size, size))
                step[:2, :2] = p
                step[:2, -2] = step[:2, -1] = r / 2.0
                step[2, 0] = 1.0
                step[3:, 2:-1] = np.eye(size - 3)
                whole = step @ whole
            found[i, j] = np.abs(np.linalg.eigvals(whole)).max()
    return found


def map_in_batches(mill: OneMode, speeds: Array, depths: Array, steps: int) -> Array:
    """Largest multiplier at each point: all depths of a speed at once, exponentials in closed form."""
    factors, size, rate = mean_factors(mill, steps), steps + 2, mill.damping * mill.natural
    found = np.zeros((len(speeds), len(depths)))
    for i, speed in enumerate(speeds):
        time = 2.0 * np.pi / (mill.teeth * speed) / steps
        whole = np.broadcast_to(np.eye(size), (len(depths), size, size)).copy()
        for factor in factors:
            push = depths * factor / mill.mass
            square = mill.natural**2 + push
            pace = np.sqrt((square - rate**2).astype(np.complex128))
            shrink = np.exp(-rate * time)
            cosine, sine = np.cos(pace * time).real, (np.sin(pace * time) / pace).real
            p = shrink * np.stack([[cosine + rate * sine, sine], [-square * sine, cosine - rate * sine]])
            r = np.stack([push / square * (1.0 - p[0, 0]), -push / square * p[1, 0]])
            late = (whole[:, -2] + whole[:, -1]) / 2.0
            new = np.einsum("abd,dbs->das", p, whole[:, :2]) + np.einsum("ad,ds->das", r, late)
            whole[:, 3:] = whole[:, 2:-1].copy()
            whole[:, 2] = whole[:, 0]
            whole[:, :2] = new
        found[i] = np.abs(np.linalg.eigvals(whole)).max(axis=1)
    return found
