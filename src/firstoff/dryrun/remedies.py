"""What to do instead: a change of the route, solved on common rows, applied, and checked in full.

Candidates are looked at on every fourth row; what is told was computed on all rows, with every check
whose key the change touched, later operations, limits and joints too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..checks.base import Case, Check, Finding, Knob, Remedy
from ..errors import FirstoffError
from ..job.edits import apply_edits, as_text
from ..job.route import Route
from .cost import wages
from .findings import Findings, evaluate
from .registry import all_checks
from .result import Checked
from .times import handling_minutes
from .totals import chance_spoiled
from .walk import walk

THIN: Final = 4            #: candidates are looked at on every fourth row
MOST: Final = 3            #: remedies told for one check
WORTH_IT: Final = 0.5      #: a remedy must at least halve the chance that the operation is spoiled


@dataclass(frozen=True)
class Trial:
    """What a change would make of an operation."""

    route: Route
    edits: tuple[tuple[str, str], ...]
    text: str
    p_check: float


def remedies_for(
    check: Check, case: Case, before: list[Finding], findings: Findings, goal: float
) -> tuple[Remedy, ...]:
    """Changes that would make a check good (or at least halve the chance), least change first.

    Args:
        check: the failing check.
        case: where it fails.
        before: all findings of that operation, limit or joint.
        findings: the store that full checks go through.
        goal: the chance at which the check is good.
    """
    p_before = chance_spoiled(before, findings.belief.rows)
    thin = findings.belief.thinned(np.arange(0, findings.belief.rows, THIN))
    found: list[Remedy] = []
    for knob in check.knobs:
        trial = _least_change(check, case, knob, Findings(thin), goal, p_before)
        if trial is None:
            continue
        remedy = _in_full(trial, case, findings, p_before)
        if remedy is not None:
            found.append(remedy)
    found.sort(key=lambda r: (r.p_after > goal * 2, round(r.p_after, 3), r.minutes))
    return tuple(found[:MOST])


def _least_change(
    check: Check, case: Case, knob: Knob, thin: Findings, goal: float, p_before: float
) -> Trial | None:
    """The mildest value that makes the check good without spoiling the operation otherwise; else the best."""
    best: tuple[float, Trial] | None = None
    for trial in _trials(check, case, knob, thin):
        changed = _same_case(case, trial.route)
        p_all = chance_spoiled([k.finding for k in thin.of(changed)], thin.belief.rows)
        if trial.p_check <= goal and p_all <= max(2 * goal, WORTH_IT * p_before):
            return trial
        if p_all < WORTH_IT * p_before and (best is None or p_all < best[0]):
            best = (p_all, trial)
    return best[1] if best else None


def _trials(check: Check, case: Case, knob: Knob, thin: Findings) -> Iterator[Trial]:
    root = f"joints.{case.name}" if case.subject == "joint" else f"operations.{case.name}"
    for value in knob.values(case):
        edits = ((f"{root}.{knob.path}", as_text(knob.path, value)),)
        try:
            route = apply_edits(case.route, edits)
            changed = _same_case(case, route)
        except FirstoffError:
            continue     # this candidate cannot stand in a route at all
        if not check.applies(changed):
            continue
        p = evaluate(check, changed, thin.belief).finding.p_fail
        if p is not None:
            yield Trial(route, edits, knob.say(case, value), p)


def _same_case(case: Case, route: Route) -> Case:
    """The same operation or joint, walked again on another route."""
    return next(c for c in walk(case.job, case.shop, route, case.parts)
                if (c.subject, c.name) == (case.subject, case.name))


def _in_full(trial: Trial, case: Case, findings: Findings, p_before: float) -> Remedy | None:
    """Apply the change and run every check whose key changed, on all rows; None if it is no gain."""
    rows = findings.belief.rows
    after = walk(case.job, case.shop, trial.route, case.parts)
    own = next(c for c in after if (c.subject, c.name) == (case.subject, case.name))
    now = [k.finding for k in findings.of(own)]
    p_after = chance_spoiled(now, rows)
    if p_after > WORTH_IT * p_before or _spoils_others(case, after, findings):
        return None
    worst = max(now, key=lambda f: f.p_fail or 0.0)
    titles = {c.name: c.title for c in all_checks()}
    return Remedy(
        text=trial.text, edits=trial.edits, p_after=p_after, minutes=_minutes(own) - _minutes(case),
        money=wages(_minutes(own) - _minutes(case), case.shop),
        breaks=titles[worst.check] if (worst.p_fail or 0.0) > 0 else "",
    )


def _spoils_others(case: Case, after: tuple[Case, ...], findings: Findings) -> bool:
    """Whether anything else of the job became clearly worse by the change."""
    before = walk(case.job, case.shop, case.route, case.parts)
    others = [(a, b) for a, b in zip(before, after, strict=True) if b.name != case.name]
    worse = 0.0
    for old, new in others:
        was = sum(k.finding.p_fail or 0.0 for k in findings.of(old))
        now = sum(k.finding.p_fail or 0.0 for k in findings.of(new))
        worse += max(0.0, now - was)
    return worse > case.shop.good


def _minutes(case: Case) -> float:
    if case.operation is None:
        return 0.0
    return (case.windows.minutes if case.windows else 0.0) + handling_minutes(case, None)


def edits_in_order(checked: tuple[Checked, ...]) -> Iterator[tuple[Checked, Remedy]]:
    """The best remedy of each failing check, the likeliest to spoil first."""
    failing = [c for c in checked if c.instead]
    failing.sort(key=lambda c: c.finding.p_fail or 0.0, reverse=True)
    for c in failing:
        yield c, c.instead[0]


def route_with(route: Route, remedies: list[Remedy]) -> Route:
    """The route with several remedies applied."""
    for remedy in remedies:
        route = apply_edits(route, remedy.edits)
    return route
