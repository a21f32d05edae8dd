"""A load test: pull with a luggage scale until it slips, or as far as one likes; what the reading says."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.holding._rows import Array, above_zero, not_negative
from firstoff.normal import normal_logcdf

GRAVITY = 9.80665  #: [m/s2], standard


def pull_of(mass: npt.ArrayLike, gravity: npt.ArrayLike = GRAVITY) -> Array:
    """Force that a scale which is marked in kilograms shows.

    Args:
        mass: reading [kg], any shape.
        gravity: for which the scale is marked [m/s2], broadcast.

    Returns:
        Force [N].

    Raises:
        OutOfRange: if a value is negative.

    Range: a scale pulled in line.
    Source: own, weight.
    """
    reading, g = not_negative(mass=mass, gravity=gravity)
    return np.asarray(reading * g)


def held_loglik(slips_at: npt.ArrayLike, force: npt.ArrayLike, scatter: npt.ArrayLike) -> Array:
    """Log likelihood that a joint holds a test load.

    Args:
        slips_at: at which it gives way [N], shape (N,).
        force: of the test [N], broadcast.
        scatter: standard deviation of the logarithm of scale and test together [1], broadcast.

    Returns:
        Log likelihood [1], shape (N,).

    Raises:
        OutOfRange: if a value is not above 0.

    Range: one pull, slow.
    Source: own, lognormal scatter of reading over capacity.
    """
    bears, pull, sd = above_zero(slips_at=slips_at, force=force, scatter=scatter)
    return np.asarray(normal_logcdf(np.log(bears / pull) / sd))


def slipped_loglik(slips_at: npt.ArrayLike, force: npt.ArrayLike, scatter: npt.ArrayLike) -> Array:
    """Log likelihood that a joint gives way just at a test load, up to a constant.

    Args:
        slips_at: at which it gives way [N], shape (N,).
        force: read as it slipped [N], broadcast.
        scatter: standard deviation of the logarithm of scale and test together [1], broadcast.

    Returns:
        Log likelihood [1], shape (N,).

    Raises:
        OutOfRange: if a value is not above 0.

    Range: pulled up slowly, read at the first move.
    Source: own, lognormal scatter of reading over capacity.
    """
    bears, pull, sd = above_zero(slips_at=slips_at, force=force, scatter=scatter)
    return np.asarray(-0.5 * (np.log(bears / pull) / sd) ** 2 - np.log(sd))
