"""A program that cuts into a finished face of the part: by the distance of the cutter's envelope, not by cells."""

from __future__ import annotations

from typing import Final

from ..belief import Belief
from ._chance import decided
from ._run import deep, worst_first
from .base import Case, Check, Finding

NAME = "program gouge"
#: what rounding in a post and arcs in chords leave [mm]; judged
ROUNDED: Final = 0.02


def _applies(case: Case) -> bool:
    return case.run is not None and case.run.moves > 0


def _evaluate(case: Case, belief: Belief) -> Finding:
    run = case.run
    assert run is not None
    worst = worst_first(run.gouges)
    most = worst[0].size if worst else 0.0
    because = "no flat or round face that it passes along is cut into"
    if most > ROUNDED:
        more = sum(spot.size > ROUNDED for spot in worst) - 1
        because = (f"{run.file}, line {worst[0].line}: {deep(most, case.job.units)} into {worst[0].what} of the part"
                   + (f", and {more} more faces" if more else ""))
    return decided(NAME, case, belief, "part", most, ROUNDED, unit="mm", because=because)


CHECK = Check(NAME, "program cuts into the part", "part", "operation", _applies, _evaluate)
