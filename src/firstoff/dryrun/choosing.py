"""Chooses the numbers of a cut: least expected cost, looked for along depth, speed, width and feed.

What is minimised is what the person pays: minutes of running, and what may go wrong times what that
costs here. The weight on losing the part is raised until that chance is small enough, if any numbers
at all bring it there. Doubt about the machine alone makes no cut timid: a cut that may sing costs a few
minutes, a pass of a hundredth costs an hour. The direction stays as lost motion decided it. Candidates
are compared on the same thinned rows.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..belief import Belief
from ..checks.base import Case, Finding
from ..checks.si import tool_radius
from ..job.route import Cut, Operation
from .cost import loss, wages
from .findings import found_now
from .nominal import nominal_windows
from .totals import chance_part_lost, chance_spoiled

THIN_ROWS: Final = 128                     #: rows for candidates; verdicts are never from these
WEIGHTS: Final = (0.0, 5.0, 50.0)          #: on losing the part (λ), raised until that is unlikely enough
ROUNDS: Final = 2                          #: times round depth, speed, width, feed
DEPTHS: Final = (1.0, 0.7, 0.5, 0.35, 0.25, 0.17, 0.12, 0.08)
WIDTHS: Final = (1.0, 0.6, 0.35, 0.2)
SPEEDS: Final = (1.0, 0.7, 0.5, 1.4, 2.0, 2.8)
FEEDS: Final = (1.0, 0.6, 1.5, 2.2)
LEAST_DEPTH: Final = 0.05                  #: [mm] thinner than this nobody sets a pass on a light machine
SPREAD_OUT: Final = frozenset({"face_rough", "face_finish", "side_rough", "pocket_rough", "ramp_rough",
                               "ramp_finish", "form"})     #: roles whose width may be taken in more passes


def thinned(belief: Belief) -> Belief:
    """Every so-many-th row, for comparing candidates."""
    return belief.thinned(np.linspace(0, belief.rows - 1, min(THIN_ROWS, belief.rows)).astype(np.intp))


@dataclass(frozen=True)
class Candidate:
    """One set of numbers for an operation and what it would cost."""

    case: Case
    findings: tuple[Finding, ...]
    p_spoil: float
    minutes: float
    rows: int

    def cost(self, weight: float) -> float:
        """Wages of running, and what may go wrong; a lost part, and a broken tool that takes it along, weigh more."""
        return wages(self.minutes, self.case.shop) + sum(
            (f.p_fail or 0.0) * loss(f, self.case) * (1.0 + weight if f.at_risk in ("part", "tool") else 1.0)
            for f in self.findings
        )

    @property
    def p_lost(self) -> float:
        """The chance that the part is lost."""
        return chance_part_lost(self.findings, self.rows)


def with_operation(case: Case, operation: Operation) -> Case:
    """The same case with other numbers: what stood before it does not change."""
    route = case.route.model_copy(update={"operations": {**case.route.operations, case.name: operation}})
    changed = replace(case, route=route, operation=operation, windows=None)
    return replace(changed, windows=nominal_windows(changed))


class Chooser:
    """Looks for the numbers of one operation; remembers what it has tried."""

    def __init__(self, case: Case, thin: Belief) -> None:
        self.case, self.thin = case, thin
        self._tried: dict[Cut, Candidate] = {}

    def look(self, cut: Cut) -> Candidate:
        """What these numbers would cost."""
        if cut not in self._tried:
            case = with_operation(self.case, self.case.op.model_copy(update={"cut": cut}))
            findings = tuple(found_now(case, self.thin))
            minutes = case.windows.minutes if case.windows is not None else 0.0
            self._tried[cut] = Candidate(case, findings, chance_spoiled(findings, self.thin.rows), minutes,
                                         self.thin.rows)
        return self._tried[cut]

    def best(self, enough: float) -> Candidate:
        """The present numbers where they are good; else the least expected cost, the weight of losing
        the part raised until that chance is at most `enough`, if any numbers bring it there."""
        found = self.look(self.case.op.cut)
        if found.p_spoil <= self.case.shop.close and found.p_lost <= enough:
            return found
        for weight in WEIGHTS:
            found = self._descend(weight)
            if found.p_lost <= enough:
                break
        return found

    def _descend(self, weight: float) -> Candidate:
        best = self.look(self.case.op.cut)
        for _ in range(ROUNDS):
            before = best
            for vary in (_depths, _speeds, _widths, _feeds):
                for cut in vary(self.case, best.case.op.cut):
                    candidate = self.look(cut)
                    if candidate.cost(weight) < best.cost(weight):
                        best = candidate
            if best is before:
                break
        return best


def choosable(case: Case) -> bool:
    """Whether an operation has numbers to choose: milled, with a speed and a feed."""
    if case.operation is None or case.op.locked or case.op.tool is None or not case.windows:
        return False
    cut = case.op.cut
    return (case.tool.kind in ("end_mill", "ball", "corner_radius", "face_mill") and cut.spindle_speed is not None
            and cut.feed_per_tooth is not None)


Vary = Callable[[Case, Cut], Iterator[Cut]]


def _depths(case: Case, cut: Cut) -> Iterator[Cut]:
    assert case.windows is not None
    whole = float(case.windows.depth.max())
    for share in DEPTHS:
        depth = settable(whole * share)
        if depth >= LEAST_DEPTH:
            yield cut.model_copy(update={"depth_of_cut": depth})


def _widths(case: Case, cut: Cut) -> Iterator[Cut]:
    if case.op.role not in SPREAD_OUT or cut.direction == "slot" or case.op.cut.width_of_cut is None:
        return
    for share in WIDTHS:
        yield cut.model_copy(update={"width_of_cut": settable(case.op.cut.width_of_cut * share)})


def _feeds(case: Case, cut: Cut) -> Iterator[Cut]:
    for share in FEEDS:
        yield cut.model_copy(update={"feed_per_tooth": round((case.op.cut.feed_per_tooth or 0.0) * share, 4)})


def _speeds(case: Case, cut: Cut) -> Iterator[Cut]:
    spindle, now = case.machine.spindle, case.op.cut.spindle_speed or 0.0
    if spindle is not None and spindle.steps:
        wanted = list(spindle.steps)
    else:
        wanted = [now * share for share in SPEEDS]
    least, most = (spindle.slowest, spindle.fastest) if spindle else (0.0, np.inf)
    most = min(most, case.tool.rated_speed or np.inf, _hot(case))
    for speed in wanted:
        if least <= speed <= most:
            yield cut.model_copy(update={"spindle_speed": speed})


def _hot(case: Case) -> float:
    """The fastest that the edge bears by the book, its spread allowed for; of a mixture the slowest [rad/s]."""
    fastest = math.inf
    for name in case.material.one_of or (case.material_name,):
        speeds = case.shop.materials[name].cutting_speed
        figure = speeds.carbide if case.tool.material == "carbide" else speeds.hss
        if figure is not None:
            fastest = min(fastest, figure.value * (figure.factor or 1.0) / tool_radius(case))
    return fastest


def settable(length: float) -> float:
    """A length that a person can set: to 0.05 mm, below 1 mm to 0.01 mm [mm]."""
    return round(round(length / 0.05) * 0.05, 2) if length >= 1.0 else round(length, 2)


#: how each number of a cut is said, with the word behind it
SAID: Final = (
    ("depth_of_cut", "length", "deep"), ("width_of_cut", "length", "wide"), ("spindle_speed", "rotation", ""),
    ("feed_per_tooth", "length", "a tooth"),
)
