"""A program that cuts with the spindle off."""

from __future__ import annotations

from ..belief import Belief
from ._chance import decided, figure
from ._run import lines_of, worst_first
from .base import Case, Check, Finding

NAME = "program spindle"


def _applies(case: Case) -> bool:
    return case.run is not None and case.run.moves > 0


def _evaluate(case: Case, belief: Belief) -> Finding:
    run = case.run
    assert run is not None
    most = worst_first(run.off)[0].size if run.off else 0.0
    because = "the spindle turns wherever metal comes off"
    if run.off:
        because = (f"{run.file}, {lines_of(run.off)}: the spindle does not turn where about {figure(most)} mm3 "
                   "would have to come off: M3 is missing, or stands too late")
    return decided(NAME, case, belief, "tool", most, 0.0, unit="mm3", because=because)


CHECK = Check(NAME, "spindle off in the work", "tool", "operation", _applies, _evaluate)
