"""A program that leaves stock on a face which its operation finishes."""

from __future__ import annotations

from typing import Final

from ..belief import Belief
from ._chance import decided
from ._run import deep, worst_first
from .base import Case, Check, Finding

NAME = "program left"
#: less is left by rounding in a post [mm]; judged
ROUNDED: Final = 0.02
#: more was not meant as this face: the tool only went by [mm]; judged
NOT_MEANT: Final = 2.0


def _applies(case: Case) -> bool:
    return case.run is not None and case.run.moves > 0 and case.op.leaves == 0.0 and bool(case.run.left)


def _evaluate(case: Case, belief: Belief) -> Finding:
    run, units = case.run, case.job.units
    assert run is not None
    worst = worst_first(tuple(spot for spot in run.left if spot.size <= NOT_MEANT))
    most = worst[0].size if worst else 0.0
    because = "no stock is left on the faces that it passes along"
    if most > ROUNDED:
        because = (f"{run.file}: {deep(most, units)} is left on {worst[0].what}, nearest in line {worst[0].line}; "
                   "the operation says that it leaves nothing")
    return decided(NAME, case, belief, "size", most, ROUNDED, unit="mm", because=because)


CHECK = Check(NAME, "program leaves stock", "size", "operation", _applies, _evaluate)
