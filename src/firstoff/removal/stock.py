"""Stock as rods of material on a grid of square cells. Geometry; mm.

The grid lies at an angle to the axes, so that no straight cut along an axis runs along its rows. A rod holds any
number of intervals, so that undercuts and the side that was cut before the piece was turned over are there, too.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..errors import OutOfRange

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Counts = NDArray[np.int32]
Vector = tuple[float, float, float]

ANGLE: Final = math.atan(2.0 / (3.0 + math.sqrt(5.0)))     #: a slope that no small fractions come near to
CELL: Final = 0.1                   #: [mm] side of a cell, where nobody asks for another
MOST_CELLS: Final = 200_000_000     #: more do not fit the memory of a small computer
MARGIN: Final = 2                   #: [cells] round the stock
POOL: Final = 1024                  #: intervals below the highest, to begin with
EMPTY: Final = -1.0e9               #: [mm] as in `_cells`
TOP, BOTTOM, LOW, PART = range(4)   # as in `_cells`
UPRIGHT: Final = 1.0e-9             #: [1] a face whose normal rises less stands upright

#: lower and upper ends of material over places x and y [mm]
Ends = Callable[[Floats, Floats], tuple[Floats, Floats]]


@dataclass
class Stock:
    """What is left of a piece of stock; changed in place as it is cut.

    Fields:
        cell: side of a cell [mm].
        shape: rows and columns [1].
        corner: place of the middle of the first cell along rows and columns [cells], shape (2,).
        rods: highest interval of each cell and its edge, see `_cells`, shape (4, cells).
        more: place of the interval below, -1 for none, shape (cells,).
        pool: ends of those intervals, shape (2, p).
        links: the next below each; in its last place how many are taken, shape (p + 1,).
        ceiling: nothing is above it [mm].
        floor: none of the highest intervals ends below above it [mm].
    """

    cell: float
    shape: tuple[int, int]
    corner: Floats
    rods: Singles
    more: Counts
    pool: Singles
    links: Counts
    ceiling: float
    floor: float

    @classmethod
    def block(cls, size: Vector, corner: Vector = (0.0, 0.0, 0.0), cell: float = CELL) -> Stock:
        """A block with its faces along the axes.

        Args:
            size: along x, y and z [mm].
            corner: its least x, y and z [mm].
            cell: side of a cell [mm].
        """
        (length, width, height), (x0, y0, z0) = size, corner

        def edge(x: Floats, y: Floats) -> Floats:
            across = np.minimum(x - x0, x0 + length - x)
            return np.minimum(across, np.minimum(y - y0, y0 + width - y))

        plan = np.array([(x, y) for x in (x0, x0 + length) for y in (y0, y0 + width)])
        return cls._upright(plan, edge, _level(z0, z0 + height), height, cell)

    @classmethod
    def askew(cls, low: Vector, high: Vector, turn: Floats, shift: Floats, cell: float = CELL) -> Stock:
        """A block that is seen at an angle.

        Args:
            low: its least x, y and z in its own axes [mm].
            high: its greatest [mm].
            turn: its own axes in those of the rods, as columns [1], shape (3, 3).
            shift: where its own zero lies there [mm], shape (3,).
            cell: side of a cell [mm].
        """
        turn = np.asarray(turn, dtype=np.float64)
        corners = np.array(list(product(*zip(low, high, strict=True)))) @ turn.T + shift
        slabs = [(turn[:, k], float(turn[:, k] @ shift), low[k], high[k]) for k in range(3)]

        def edge(x: Floats, y: Floats) -> Floats:
            inside = np.full(x.shape, np.inf)
            for way, at, least, most in slabs:
                if abs(way[2]) < UPRIGHT:
                    along = x * way[0] + y * way[1] - at
                    inside = np.minimum(inside, np.minimum(along - least, most - along))
            return inside

        def ends(x: Floats, y: Floats) -> tuple[Floats, Floats]:
            bottom, top = np.full(x.shape, -np.inf), np.full(x.shape, np.inf)
            for way, at, least, most in slabs:
                if abs(way[2]) >= UPRIGHT:
                    along = x * way[0] + y * way[1] - at
                    one, other = (least - along) / way[2], (most - along) / way[2]
                    bottom, top = np.maximum(bottom, np.minimum(one, other)), np.minimum(top, np.maximum(one, other))
            return bottom, top

        return cls._upright(corners[:, :2], edge, ends, float(np.ptp(corners[:, 2])), cell)

    @classmethod
    def bar(cls, diameter: float, height: float, foot: Vector = (0.0, 0.0, 0.0), cell: float = CELL) -> Stock:
        """A round bar that stands upright on `foot`, the middle of its lower end; lengths in mm."""
        radius, (x0, y0, z0) = 0.5 * diameter, foot
        plan = np.array([(x0 + i * radius, y0 + j * radius) for i in (-1, 1) for j in (-1, 1)])
        return cls._upright(
            plan, lambda x, y: radius - np.hypot(x - x0, y - y0), _level(z0, z0 + height), height, cell)

    @classmethod
    def _upright(
        cls, plan: Floats, edge: Callable[[Floats, Floats], Floats], ends: Ends, height: float, cell: float,
    ) -> Stock:
        """A solid: `edge` tells how far inside its outline a point lies, `ends` between which heights it is [mm]."""
        sizes = (*np.ptp(plan, axis=0), height, cell)
        if not all(math.isfinite(size) and size > 0.0 for size in sizes):
            raise OutOfRange(f"no stock has the sizes {sizes} mm", right="each above 0")
        places = turned(plan) / cell
        corner = np.floor(places.min(axis=0)) - MARGIN
        wide, high_rows = (int(n) for n in np.ceil(places.max(axis=0) - corner) + MARGIN + 1)
        if wide * high_rows > MOST_CELLS:
            raise OutOfRange(f"{wide * high_rows} cells of {cell:g} mm are too many",
                             right=f"larger cells: at most {MOST_CELLS} of them")
        rods = np.empty((4, high_rows, wide), dtype=np.float32)
        limits = [_fill(rods[:, row], edge, ends, corner, row, cell) for row in range(high_rows)]
        floor, ceiling = np.max(limits, axis=0).tolist()
        n = wide * high_rows
        return cls(cell, (high_rows, wide), corner, rods.reshape(4, n), np.full(n, -1, dtype=np.int32),
                   np.zeros((2, POOL), dtype=np.float32), np.zeros(POOL + 1, dtype=np.int32), ceiling, floor)

    @property
    def volume(self) -> float:
        """What is left [mm3]."""
        top, bottom, low, part = self.rods.astype(np.float64)
        whole = ((top - bottom) - part * (top - np.maximum(low, bottom))).sum()
        taken = self._below()
        below = (self.pool[TOP, taken].astype(np.float64) - self.pool[BOTTOM, taken]).sum()
        return float(whole + below) * self.cell**2

    def _below(self) -> Counts:
        """Places of the pool that belong to a cell."""
        found, here = [], self.more[self.more >= 0]
        while len(here):
            found.append(here)
            here = self.links[here]
            here = here[here >= 0]
        return np.concatenate(found) if found else np.zeros(0, dtype=np.int32)

    def bound(self) -> None:
        """Find ceiling and floor anew."""
        self.ceiling, self.floor = float(self.rods[TOP].max()), float(self.rods[BOTTOM].max())

    def widen(self) -> None:
        """Room for twice as many intervals in the pool."""
        taken, room = self.links[-1], len(self.links) - 1
        self.pool = np.concatenate([self.pool, np.zeros((2, room), dtype=np.float32)], axis=1)
        self.links = np.concatenate([self.links[:-1], np.zeros(room, dtype=np.int32), [taken]]).astype(np.int32)

    @property
    def placing(self) -> tuple[float, float]:
        """Cosine and sine of the angle at which the grid lies."""
        return math.cos(ANGLE), math.sin(ANGLE)

    def places(self, points: Floats) -> Floats:
        """Points as places on the grid, the middles of cells at whole numbers.

        Args:
            points: x and y [mm], and more columns that stay as they are, shape (n, 2 or more).

        Returns:
            Along the rows and across them [cells], the rest as it was, shape of `points`.
        """
        on = np.array(points, dtype=np.float64)
        on[:, :2] = turned(on[:, :2]) / self.cell - self.corner
        return on

    def points(self, places: Floats) -> Floats:
        """Places on the grid [cells] as points [mm], shape (n, 2 or more): the other way round."""
        at = np.array(places, dtype=np.float64)
        at[:, :2] = turned((at[:, :2] + self.corner) * self.cell, -1.0)
        return at

    def intervals(self, x: float, y: float) -> list[tuple[float, float]]:
        """Material over a point [mm]: lower and upper end of each interval, from above."""
        column, row = (round(float(v)) for v in self.places(np.array([[x, y]]))[0])
        if not (0 <= row < self.shape[0] and 0 <= column < self.shape[1]):
            return []
        k = row * self.shape[1] + column
        top = self.rods[LOW if self.rods[PART, k] >= 0.5 else TOP, k]
        ends = [(float(self.rods[BOTTOM, k]), float(top))]
        place = int(self.more[k])
        while place >= 0:
            ends.append((float(self.pool[BOTTOM, place]), float(self.pool[TOP, place])))
            place = int(self.links[place])
        return [(low, high) for low, high in ends if high > low]


def turned(plan: Floats, sense: float = 1.0) -> Floats:
    """Points of the plan [mm] along the rows of the grid and across them; `sense` -1 for the way back."""
    c, s = math.cos(ANGLE), math.sin(ANGLE) * sense
    return np.stack([plan[:, 0] * c + plan[:, 1] * s, plan[:, 1] * c - plan[:, 0] * s], axis=1)


def _level(low: float, high: float) -> Ends:
    """Between these heights everywhere [mm]."""
    return lambda x, _: (np.full(x.shape, low), np.full(x.shape, high))


def _fill(
    rods: Singles, edge: Callable[[Floats, Floats], Floats], ends: Ends, corner: Floats, row: int, cell: float,
) -> tuple[float, float]:
    """A row of cells; those on the outline are filled in part. The highest lower end in it, and the highest upper."""
    places = np.stack([np.arange(rods.shape[1]) + corner[0], np.full(rods.shape[1], row + corner[1])], axis=1)
    x, y = turned(places * cell, -1.0).T
    inside = edge(x, y) / cell
    share = np.where(inside > 1.0, 1.0, 0.0)
    near = np.abs(inside) <= 1.0
    share[near] = shares(edge, x[near], y[near], cell)
    low, high = ends(x, y)
    there = (share > 0.0) & (high > low)
    rods[TOP] = np.where(there, high, EMPTY)
    rods[BOTTOM] = rods[LOW] = np.where(there, low, EMPTY)
    rods[PART] = np.where(there, 1.0 - share, 0.0)
    return float(np.max(low, where=there, initial=EMPTY)), float(np.max(high, where=there, initial=EMPTY))


def shares(edge: Callable[[Floats, Floats], Floats], x: Floats, y: Floats, cell: float, parts: int = 16) -> Floats:
    """Share of cells inside an outline, by `parts` × `parts` points in each [1], the shape of x and y [mm]."""
    at = (np.arange(parts) + 0.5) / parts - 0.5
    along, across = (grid.ravel() * cell for grid in np.meshgrid(at, at))
    offsets = turned(np.stack([along, across], axis=1), -1.0)
    inside = edge(x[:, None] + offsets[None, :, 0], y[:, None] + offsets[None, :, 1])
    step = cell / parts
    share: Floats = np.clip(0.5 + inside / step, 0.0, 1.0).mean(axis=1)
    return share
