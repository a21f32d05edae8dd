"""A job once more, with what was learned: cuts that worked here before, where the own figures call them no worse."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..belief import Belief
from ..checks._forces import is_milling
from ..checks.base import Case
from ..dryrun.choosing import with_operation
from ..dryrun.nominal import table_feed
from ..dryrun.remedies import cut_changes
from ..job.route import Operation
from .called import noticed
from .history import Tried

#: every so many-th row is enough to weigh one cut against another
EVERY: Final = 4
#: a cut that worked is told where it takes off this many times what the planned one does, or is less likely to fail
FASTER: Final = 1.1


@dataclass(frozen=True)
class Again:
    """An operation of a job and a cut that worked for its like.

    Fields:
        operation: key in the route.
        number: on the card.
        text: what to change, in words.
        times: how often it was 'ok', and nothing else.
        last: day of the newest record.
        edits: of `route.toml`.
        now: chance that a person notices anything in the planned cut, by the own figures.
        then: ditto with the change.
    """

    operation: str
    number: int
    text: str
    times: int
    last: str
    edits: tuple[tuple[str, str], ...]
    now: float
    then: float


def again(found: Sequence[Tried], cases: Iterable[Case], belief: Belief) -> tuple[Again, ...]:
    """For each operation that mills the best of the cuts that worked for its like.

    Args:
        found: what was tried in this shop.
        cases: of the job.
        belief: book or own figures.
    """
    few = belief.thinned(np.arange(0, belief.rows, EVERY)).wordless()
    best = (_best(found, case, few) for case in cases if case.subject == "operation" and is_milling(case))
    return tuple(item for item in best if item is not None)


def _best(found: Sequence[Tried], case: Case, belief: Belief) -> Again | None:
    """Of cuts in the same material, with the same tool, machine and role: good, and the quickest; None where the
    planned one is as good and as quick.
    """
    like = (case.material_name, case.op.tool, case.machine_name, case.op.role)
    now = noticed(case, belief)
    made = [(item, with_operation(case, _cut_as(item, case.op)))
            for item in found if item.worked and item.way[:4] == like]
    gains = [(item, changed, then) for item, changed in made
             if now is not None and cut_changes(case, changed.op)[0] and changed.windows is not None
             and (then := noticed(changed, belief)) is not None and _gain(case, changed, now, then)]
    if not gains or now is None:
        return None
    item, changed, then = max(gains, key=lambda gain: (gain[2] <= case.shop.good, _removal(gain[1].op, case)))
    edits, text = cut_changes(case, changed.op)
    return Again(case.name, case.op.number, text, item.words["ok"], item.last, edits, now, then)


def _cut_as(item: Tried, operation: Operation) -> Operation:
    """The operation with the numbers that worked; it is never deeper than there is to take off, nor as wide else."""
    worked, planned = item.cut, operation.cut
    deep = planned.depth_of_cut
    if deep is not None and worked.depth_of_cut is not None and not operation.role.startswith("side"):
        deep = min(worked.depth_of_cut, max(operation.removes, deep))
    cut = planned.model_copy(update={
        "spindle_speed": worked.spindle_speed or planned.spindle_speed, "depth_of_cut": deep,
        "feed_per_tooth": worked.feed_per_tooth or planned.feed_per_tooth,
        "direction": worked.direction or planned.direction})
    return operation.model_copy(update={"cut": cut})


def _gain(case: Case, changed: Case, now: float, then: float) -> bool:
    """Whether it is good and quicker, or less likely to fail."""
    good = then <= max(now, case.shop.good)
    return good and (then < 0.8 * now or _removal(changed.op, case) > FASTER * _removal(case.op, case))


def _removal(operation: Operation, case: Case) -> float:
    """What a cut takes off, but for its width."""
    return (operation.cut.depth_of_cut or 0.0) * table_feed(case, operation.cut)


def again_lines(found: Sequence[Again]) -> Iterator[str]:
    """As the terminal prints it."""
    if not found:
        yield "Nothing that worked here before is better than what is planned."
    for item in found:
        times = f"{item.times} time{'s' if item.times > 1 else ''}"
        yield (f"{item.number} {item.operation}: {item.text}, as was ok {times}, last {item.last}; "
               f"by your figures {_odds(item.then)}, as planned {_odds(item.now)}")
    if found:
        yield "This is inked into route.toml; firstoff check JOB says what comes of it."


def _odds(chance: float) -> str:
    return "rarer than 1 in 1000" if chance < 1e-3 else f"about 1 in {max(1.0, 1.0 / chance):.0f}"


def again_json(found: Iterable[Again]) -> list[dict[str, Any]]:
    """As `log --repeat --json` prints it."""
    return [{"operation": item.operation, "number": item.number, "text": item.text, "times": item.times,
             "last": item.last, "edits": [list(edit) for edit in item.edits], "p_now": item.now, "p_after": item.then}
            for item in found]
