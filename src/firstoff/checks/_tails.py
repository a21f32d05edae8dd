"""What is told of a spread with long tails: by its central nineteen in twenty, not by its rarest rows.

A lognormal figure of × and ÷ 2, squared and summed, is ruled by a few rows that hardly ever come. Chances count every
row; what is told beside them (how far either way, which error is how much of it) counts nineteen in twenty.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Rows
from ..normal import normal_quantile

SIDES: Final = (2.5, 97.5)      #: per cent of the rows between which nineteen in twenty lie
MIDDLE: Final = (15.87, 84.13)  #: per cent between which two in three lie: one standard deviation either way
_NODES: Final = 39              #: of each row's own scatter
_GOLDEN: Final = 0.6180339887498949


def drawn_in(rows: Rows) -> Rows:
    """The rows with the rarest on either side drawn in to the edge of nineteen in twenty."""
    low, high = np.percentile(rows, SIDES)
    return np.asarray(np.clip(rows, low, high))


def typical_sd(rows: Rows) -> float:
    """Half of the width in which two rows in three lie: one standard deviation of a normal spread."""
    low, high = np.percentile(rows, MIDDLE)
    return float(high - low) / 2.0


def within(offset: Rows, sd: Rows) -> float:
    """Half of the width in which nineteen in twenty lie, as two standard deviations of a normal spread.

    Args:
        offset: by row.
        sd: each row's own scatter about it, same unit.

    Returns:
        A quarter of the central interval, same unit.
    """
    # each row looks at other places of its own scatter, so that rows alike do not fall on the same few
    shift = np.mod((np.arange(len(offset)) + 0.5) * _GOLDEN, 1.0)
    nodes = normal_quantile((np.arange(_NODES) + shift[:, None]) / _NODES)
    low, high = np.percentile(offset[:, None] + sd[:, None] * nodes, SIDES)
    return float(high - low) / 4.0
