"""The textbook way to the forces of a milling cut: cutter, teeth and slices in loops, summed at each angle."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Rows = NDArray[np.float64]


def peak_side_force(
    law: tuple[Rows, ...], diameter: float, teeth: int, helix: float, depth: float, entry: float, leave: float,
    feed: float, angles: int = 36, slices: int = 12,
) -> Rows:
    """Largest resultant of the forces across the tool over a tooth pitch, by row (altintas2012, ch. 2)."""
    tangential, radial, _, tangential_edge, radial_edge, _ = law
    most, height = np.zeros(len(tangential)), depth / slices
    for angle in np.linspace(0.0, 2.0 * np.pi / teeth, angles, endpoint=False):
        force_x, force_y = np.zeros(len(tangential)), np.zeros(len(tangential))
        for tooth in range(teeth):
            for slice_ in range(slices):
                lag = 2.0 * np.tan(helix) / diameter * (slice_ + 0.5) * height
                phi = (angle + 2.0 * np.pi * tooth / teeth - lag) % (2.0 * np.pi)
                if entry <= phi <= leave:
                    chip = feed * np.sin(phi)
                    along = (tangential * chip + tangential_edge) * height
                    across = (radial * chip + radial_edge) * height
                    force_x += -along * np.cos(phi) - across * np.sin(phi)
                    force_y += along * np.sin(phi) - across * np.cos(phi)
        most = np.maximum(most, np.hypot(force_x, force_y))
    return most
