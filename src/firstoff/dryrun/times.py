"""Minutes of a person: setting up, changing tools, running, measuring."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from ..checks.base import Case
from ..checks.si import minutes
from ..job.route import Operation
from ..shop.models import Machine

#: minutes to take one size and write it down; judged, and the shop's own records will tell better
MEASURE_MINUTES: Final = 2.0


def handling_minutes(case: Case, before: Operation | None) -> float:
    """What an operation costs beside running [min]: setting, tool change, cooling, measuring.

    Args:
        case: the operation.
        before: the operation before it at the bench, if any.
    """
    return handling(case.op, before, case.machine)


def handling(op: Operation, before: Operation | None, machine: Machine) -> float:
    """The same of an operation by itself [min].

    Args:
        op: the operation.
        before: the operation before it at the bench, if any.
        machine: on which it is done.
    """
    seconds = 0.0
    if before is None or before.setting != op.setting:
        seconds += machine.setup_time
    if before is None or before.setting != op.setting or before.tool != op.tool:
        seconds += machine.tool_change_time
    return minutes(seconds + op.cooling) + MEASURE_MINUTES * (len(op.measure) + len(op.suits))


def part_minutes(part: str, cases: Iterable[Case]) -> float:
    """Minutes of all operations on a part, as a route has them.

    Args:
        part: its name.
        cases: of a walk.
    """
    total, before = 0.0, None
    for case in cases:
        if case.subject == "operation":
            if case.part_name == part:
                total += (case.windows.minutes if case.windows else 0.0) + handling_minutes(case, before)
            before = case.op
    return total
