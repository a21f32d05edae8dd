"""Spindle speeds at which a machine bears most without chatter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, positive
from firstoff.cutting.chatter import Factors, Mode, depth_limit
from firstoff.cutting.process_damping import FlankDamping
from firstoff.errors import OutOfRange
from firstoff.medians import median


class Speeds(NamedTuple):
    """Spindle speeds at which the limit is highest, best first.

    Fields:
        spindle_speed: angular speed of the spindle [rad/s], shape (M,).
        depth_limit: depth limit there, for the median row [m], shape (M,).
    """

    spindle_speed: Array
    depth_limit: Array


def better_speeds(
    tangential: Num, teeth: int, factors: Factors, along: Sequence[Mode], square: Sequence[Mode],
    lowest: float, highest: float, flanks: FlankDamping | None = None, rubbing_depth: float = 0.0,
) -> Speeds:
    """Spindle speeds within the spindle's range at which the depth limit is highest, for the median row.

    Args:
        tangential: K_tc [N/m2], shape (N,).
        teeth: z, number of teeth [1].
        factors: mean directional factors by rows.
        along: modes along the feed; none where it is rigid.
        square: modes square to the feed.
        lowest: lowest angular speed of the spindle [rad/s].
        highest: highest angular speed of the spindle [rad/s].
        flanks: mean damping of the flanks; none where it is left out.
        rubbing_depth: depth at which the flanks rub [m].

    Returns:
        Speeds, best first: speed [rad/s] and limit [m], shape (M,), M up to 5.

    Raises:
        OutOfRange: if the range of speeds is empty, or as depth_limit.

    Range: as depth_limit; 240 speeds evenly spaced in tooth period.
    Source: own, local maxima of the lobes of altintas1995.
    """
    low, high = float(positive("lowest speed", lowest)), float(positive("highest speed", highest))
    if high <= low:
        raise OutOfRange(f"speeds {low:.4g} ... {high:.4g} rad/s are no range", right="highest above lowest")
    speeds = 1.0 / np.linspace(1.0 / high, 1.0 / low, 240)
    middle = Factors(*(np.asarray(median(item)) for item in factors))
    modes = [[Mode(*(median(item) for item in mode)) for mode in some] for some in (along, square)]
    rub = None if flanks is None else FlankDamping(*(np.asarray(median(item)) for item in flanks))
    limits = depth_limit(median(tangential), teeth, middle, modes[0], modes[1], speeds, rub, rubbing_depth)
    padded = np.concatenate([[-np.inf], limits, [-np.inf]])
    peaks = np.flatnonzero((padded[1:-1] >= padded[:-2]) & (padded[1:-1] > padded[2:]))
    order = peaks[np.argsort(-limits[peaks], kind="stable")][:5]
    return Speeds(speeds[order], limits[order])
