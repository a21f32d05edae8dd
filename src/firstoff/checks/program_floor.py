"""A program that goes below what the work rests on: into table, carrier, or deeper than the parallels are high."""

from __future__ import annotations

from typing import Final

from ..belief import Belief
from ._chance import decided
from ._run import deep
from .base import Case, Check, Finding

NAME = "program floor"
SACRIFICED: Final = 1.0      #: how deep a carrier may be cut into [mm]; judged
TOUCH: Final = 0.05          #: [mm] not worth a word
_OPEN: Final = frozenset({"vise", "bench_vise", "angle_block"})


def room(case: Case) -> float:
    """How far below the work a tool may go [mm]."""
    device, holding = case.shop.devices[case.setting.holding.device], case.setting.holding
    if device.kind == "carrier":
        return SACRIFICED
    return TOUCH + (holding.parallels if device.kind in _OPEN else 0.0)


def _applies(case: Case) -> bool:
    return case.run is not None and case.run.moves > 0 and case.run.deepest.line > 0


def _evaluate(case: Case, belief: Belief) -> Finding:
    run, units = case.run, case.job.units
    assert run is not None
    below, can = run.deepest.size, room(case)
    because = f"the tool stays {deep(-below, units)} above what the work rests on"
    if below > 0.0:
        because = (f"{run.file}, line {run.deepest.line}: the tool goes {deep(below, units)} below the work, where "
                   f"{deep(can, units)} is free")
    return decided(NAME, case, belief, "part", max(below, 0.0), can, unit="mm", because=because)


CHECK = Check(NAME, "cuts below the supports", "part", "operation", _applies, _evaluate)
