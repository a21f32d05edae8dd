"""A change of the route checked in full before it is told: every check whose case it changes, on all rows."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from ..checks.base import Case, Finding, Remedy
from ..errors import FirstoffError
from ..job.edits import apply_edits
from ..job.possible import route_can_be
from .cost import expected_loss, wages
from .cures import Cure, changes_of
from .findings import Findings
from .registry import all_checks
from .remedies import Edits
from .sizes import Size
from .times import handling, part_minutes
from .walk import walk

MOST: Final = 2            #: changes that are checked in full for one limit


@dataclass(frozen=True)
class Again:
    """What a changed route comes to.

    Fields:
        p_after: chance that the limit is out [1].
        minutes: that it takes more, running and by hand [min].
        losses: that are to be expected more, but for the limit itself, in the shop's money.
        breaks: the check that is no good then and was not before, likeliest first; empty for none.
    """

    p_after: float
    minutes: float
    losses: float
    breaks: str


def rechecked(case: Case, edits: Edits, cases: Sequence[Case], findings: Findings) -> Again | None:
    """A change of the route, applied and checked.

    Args:
        case: of the limit that it is made for.
        edits: the change.
        cases: of the walk of the route as it is.
        findings: the store that full checks go through.

    Returns:
        None where the changed route cannot be, or the limit not be told on it.
    """
    try:
        route = apply_edits(case.route, edits)
        route_can_be(route, case.job, case.shop, case.parts)
        then = walk(case.job, case.shop, route, case.parts)
    except FirstoffError:
        return None
    alike = _alike(cases, then, findings)
    was, now = _changed(cases, alike, findings), _changed(then, alike, findings)
    limit = next((f for f, c in now if f.check == "size" and c.name == case.name and c.subject == "limit"), None)
    if limit is None or limit.p_fail is None:
        return None
    rest = [[(f, c) for f, c in found if f.check != "size" or c.name != case.name] for found in (was, now)]
    return Again(limit.p_fail, _minutes(then) - _minutes(cases), expected_loss(rest[1]) - expected_loss(rest[0]),
                 _breaks(rest[0], rest[1], case.shop.close))


_Found = list[tuple[Finding, Case]]


def _alike(cases: Iterable[Case], others: Iterable[Case], findings: Findings) -> set[tuple[str, str]]:
    """The cases of a route in which the same is found on another route."""
    known = {(c.subject, c.name): c for c in others}
    return {name for c in cases if (name := (c.subject, c.name)) in known and findings.alike(c, known[name])}


def _changed(cases: Iterable[Case], alike: Collection[tuple[str, str]], findings: Findings) -> _Found:
    """What is found in the cases that are not alike."""
    return [(kept.finding, c) for c in cases if (c.subject, c.name) not in alike
            for kept in findings.of(c, told=False)]


def _breaks(was: _Found, now: _Found, close: float) -> str:
    """What is no good now and was better before."""
    before = {(f.check, c.subject, c.name): f.p_fail or 0.0 for f, c in was}
    after = [(f.p_fail or 0.0, f, c) for f, c in now]
    worse = [(p, f, c) for p, f, c in after
             if p > close and p > before.get((f.check, c.subject, c.name), 0.0) + close]
    if not worse:
        return ""
    _, finding, case = max(worse, key=lambda item: item[0])
    return f"{case.name}: {next(c.title for c in all_checks() if c.name == finding.check)}"


def _minutes(cases: Iterable[Case]) -> float:
    """All operations of a route, running and by hand [min]."""
    total, before = 0.0, None
    for case in cases:
        if case.operation is not None:
            total += (case.windows.minutes if case.windows else 0.0) + handling(case.op, before, case.machine)
            before = case.op
    return total


def cures_in_full(
    cures: Iterable[Cure], case: Case, p: float, remake: float, cases: Sequence[Case], findings: Findings,
) -> tuple[Cure, ...]:
    """Cures as they come out when the route is changed so; those that are no gain are left out.

    Args:
        cures: as they looked on few rows.
        case: of the limit.
        p: chance that it is out as planned [1].
        remake: minutes that its part costs when it is lost [min].
        cases: of the walk of the route as it is.
        findings: the store that full checks go through.
    """
    out = []
    for cure in cures:
        again = rechecked(case, cure.edits, cases, findings) if cure.edits else None
        if cure.edits and again is None:
            continue
        if again is not None:
            minute = wages(1.0, case.shop)
            lost = again.losses / minute if minute > 0.0 else 0.0
            saves = (p - again.p_after) * remake - again.minutes - lost
            if again.p_after >= p or (saves <= 0.0 < remake):
                continue
            cure = replace(cure, p_after=again.p_after, saves=saves, minutes=again.minutes, breaks=again.breaks)
        out.append(cure)
    return tuple(sorted(out, key=lambda item: item.p_after))


def in_full(size: Size, cases: Sequence[Case], findings: Findings, progress: Callable[[str, float], None]) -> Size:
    """A size with its cures checked in full.

    Args:
        size: as it will come out.
        cases: of the walk of the route as it is.
        findings: the store that full checks go through.
        progress: told what is under way.
    """
    if size.p_out is None or not any(cure.edits for cure in size.cures):
        return size
    progress(f"checking what would help {size.name}", 0.0)
    remake = part_minutes(size.case.part_name or "", cases)
    return replace(size, cures=cures_in_full(size.cures, size.case, size.p_out, remake, cases, findings))


def size_remedies(case: Case, p: float, cases: Sequence[Case], findings: Findings) -> tuple[Remedy, ...]:
    """Changes of the route after which a size comes out right more often, the best first, each checked in full.

    Args:
        case: of the limit.
        p: chance that it is out as planned [1].
        cases: of the walk of the route as it is.
        findings: the store that full checks go through.
    """
    remake = part_minutes(case.part_name or "", cases)
    looked = changes_of(case, findings.belief, p, remake)[:MOST]
    full = cures_in_full(looked, case, p, remake, cases, findings)
    return tuple(Remedy(cure.text, cure.edits, cure.p_after, minutes, wages(minutes, case.shop), cure.breaks)
                 for cure in full for minutes in (cure.minutes or 0.0,))
