"""First pass on hot-rolled bar: the edge must run beneath the scale, not in it."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, finite, not_negative


def lowest_scale(dip: Num, crust: Num) -> Array:
    """How far below the touched-off top the scale reaches.

    Args:
        dip: how much the lowest place of the raw face lies below the touched-off one: bow, level and pits
            together [m], shape (N,).
        crust: thickness of scale and hardened skin [m], shape (N,).

    Returns:
        Depth [m], shape (N,).

    Raises:
        OutOfRange: if an argument is negative.

    Range: the tool was set on the highest place of the face.
    Source: own, sum of heights.
    """
    return np.asarray(not_negative("dip", dip) + not_negative("crust", crust), dtype=np.float64)


def scale_margin(depth_of_cut: Num, dip: Num, crust: Num) -> Array:
    """How far the first pass runs beneath the scale: negative is in the scale.

    Args:
        depth_of_cut: a_p of the first pass, below the touched-off top [m], scalar or shape (N,).
        dip: lowest below touched-off place of the raw face [m], shape (N,).
        crust: thickness of scale and hardened skin [m], shape (N,).

    Returns:
        Margin [m], shape (N,).

    Raises:
        OutOfRange: if dip or crust is negative.

    Range: as lowest_scale.
    Source: own, depth less lowest_scale.
    """
    return np.asarray(finite("depth of cut", depth_of_cut) - lowest_scale(dip, crust), dtype=np.float64)
