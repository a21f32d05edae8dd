"""Damping by the flank: a wavy cut presses the flank into the wave, the more the slower the edge runs."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, finite, not_negative, positive, whole_teeth
from firstoff.errors import OutOfRange


class FlankDamping(NamedTuple):
    """Mean damping of the flanks for each depth of cut, times the speed of the spindle.

    Fields:
        along: feed direction by feed direction [N/m2], shape (N,).
        cross: feed direction by the direction square to it [N/m2], shape (N,).
        square: square direction by itself [N/m2], shape (N,).
    """

    along: Array
    cross: Array
    square: Array


def flank_coefficient(tangential: Num, damping_length: Num) -> Array:
    """Coefficient of the force by which a flank resists the speed of a swing: F = C a v_swing / v_c.

    Published coefficients are close to the material's own cutting coefficient times a length, which grows with
    the land that is worn on the flank.

    Args:
        tangential: K_tc [N/m2], shape (N,).
        damping_length: C over K_tc [m], shape (N,).

    Returns:
        C [N/m], shape (N,).

    Raises:
        OutOfRange: if K_tc is not above 0 or the length is negative.

    Range: swings that are small against the chip, waves that are long against the worn land.
    Source: altintas2008, linear process damping force, 0.61e6 N/m in C45; own, over K_tc of that steel.
    """
    return np.asarray(positive("K_tc", tangential) * not_negative("damping length", damping_length))


def mean_flank_damping(
    coefficient: Num, diameter: Num, teeth: int, entry: Num, exit_angle: Num
) -> FlankDamping:
    """Damping of the flanks over a turn, in the directions of feed and square to it.

    Args:
        coefficient: C [N/m], scalar or shape (N,).
        diameter: D [m], scalar or shape (N,).
        teeth: z, number of teeth [1].
        entry: phi_st [rad], scalar or shape (N,).
        exit_angle: phi_ex [rad], scalar or shape (N,).

    Returns:
        FlankDamping, each [N/m2], shape of the arguments together: over the speed of the spindle it is damping for
        each depth.

    Raises:
        OutOfRange: if exit is not above entry, the diameter is not above 0, or the coefficient is negative.

    Range: the flank resists along the radius alone; mean over the turn, so no steep swings within a tooth.
    Source: own, mean of the radial force of altintas2008 over the arc.
    """
    start, stop = finite("entry", entry), finite("exit", exit_angle)
    if np.any(stop <= start):
        least = float(np.min(stop - start + 0.0 * start))
        raise OutOfRange(f"angle of exit is {-least:.4g} rad below entry: not above entry", right="a width above 0")
    scale = (not_negative("flank coefficient", coefficient) * whole_teeth(teeth)
             / (np.pi * positive("diameter", diameter)))
    half, double = (stop - start) / 2.0, (np.sin(2.0 * stop) - np.sin(2.0 * start)) / 4.0
    return FlankDamping(
        along=np.asarray(scale * (half - double)),
        cross=np.asarray(scale * (np.sin(stop) ** 2 - np.sin(start) ** 2) / 2.0),
        square=np.asarray(scale * (half + double)),
    )
