"""A rapid that goes through metal, or a feed as fast as one."""

from __future__ import annotations

from ..belief import Belief
from ._chance import decided, figure
from ._run import lines_of, worst_first
from .base import Case, Check, Finding

NAME = "program rapid"


def _applies(case: Case) -> bool:
    return case.run is not None and case.run.moves > 0


def _evaluate(case: Case, belief: Belief) -> Finding:
    run = case.run
    assert run is not None
    spots = (*run.rapids, *run.fast)
    most = worst_first(spots)[0].size if spots else 0.0
    because = "rapids stay clear of the work"
    if run.rapids:
        because = f"{run.file}, {lines_of(run.rapids)}: a rapid goes through about {figure(most)} mm3 of the work"
    elif run.fast:
        because = (f"{run.file}, {lines_of(run.fast)}: a feed as fast as a rapid goes through about "
                   f"{figure(most)} mm3 of the work")
    return decided(NAME, case, belief, "tool", most, 0.0, unit="mm3", because=because)


CHECK = Check(NAME, "rapid through the work", "tool", "operation", _applies, _evaluate)
