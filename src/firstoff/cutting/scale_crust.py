"""First pass on hot-rolled bar: the edge must run beneath the scale, not in it."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, not_negative


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
