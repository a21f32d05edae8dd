"""What every function of this room asks of its arguments: finite, and inside its range."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange

Array = npt.NDArray[np.float64]
Num = float | Array


def _worst(values: Array, bad: npt.NDArray[np.bool_]) -> str:
    """The first value that is out of range, as text."""
    return f"{float(values[bad].flat[0]):.6g}"


def _refuse(name: str, values: Array, bad: npt.NDArray[np.bool_], right: str) -> None:
    """Refuses values of which any is bad. Counted, which is far quicker than asking for any: it is asked thousands
    of times for an answer."""
    if np.count_nonzero(bad):
        raise OutOfRange(f"{name} is {_worst(values, bad)}", right=right)


def finite(name: str, value: Num, *, allow_infinite: bool = False) -> Array:
    """The value as an array of floats; refuses what is not a number."""
    if isinstance(value, float) and math.isfinite(value):
        return np.asarray(value)
    values = np.asarray(value, dtype=np.float64)
    _refuse(name, values, np.isnan(values) if allow_infinite else ~np.isfinite(values), "a finite number")
    return values


def positive(name: str, value: Num, *, allow_infinite: bool = False) -> Array:
    """The value as an array; refuses zero and less."""
    if isinstance(value, float) and 0.0 < value < math.inf:
        return np.asarray(value)
    values = finite(name, value, allow_infinite=allow_infinite)
    _refuse(name, values, values <= 0.0, "greater than 0")
    return values


def not_negative(name: str, value: Num) -> Array:
    """The value as an array; refuses less than zero."""
    values = finite(name, value)
    _refuse(name, values, values < 0.0, "0 or greater")
    return values


def between(name: str, value: Num, low: Num, high: Num, *, right: str) -> Array:
    """The value as an array; refuses what lies outside low ... high (both allowed)."""
    values = finite(name, value)
    lows, highs = low, high
    if isinstance(low, np.ndarray) or isinstance(high, np.ndarray):
        values, lows, highs = np.broadcast_arrays(values, np.asarray(low), np.asarray(high))
    _refuse(name, values, (values < lows) | (values > highs), right)
    return np.asarray(values, dtype=np.float64)


def whole_teeth(teeth: int) -> int:
    """The number of teeth; refuses none and parts of a tooth."""
    if teeth != int(teeth) or teeth < 1:
        raise OutOfRange(f"number of teeth is {teeth}", right="a whole number, 1 or more")
    return int(teeth)
