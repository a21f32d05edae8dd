"""Rubbing: a chip thinner than the edge can bite ploughs, glazes and welds."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, finite, not_negative, positive
from firstoff.errors import OutOfRange


def minimum_chip(edge_radius: Num, ratio: Num) -> Array:
    """Least thickness of chip that an edge takes off; below it the material flows under the edge.

    Args:
        edge_radius: r_n, rounding of the cutting edge [m], shape (N,).
        ratio: least chip over edge radius, 0.2 to 0.4 in most metals [1], shape (N,).

    Returns:
        Thickness [m], shape (N,).

    Raises:
        OutOfRange: if an argument is negative.

    Range: metals; sharp edges have 3 to 10 um, worn ones several times that (judged).
    Source: wojciechowski2022, review of measured ratios.
    """
    share = not_negative("ratio", ratio)
    return np.asarray(not_negative("edge radius", edge_radius) * share, dtype=np.float64)


def chip_margin(largest_chip: Num, minimum_chip: Num) -> Array:
    """Largest chip over the least one that the edge takes off: below 1 the tooth only rubs.

    Args:
        largest_chip: of the engagement [m], shape (N,).
        minimum_chip: of the edge [m], shape (N,).

    Returns:
        Ratio [1], shape (N,).

    Raises:
        OutOfRange: if a chip is negative or the minimum not above 0.

    Range: as minimum_chip.
    Source: own, from the definition of the minimum chip (wojciechowski2022).
    """
    least = positive("minimum chip", minimum_chip)
    return np.asarray(not_negative("largest chip", largest_chip) / least, dtype=np.float64)


def rubbing_share(feed_per_tooth: Num, entry: Num, exit_angle: Num, minimum_chip: Num) -> Array:
    """Share of the arc of engagement in which the chip is thinner than the edge takes off.

    Args:
        feed_per_tooth: f_z [m], shape (N,).
        entry: phi_st, from 0 [rad].
        exit_angle: phi_ex, above entry, up to pi [rad].
        minimum_chip: of the edge [m], shape (N,).

    Returns:
        Share, 0 to 1 [1], shape (N,).

    Raises:
        OutOfRange: if the feed is not above 0, the minimum negative, or the arc empty or beyond pi.

    Range: circular tooth path, h = f_z sin(phi).
    Source: own, arcs of h below the minimum; h from altintas2012, ch. 2.
    """
    start, stop = not_negative("entry", entry), finite("exit", exit_angle)
    if np.any(stop <= start) or np.any(stop > np.pi + 1e-9):
        raise OutOfRange(f"arc from {float(np.max(start)):.4g} to {float(np.max(stop)):.4g} rad",
                         right="exit above entry and up to pi")
    ratio = not_negative("minimum chip", minimum_chip) / positive("feed per tooth", feed_per_tooth)
    bite = np.arcsin(np.minimum(ratio, 1.0))
    cutting = np.minimum(stop, np.pi - bite) - np.maximum(start, bite)
    return np.asarray(1.0 - np.maximum(cutting, 0.0) / (stop - start), dtype=np.float64)
