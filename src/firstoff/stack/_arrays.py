"""What every function of this room asks of its arrays."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange

Array = npt.NDArray[np.float64]


def finite(name: str, value: npt.ArrayLike) -> Array:
    """The value as an array of finite numbers, or a refusal that names it."""
    array = np.asarray(value, dtype=float)
    if not np.isfinite(array).all():
        raise OutOfRange(f"{name} holds {array[~np.isfinite(array)].flat[0]}", right="finite numbers")
    return array


def not_negative(name: str, value: npt.ArrayLike) -> Array:
    """The value as an array of finite numbers none of which is below zero."""
    array = finite(name, value)
    if (array < 0.0).any():
        raise OutOfRange(f"{name} is {array.min():g}", right="0 or more")
    return array


def above_zero(name: str, value: npt.ArrayLike) -> Array:
    """The value as an array of finite numbers all of which are above zero."""
    array = finite(name, value)
    if (array <= 0.0).any():
        raise OutOfRange(f"{name} is {array.min():g}", right="above 0")
    return array


def covariance_matrix(name: str, value: npt.ArrayLike, size: int | None = None) -> Array:
    """The value as a symmetric matrix without negative variances (to rounding)."""
    matrix = finite(name, value)
    if matrix.ndim != 2 or matrix.shape[0] != matrix.shape[1] or size not in (None, matrix.shape[0]):
        want = "square" if size is None else f"{size} x {size}"
        raise OutOfRange(f"{name} has the shape {matrix.shape}", right=want)
    scale = float(np.abs(matrix).max(initial=0.0))
    if not np.allclose(matrix, matrix.T, rtol=1e-9, atol=1e-12 * scale):
        raise OutOfRange(f"{name} is not symmetric", right="the same value on both sides of the diagonal")
    if matrix.size and np.linalg.eigvalsh(matrix)[0] < -1e-9 * scale:
        raise OutOfRange(f"{name} has a negative variance", right="no negative eigenvalue")
    return matrix


def limits(lower: npt.ArrayLike, upper: npt.ArrayLike) -> tuple[Array, Array]:
    """Lower and upper limits, infinite where there is none, the lower one below the upper."""
    low, high = np.asarray(lower, dtype=float), np.asarray(upper, dtype=float)
    if np.isnan(low).any() or np.isnan(high).any() or not (low < high).all():
        raise OutOfRange(f"limits {low.tolist()} and {high.tolist()}", right="each lower below its upper")
    return low, high
