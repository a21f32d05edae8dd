"""Removal by booleans of meshes with a general-purpose library: one swept solid after the other. mm."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

SIDES = 64      #: of a circle


def block(size: tuple[float, float, float]) -> Any:
    """A block with a corner at zero."""
    import manifold3d

    return manifold3d.Manifold.cube(list(size))


def cut(stock: Any, points: NDArray[np.float64], radius: float, height: float) -> Any:
    """What is left of a mesh after a flat cutter went from point to point; points of shape (n, 3)."""
    import manifold3d

    disc = manifold3d.Manifold.cylinder(height, radius, radius, SIDES)
    for start, end in zip(points[:-1].tolist(), points[1:].tolist(), strict=True):
        swept = manifold3d.Manifold.batch_hull([disc.translate(start), disc.translate(end)])
        stock = stock - swept
        stock.num_tri()         # the library puts its work off until it is asked
    return stock
