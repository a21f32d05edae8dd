"""What can't be said of an NC program: words that are not understood, no unit, a way that nobody knows."""

from __future__ import annotations

import numpy as np

from ..belief import Belief
from ._run import Spot, lines_of
from .base import Case, Check, Finding, Spread, cannot

NAME = "program words"
_SHOWN = 2       #: things that the reader said, in one sentence


def _applies(case: Case) -> bool:
    return case.run is not None


def _evaluate(case: Case, belief: Belief) -> Finding:
    run = case.run
    assert run is not None
    if not run.moves:
        why = "; ".join(run.lacking) or _said(run.told) or "not one move of this tool can be read"
        return cannot(NAME, case, "part", f"{run.file} is not run over the stock: {why}",
                      "firstoff program tells what is read of it")
    if not run.unit:
        return cannot(NAME, case, "part", f"{run.file} does not say whether its lengths are mm or inch",
                      'program_unit = "mm" in route.toml, when you have looked')
    if run.unsure:
        return cannot(NAME, case, "part", f"{run.file}: where the tool goes can't be said in {lines_of(run.unsure)}"
                      f"{_because(run.told)}; what it cuts there is not counted", "write those lines otherwise")
    missing = [*(f"{name} was not cut by a program, the stock stands full there" for name in run.uncut),
               *(f"not looked at: {what}" for what in run.lacking)]
    because = "; ".join([f"every move of {run.file} is understood", *missing])
    return Finding(NAME, "operation", case.name, "part", np.zeros(belief.rows), Spread.of(0.0), Spread.of(0.0),
                   "lines", because)


def _said(told: tuple[Spot, ...]) -> str:
    return "; ".join(f"line {spot.line}: {spot.what}" for spot in told[:_SHOWN])


def _because(told: tuple[Spot, ...]) -> str:
    return f" ({_said(told)})" if told else ""


CHECK = Check(NAME, "program is not understood", "part", "operation", _applies, _evaluate)
