"""What every function of this room asks of its arguments, and how a demand is set against a capacity."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange

Array = npt.NDArray[np.float64]


def finite(**named: npt.ArrayLike) -> list[Array]:
    """The values as arrays of finite numbers, or a refusal that names the first that is not."""
    arrays = []
    for name, value in named.items():
        array = np.asarray(value, dtype=float)
        if not np.isfinite(array).all():
            raise OutOfRange(f"{name} holds {array[~np.isfinite(array)].flat[0]}", right="finite numbers")
        arrays.append(array)
    return arrays


def not_negative(**named: npt.ArrayLike) -> list[Array]:
    """The values as arrays of finite numbers none of which is below zero."""
    arrays = finite(**named)
    for name, array in zip(named, arrays, strict=True):
        if (array < 0.0).any():
            raise OutOfRange(f"{name} is {array.min():g}", right="0 or more")
    return arrays


def above_zero(**named: npt.ArrayLike) -> list[Array]:
    """The values as arrays of finite numbers all of which are above zero."""
    arrays = finite(**named)
    for name, array in zip(named, arrays, strict=True):
        if (array <= 0.0).any():
            raise OutOfRange(f"{name} is {array.min():g}", right="above 0")
    return arrays


def used(demand: npt.ArrayLike, capacity: npt.ArrayLike) -> Array:
    """Demand over capacity: 0 without a demand, infinite where there is a demand and nothing to meet it."""
    want, have = np.broadcast_arrays(np.asarray(demand, dtype=float), np.asarray(capacity, dtype=float))
    none = np.where(want > 0.0, np.inf, 0.0)
    return np.asarray(np.divide(want, have, out=none, where=have > 0.0))
