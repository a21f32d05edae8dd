"""A program that says another tool, tool length, speed or depth than the route card: one of them is wrong."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from ..belief import Belief
from ..units import tell
from ._run import deep
from .base import Case, Check, Finding, Spread, cannot

NAME = "program card"
SAME_SPEED: Final = 0.03     #: of the speed: numbers that are rounded are the same
SAME_DEPTH: Final = 0.05     #: [mm]
SAME: Final = 0.1            #: of the depth
LENGTH: Final = "length of that tool"


def _applies(case: Case) -> bool:
    return case.run is not None and case.run.moves > 0


def differences(case: Case) -> Iterator[str]:
    """What the program and the card do not agree on."""
    run, card, units = case.run, case.route.operations[case.name], case.job.units
    assert run is not None
    called = [tool for tool in run.tools if tool]
    if len(called) > 1:
        yield f"it calls the tools {', '.join(map(str, called))}: program_tool says which is this operation's"
    yield from (f"line {spot.line}: {spot.what}" for spot in run.told if LENGTH in spot.what)
    wanted = card.cut.spindle_speed
    if wanted and run.speeds and not any(math.isclose(speed, wanted, rel_tol=SAME_SPEED) for speed in run.speeds):
        yield (f"the card says {tell(wanted, 'rotation', units)}, the program "
               f"{' and '.join(tell(speed, 'rotation', units) for speed in run.speeds[:2])}")
    depth, cut = card.cut.depth_of_cut, case.op.cut.depth_of_cut
    if depth and cut and cut > depth * (1.0 + SAME) + SAME_DEPTH:
        yield f"the card says {deep(depth, units)} deep, the program cuts up to {deep(cut, units)} deep"


def _evaluate(case: Case, belief: Belief) -> Finding:
    found = list(differences(case))
    if found:
        return cannot(NAME, case, "tool", f"{case.run.file if case.run else ''}: {'; '.join(found)}",
                      "make card and program say the same")
    return Finding(NAME, "operation", case.name, "tool", np.zeros(belief.rows), Spread.of(0.0), Spread.of(0.0),
                   "differences", "tool, speed and depth are those of the card")


CHECK = Check(NAME, "program is not what the card says", "tool", "operation", _applies, _evaluate)
