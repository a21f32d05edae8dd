"""Shank, nut, spindle or cutter against the work, jaws, parallels, stop or bed, move by move."""

from __future__ import annotations

from ..belief import Belief
from ._chance import decided
from ._run import deep, lines_of, worst_first
from .base import Case, Check, Finding

NAME = "program hits"
#: so deep a hit is certain: less is how well sizes of nuts and jaws are known [mm]; judged
CERTAIN = 0.3


def _applies(case: Case) -> bool:
    return case.run is not None and case.run.moves > 0


def _evaluate(case: Case, belief: Belief) -> Finding:
    run = case.run
    assert run is not None
    real = tuple(spot for spot in run.hits if spot.size > CERTAIN)
    most = worst_first(run.hits)[0].size if run.hits else 0.0
    because = "; ".join(["tool and nut stay clear of all that stands there",
                         *(f"not looked at: {what}" for what in run.lacking)])
    if real:
        first = worst_first(real)[0]
        because = (f"{run.file}, line {first.line}: {first.what}, {deep(first.size, case.job.units)} deep"
                   + (f"; in all {lines_of(real)}" if len({spot.line for spot in real}) > 1 else ""))
    return decided(NAME, case, belief, "part", most, CERTAIN, unit="mm", because=because)


CHECK = Check(NAME, "tool runs into something", "part", "operation", _applies, _evaluate)
