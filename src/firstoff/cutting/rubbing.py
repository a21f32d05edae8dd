"""Rubbing: a chip thinner than the edge can bite ploughs, glazes and welds."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, not_negative, whole_teeth


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


def offered_chips(chip: Num, teeth: int, eccentricity: Num) -> Array:
    """Largest chip that each tooth of a cutter that runs out finds before it; below nothing it passes clear.

    Args:
        chip: of every tooth, were the cutter true [m], scalar or shape (N,).
        teeth: z, number of teeth [1].
        eccentricity: offset of the cutter's axis, half of what an indicator shows [m], scalar or shape (N,).

    Returns:
        Chip of each tooth as they come round, the one that stands out most first [m], shape (N, z).

    Raises:
        OutOfRange: if chip or eccentricity is negative, or there is no tooth.

    Range: evenly spaced teeth, the first in the direction of the offset, a tool that does not give. What the teeth
    take in a turn comes to z chips, whichever of them takes it.
    Source: kline1983, a tooth finds what the last teeth before it have left: the least over k of k chips and the
    difference of the radii.
    """
    number = whole_teeth(teeth)
    even, offset = np.broadcast_arrays(np.atleast_1d(not_negative("chip", chip)),
                                       np.atleast_1d(not_negative("eccentricity", eccentricity)))
    standing = np.cos(2.0 * np.pi * np.arange(number) / number)
    back = np.arange(1, number + 1)
    further = standing[:, None] - standing[(np.arange(number)[:, None] - back[None, :]) % number]
    found = even[:, None, None] * back[None, None, :] + offset[:, None, None] * further[None, :, :]
    return np.asarray(found.min(axis=-1), dtype=np.float64)


def working_teeth(chip: Num, teeth: int, eccentricity: Num, minimum_chip: Num) -> Array:
    """How many teeth of a cutter that runs out take a chip off; the others rub, or pass clear of the work.

    Args:
        chip: of every tooth, were the cutter true [m], scalar or shape (N,).
        teeth: z, number of teeth [1].
        eccentricity: offset of the cutter's axis, half of what an indicator shows [m], scalar or shape (N,).
        minimum_chip: least that the edge takes off [m], scalar or shape (N,).

    Returns:
        Number of teeth [1], shape (N,).

    Raises:
        OutOfRange: if an argument is negative, or there is no tooth.

    Range: as offered_chips.
    Source: own, by offered_chips and the minimum chip (wojciechowski2022).
    """
    least = np.atleast_1d(not_negative("minimum chip", minimum_chip))[:, None]
    found = offered_chips(chip, teeth, eccentricity)
    return np.asarray(np.sum((found >= least) & (found > 0.0), axis=-1), dtype=np.float64)
