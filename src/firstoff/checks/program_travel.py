"""A program that goes further than the machine's slides."""

from __future__ import annotations

from ..belief import Belief
from ._chance import decided
from ._run import deep
from .base import Case, Check, Finding

NAME = "program travel"


def _applies(case: Case) -> bool:
    return case.run is not None and case.run.moves > 0 and case.machine.travel is not None


def _evaluate(case: Case, belief: Belief) -> Finding:
    run, travel, units = case.run, case.machine.travel, case.job.units
    assert run is not None and travel is not None
    spans = [high - low for low, high in zip(run.rapid_low, run.rapid_high, strict=True)]
    axis = max(range(3), key=lambda k: spans[k] / travel[k])
    there = deep(travel[axis], units)
    because = (f"it goes {deep(spans[axis], units)} along {'XYZ'[axis]}, and the slides go {there}"
               + (": further than there is" if spans[axis] > travel[axis] else ""))
    return decided(NAME, case, belief, "tool", spans[axis], travel[axis], unit="mm", because=because)


CHECK = Check(NAME, "program goes beyond the slides", "tool", "operation", _applies, _evaluate)
