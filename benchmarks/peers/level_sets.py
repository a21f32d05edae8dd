"""Removal by level sets, as textbooks have it: signed distances on a grid of points in space. mm.

The stock is a field of distances, negative inside. Of each swept cutter the distance is worked out at every point of
the box round it, and what is left is the greater of the one and the other taken the other way round. What is removed
is the change of volume of the field, by a step that is smeared over one and a half cells to either side. Reckoned in
doubles, kept in singles: there are 120 million points.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Field = NDArray[np.float32]
Reals = NDArray[np.float64]

BAND = 3            #: [cells] round the cutter in which distances change
SMEARED = 1.5       #: [cells] to either side of a surface over which a volume fades out


def block(size: tuple[float, float, float], cell: float) -> Field:
    """Distances to a block with a corner at zero, negative inside; shape of its cells."""
    x, y, z = (np.arange(0.5 * cell, length, cell, dtype=np.float32) for length in size)
    inside = np.minimum.reduce(np.broadcast_arrays(
        *(np.minimum(axis, length - axis).reshape(shape) for axis, length, shape in zip(
            (x, y, z), size, ((-1, 1, 1), (1, -1, 1), (1, 1, -1)), strict=True))))
    return np.asarray(-inside, dtype=np.float32)


def distance(place: Sequence[Reals], start: Reals, end: Reals, radius: float) -> Reals:
    """Distance of points from a flat cutter that goes level from start to end, negative inside."""
    way = end - start
    x, y, z = (axis - begin for axis, begin in zip(place, start, strict=True))
    along = np.clip((x * way[0] + y * way[1]) / (way @ way), 0.0, 1.0)
    aside = np.sqrt((x - along * way[0]) ** 2 + (y - along * way[1]) ** 2) - radius
    outside = np.hypot(np.maximum(aside, 0.0), np.maximum(-z, 0.0))
    return np.asarray(np.minimum(np.maximum(aside, -z), 0.0) + outside)


def volume(field: Reals | Field, cell: float) -> float:
    """Volume of what is inside."""
    across = np.clip(field / (SMEARED * cell), -1.0, 1.0)
    return float((0.5 - 0.5 * (across + np.sin(np.pi * across) / np.pi)).sum()) * cell**3


def cut(field: Field, points: Reals, radius: float, cell: float) -> list[float]:
    """Cut by a flat cutter that goes from point to point at a level; the volume that each move removes.

    Args:
        field: distances, changed.
        points: of shape (n, 3).
        radius: of the cutter.
        cell: side of a cell.
    """
    removed = []
    for start, end in pairwise(points):
        low = np.maximum(((np.minimum(start, end)[:2] - radius) / cell).astype(int) - BAND, 0)
        high = ((np.maximum(start, end)[:2] + radius) / cell).astype(int) + BAND + 1
        floor = max(int(start[2] / cell) - BAND, 0)
        part = field[low[0]:high[0], low[1]:high[1], floor:]
        x, y, z = np.meshgrid(
            *((np.arange(n) + begin + 0.5) * cell for n, begin in zip(part.shape, (*low, floor), strict=True)),
            indexing="ij")
        left = np.maximum(part, -distance((x, y, z), start, end, radius))
        removed.append(volume(part, cell) - volume(left, cell))
        part[...] = left
    return removed
