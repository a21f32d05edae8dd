"""What a cut was called at the moment when a word of it was recorded: kept in the record, for the scoreboard."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..checks.base import Case, Check, Finding
from ..dryrun.nominal import OPENED, ROWS
from ..dryrun.registry import all_checks
from ..dryrun.walk import walk
from ..errors import NameUnknown, OutOfRange
from ..job.models import Job
from ..job.route import Operation, Route
from ..part.shapes import Part
from ..shop.models import Shop
from ..units import parse
from .store import CALLED, Record

#: every so many-th row is enough to call a cut good or not
EVERY: Final = 4
#: what is said where the part did not stay where it was
MOVED: Final = "moved"


def found(check: Check, case: Case, belief: Belief) -> Finding | None:
    """What a check finds, or None where it can't be computed; once, unlike the dry run's evaluation."""
    try:
        finding = check.evaluate(case, belief)
    except (OutOfRange, NameUnknown):
        return None
    return finding if finding.p_rows is not None and np.all(np.isfinite(finding.p_rows)) else None


def as_fed(route: Route, name: str, share: float) -> Route:
    """The route with one operation cut at another feed than was planned."""
    operation = route.operations.get(name)
    if operation is None or operation.cut.feed_per_tooth is None:
        return route
    cut = operation.cut.model_copy(update={"feed_per_tooth": share * operation.cut.feed_per_tooth})
    fed = operation.model_copy(update={"cut": cut})
    return route.model_copy(update={"operations": {**route.operations, name: fed}})


def layered(operation: Operation) -> bool:
    """Whether what it takes off is measured along the depth of cut, not along a wall."""
    return operation.role in ROWS or operation.role in OPENED or operation.role == "slot"


def as_cut(route: Route, record: Record) -> Route:
    """The route with the operation of a record as it was cut: at another feed or depth than was planned.

    A face, slot or pocket that was cut deeper than there is to take off was cut so in scrap, where there was more.
    """
    fed = as_fed(route, record.subject, parse(record.conditions.get("feed", "100 %"), "ratio"))
    operation, depth = fed.operations.get(record.subject), record.conditions.get("depth")
    if operation is None or depth is None:
        return fed
    deep = parse(depth, "length")
    changed = operation.model_copy(update={
        "cut": operation.cut.model_copy(update={"depth_of_cut": deep}),
        "removes": max(operation.removes, deep) if layered(operation) else operation.removes})
    return fed.model_copy(update={"operations": {**fed.operations, record.subject: changed}})


def in_scrap(record: Record) -> bool:
    """Whether it was a trial in scrap: that says nothing about how the part is held."""
    return "scrap" in record.conditions


def noticed(case: Case, belief: Belief, *, scrap: bool = False) -> float | None:
    """The chance that a person notices anything in a cut; None where nothing can be computed.

    Args:
        case: of a walk.
        belief: book or own figures.
        scrap: whether it is a trial in scrap: then whether the part moves does not count.
    """
    checks = [c for c in all_checks() if c.word and not (scrap and c.word == MOVED)
              and c.subject == case.subject and c.applies(case)]
    each = [finding.p_rows for c in checks if (finding := found(c, case, belief)) is not None]
    rows: list[Rows] = [p for p in each if p is not None]
    return float(1.0 - np.mean(np.prod([1.0 - p for p in rows], axis=0))) if rows else None


def called(
    record: Record, job: Job, shop: Shop, route: Route, parts: dict[str, Part], belief: Belief
) -> dict[str, str]:
    """What the record of a word keeps of what was believed of its cut then.

    Args:
        record: made, and not kept yet.
        job: as it is now.
        shop: ditto.
        route: ditto.
        parts: ditto.
        belief: book or own figures, as a check would use them now.

    Returns:
        The chance that something would be noticed; nothing for another kind of record, or where it can't be computed.
    """
    if record.kind != "word":
        return {}
    fed = as_cut(route, record)
    few = belief.thinned(np.arange(0, belief.rows, EVERY)).wordless()
    chances = [chance for case in walk(job, shop, fed, parts) if case.subject == "operation"
               and case.name == record.subject and (chance := noticed(case, few, scrap=in_scrap(record))) is not None]
    return {CALLED: f"{max(chances):.6f}"} if chances else {}
