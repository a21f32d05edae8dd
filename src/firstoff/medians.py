"""Medians and points of rows, as NumPy's own: those load its masked arrays, a fiftieth of a quick answer."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def medians(values: npt.ArrayLike, axis: int) -> Array:
    """The middle of values along an axis, between the two middle ones where they are even; NaN where one is.

    Args:
        values: any shape, with at least one value along the axis.
        axis: along which.
    """
    ordered = np.sort(np.asarray(values, dtype=np.float64), axis=axis)
    many = ordered.shape[axis]
    low, high, last = (np.take(ordered, at, axis=axis) for at in ((many - 1) // 2, many // 2, many - 1))
    return np.asarray(np.where(np.isnan(last), last, 0.5 * (low + high)))      # what is no number comes last


def median(values: npt.ArrayLike) -> float:
    """The middle of all values, as `medians`."""
    ordered = np.sort(np.asarray(values, dtype=np.float64), axis=None)
    many = ordered.size
    return float(ordered[-1] if np.isnan(ordered[-1]) else 0.5 * (ordered[(many - 1) // 2] + ordered[many // 2]))


def point_of(values: npt.ArrayLike, share: float) -> float:
    """The value below which a share of all values lies, straight between the two that are next to it.

    Args:
        values: any shape, numbers all of them.
        share: from 0 to 1.
    """
    ordered = np.sort(np.asarray(values, dtype=np.float64), axis=None)
    return float(np.interp(share * (ordered.size - 1), np.arange(ordered.size), ordered))
