"""A few rows that stand for all of a belief: as many from among the quiet as from among the loud.

Rows taken at even steps of the order in which a cut sings tell its chance as well as four times as many taken blindly
(benchmarks/test_cut.py): most of what makes one row riskier than another makes it so for every cut.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from ..belief import Belief, Rows
from ..checks.base import Case
from ..checks.chatter import depth_over_limit
from ..dryrun.quick import Quick
from ..errors import FirstoffError

ORDERED: Final = 256       #: rows that are put in order
FEW: Final = 64            #: of them that candidates are compared on; verdicts are never from these


def few_rows(case: Case, belief: Belief) -> Quick:
    """Quick looks at the candidates of an operation, on a few rows that stand for all.

    Args:
        case: the operation with any numbers that can be computed.
        belief: on all rows.
    """
    some = belief.wordless().thinned(np.arange(0, belief.rows, max(1, belief.rows // ORDERED)))
    try:
        order = depth_over_limit(case, some)
    except FirstoffError:           # outside of what is known of singing: any order is as good as another
        order = np.zeros(some.rows)
    return Quick(some.thinned(evenly(order, FEW)))


def evenly(order: Rows, many: int) -> npt.NDArray[np.intp]:
    """Indices of so many rows at even steps of their order, ascending.

    Args:
        order: what rows are put in order by (N,).
        many: how many; all, where there are no more.
    """
    many = min(many, len(order))
    at = ((np.arange(many) + 0.5) * (len(order) / many)).astype(np.intp)
    return np.sort(np.argsort(order, kind="stable")[at])
