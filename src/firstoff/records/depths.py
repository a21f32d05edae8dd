"""How deep a recorded cut could be made by the book, and how deep it can be now: a sentence to use at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from typing import Final

import numpy as np

from ..belief import Belief
from ..checks._forces import is_milling
from ..checks.base import Case, Check, Finding
from ..dryrun.choosing import with_operation
from ..dryrun.registry import all_checks
from ..units import tell

Found = Callable[[Check, Case, Belief], Finding | None]

#: depths that people key in [mm]
DEPTHS: Final = (0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0)
#: how far from the recorded depth to look, as a factor either way
NEAR: Final = 4.0
#: rows for a first look; what is told is computed on all of them
FEW: Final = 190
#: most operations that are told
MOST: Final = 2


def sentences(cases: Iterable[Case], book: Belief, after: Belief, found: Found) -> list[str]:
    """A sentence for each of the operations that were recorded most, where the depth that is good has changed.

    Args:
        cases: each recorded case, once for each record of it.
        book: book figures.
        after: what was learned.
        found: evaluates a check, None where it can't be computed.

    Returns:
        Such as "top-rough: good to 0.6 mm deep by the book, now to 0.75 mm".
    """
    cases = list(cases)
    many = Counter(case.name for case in cases if is_milling(case) and case.op.cut.depth_of_cut)
    by_name = {case.name: case for case in cases}
    out = []
    for name, _ in many.most_common(MOST):
        case = by_name[name]
        was, now = (deepest(case, belief.wordless(), found) for belief in (book, after))
        if was != now:
            out.append(f"{name}: {_said(was, case)} by the book, now {_said(now, case)}")
    return out


def _said(depth: float | None, case: Case) -> str:
    if depth is None:
        return "good at no depth that was tried"
    return f"good to {tell(depth, 'length', case.job.units)} deep"


def deepest(case: Case, belief: Belief, found: Found) -> float | None:
    """The deepest cut near the recorded one at which all that a person would notice is good [mm]; None for none."""
    here = case.op.cut.depth_of_cut or 0.0
    depths = [d for d in DEPTHS if here / NEAR <= d <= here * NEAR]
    thin = belief.thinned(np.linspace(0, belief.rows - 1, min(FEW, belief.rows)).astype(np.intp))
    low = _first_bad(case, thin, depths, found)
    while low > 0 and not _good(case, belief, depths[low - 1], found):
        low -= 1
    return depths[low - 1] if low else None


def _first_bad(case: Case, thin: Belief, depths: list[float], found: Found) -> int:
    """Index of the first depth that is not good, at a look at few rows: deeper is never better."""
    low, high = 0, len(depths)
    while low < high:
        middle = (low + high) // 2
        if _good(case, thin, depths[middle], found):
            low = middle + 1
        else:
            high = middle
    return low


def _good(case: Case, belief: Belief, depth: float, found: Found) -> bool:
    cut = case.op.cut.model_copy(update={"depth_of_cut": depth})
    deep = with_operation(case, case.op.model_copy(update={"cut": cut}))
    checks = [c for c in all_checks() if c.word and c.subject == "operation" and c.applies(deep)]
    rows = [f.p_rows for f in (found(c, deep, belief) for c in checks) if f is not None and f.p_rows is not None]
    return bool(rows) and 1.0 - float(np.mean(np.prod([1.0 - p for p in rows], axis=0))) <= case.shop.good
