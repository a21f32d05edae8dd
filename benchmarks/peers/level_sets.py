"""Removal by level sets: distances on a grid of points in space, cut by the distance to each swept cutter. mm."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Field = NDArray[np.float32]


def block(size: tuple[float, float, float], cell: float) -> Field:
    """Distances to a block with a corner at zero, negative inside; shape of its cells."""
    x, y, z = (np.arange(0.5 * cell, length, cell, dtype=np.float32) for length in size)
    inside = np.minimum.reduce(np.broadcast_arrays(
        *(np.minimum(axis, length - axis).reshape(shape) for axis, length, shape in zip(
            (x, y, z), size, ((-1, 1, 1), (1, -1, 1), (1, 1, -1)), strict=True))))
    return np.asarray(-inside, dtype=np.float32)


def cut(field: Field, points: NDArray[np.float64], radius: float, cell: float) -> None:
    """Cut by a flat cutter that goes from point to point at a level; points of shape (n, 3)."""
    for start, end in pairwise(points):
        low = np.maximum(((np.minimum(start, end)[:2] - radius) / cell).astype(int) - 1, 0)
        high = ((np.maximum(start, end)[:2] + radius) / cell).astype(int) + 2
        floor = max(int(start[2] / cell) - 2, 0)
        part = field[low[0]:high[0], low[1]:high[1], floor:]
        x = ((np.arange(part.shape[0]) + low[0] + 0.5) * cell - start[0])[:, None]
        y = ((np.arange(part.shape[1]) + low[1] + 0.5) * cell - start[1])[None, :]
        z = (np.arange(part.shape[2]) + floor + 0.5) * cell - start[2]
        way = (end - start)[:2]
        along = np.clip((x * way[0] + y * way[1]) / (way @ way), 0.0, 1.0)
        aside = radius - np.hypot(x - along * way[0], y - along * way[1])
        swept = np.minimum(aside[:, :, None], z[None, None, :]).astype(np.float32)
        np.maximum(part, swept, out=part)
