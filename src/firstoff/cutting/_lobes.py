"""Arrays of a chatter limit, rows by frequencies: sums, roots and crossings in as few steps as may be."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.cutting._guard import Array, Num

Complex = npt.NDArray[np.complex128]


def columns(parts: Sequence[Num]) -> Array:
    """Numbers and rows as columns (K, N, 1), one above the other."""
    arrays = [np.asarray(part, dtype=np.float64) for part in parts]
    every = np.empty((len(arrays), max(array.size for array in arrays)))
    for column, array in zip(every, arrays, strict=True):
        column[:] = array
    return every[:, :, None]


def single(rows: Array) -> Array:
    """In single precision."""
    return np.asarray(rows, dtype=np.float32)


def summed(*parts: tuple[Array, Complex]) -> Complex:
    """Columns of real numbers times arrays of complex ones, added up: real and imaginary parts side by side."""
    side = parts[0][1].real.dtype
    total = parts[0][0] * parts[0][1].view(side)
    for column, values in parts[1:]:
        total += column * values.view(side)
    return np.asarray(total.view(parts[0][1].dtype))


def either_root(square: Complex) -> Complex:
    """A square root, of either sign: its parts apart, which is five times as quick."""
    part = np.abs(square.real)
    large = np.sqrt((np.sqrt(part * part + square.imag * square.imag) + part) * 0.5)
    small = np.divide(square.imag * 0.5, large, out=np.zeros_like(large), where=large > 0.0)
    right = square.real >= 0.0
    root: Complex = np.empty(square.shape, dtype=square.dtype)
    root.real, root.imag = np.where(right, large, small), np.where(right, small, large)
    return root


def responses(modes: Array, frequency: Array) -> tuple[Array, Array]:
    """Compliance of each mode (3, M, N, 1) at frequencies (N, F), its real and imaginary parts: 1 / (k (1 - r2 +
    2 i zeta r))."""
    stiffness, damping, natural = modes
    spring, loss = frequency * (1.0 / natural), frequency * (-2.0 * damping / natural)
    spring *= spring
    np.subtract(1.0, spring, out=spring)
    size = spring * spring
    size += loss * loss
    np.divide(1.0 / stiffness, size, out=size)
    spring *= size
    loss *= size
    return spring, loss


class Crossing(NamedTuple):
    """For each row the crossing with the greatest real part: branch, cell, share within it, whole number."""

    branch: npt.NDArray[np.intp]
    cell: npt.NDArray[np.intp]
    share: Array
    whole: Array
    there: npt.NDArray[np.bool_]


def best_crossing(turns: Array, real: Array) -> Crossing:
    """The crossing of a whole number with the greatest real part, by linear interpolation in each cell."""
    whole, up = np.floor(turns), real > 0.0
    crossed = np.zeros(turns.shape, dtype=bool)
    np.not_equal(whole[..., 1:], whole[..., :-1], out=crossed[..., :-1])
    crossed[..., :-1] &= up[..., 1:] | up[..., :-1]
    at = np.flatnonzero(crossed)
    start, stop = turns.ravel()[at], turns.ravel()[at + 1]
    first = np.where(stop > start, np.ceil(start), np.floor(start))   # the crossing nearest to the cell's start
    last = np.where(stop > start, np.floor(stop), np.ceil(stop))      # and the one nearest to its end
    again = np.flatnonzero(last != first)
    at, number = np.concatenate([at, at[again]]), np.concatenate([first, last[again]])
    branch, row, cell = np.unravel_index(at, turns.shape)
    start, stop, low, high = turns.ravel()[at], turns.ravel()[at + 1], real.ravel()[at], real.ravel()[at + 1]
    share = (number - start) / (stop - start)
    height = low + (high - low) * share
    top = np.zeros(real.shape[1], dtype=height.dtype)       # of one kind: ten times as quick
    np.maximum.at(top, row, height)
    found = np.flatnonzero((height > 0.0) & (height == top[row]))
    best = np.zeros(top.size, dtype=np.intp)
    best[row[found]] = found
    if not found.size:
        return Crossing(best, best, top, top, top > 0.0)
    return Crossing(branch[best], cell[best], share[best], number[best], top > 0.0)
