"""How a stock stands, seen from above: heights on a coarse raster along the axes of its setting. Geometry; mm.

Each height is that of the cell under the middle of a square, exact and not an average; rounding of places is half a
cell. It is for drawing, and never cut again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .stock import EMPTY, LOW, PART, TOP, Stock

Floats = NDArray[np.float64]

SQUARES: Final = 240        #: along the longer side
FINEST: Final = 0.2         #: [mm] squares are not smaller
HALF: Final = 0.5           #: of a cell that is cut: it counts as cut
STEP: Final = 0.05          #: [mm] a smaller step of height is no edge on a drawing


@dataclass(frozen=True)
class Standing:
    """Heights of a stock from above.

    Fields:
        x: least x of the raster [mm].
        y: least y [mm].
        step: side of a square [mm].
        heights: of the material at the middle of each square, nan where there is none [mm], shape (rows, columns).
    """

    x: float
    y: float
    step: float
    heights: Floats

    def middles(self) -> tuple[Floats, Floats]:
        """Middles of the squares: x of each column, y of each row [mm]."""
        rows, columns = self.heights.shape
        across, away = (np.arange(n, dtype=np.float64) + 0.5 for n in (columns, rows))
        return self.x + across * self.step, self.y + away * self.step

    def edges(self, least: float = STEP) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
        """Straight lines along squares where the height changes by more than `least` [mm], or material ends.

        Returns:
            Ends of each line [mm], as long as they go straight on.
        """
        heights = np.nan_to_num(np.pad(self.heights, 1, constant_values=np.nan), nan=EMPTY)
        upright = np.abs(np.diff(heights, axis=1)) > least
        for column in range(upright.shape[1]):
            for first, last in _runs(upright[1:-1, column]):
                at = self.x + column * self.step
                yield (at, self.y + first * self.step), (at, self.y + last * self.step)
        level = np.abs(np.diff(heights, axis=0)) > least
        for row in range(level.shape[0]):
            for first, last in _runs(level[row, 1:-1]):
                at = self.y + row * self.step
                yield (self.x + first * self.step, at), (self.x + last * self.step, at)


def _runs(where: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last-but-one of each run of true ones."""
    change = np.flatnonzero(np.diff(np.concatenate([[False], where, [False]]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(change[::2], change[1::2], strict=True)]


def standing(stock: Stock, low: tuple[float, float], high: tuple[float, float]) -> Standing:
    """How a stock stands.

    Args:
        stock: as cut so far.
        low: least x and y of the raster [mm].
        high: greatest x and y [mm].
    """
    sizes = np.array(high) - np.array(low)
    step = max(float(sizes.max()) / SQUARES, FINEST)
    columns, rows = (max(int(np.ceil(size / step - 1e-9)), 1) for size in sizes)
    empty = Standing(low[0], low[1], step, np.full((rows, columns), np.nan))
    x, y = (grid.ravel() for grid in np.meshgrid(*empty.middles()))
    place = np.rint(stock.places(np.stack([x, y], axis=1))).astype(np.int64)
    inside = ((place >= 0) & (place < np.array(stock.shape[::-1]))).all(axis=1)
    k = place[inside, 1] * stock.shape[1] + place[inside, 0]
    top = np.where(stock.rods[PART, k] >= HALF, stock.rods[LOW, k], stock.rods[TOP, k]).astype(np.float64)
    bare = (top < 0.5 * EMPTY) | (top <= stock.rods[1, k])
    heights = empty.heights.ravel()
    heights[inside] = np.where(bare, np.nan, top)
    return empty
