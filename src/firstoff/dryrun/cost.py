"""What a route costs its person: minutes, tools, and what may go wrong times what that costs there."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from ..belief import Belief
from ..checks._forces import is_milling
from ..checks.base import Case, Finding
from ..checks.si import hours
from ..checks.wear import own_use
from ..job.models import Job
from ..shop.models import Shop

#: minutes to put a finish right, and to put a size right while stock is left; judged, wide
FINISH_MINUTES: Final = 6.0
SIZE_MINUTES: Final = 15.0
#: minutes lost with a broken tool, beside its price: find the piece, new tool, new zero
TOOL_MINUTES: Final = 12.0


def loss(finding: Finding, case: Case) -> float:
    """Money lost if this happens at this point of the route."""
    if finding.at_risk == "finish":
        return wages(FINISH_MINUTES, case.shop)
    if finding.at_risk == "size":
        return wages(SIZE_MINUTES, case.shop)
    if finding.at_risk == "tool":
        tool = case.shop.tools.get(case.operation.tool or "") if case.operation else None
        return wages(TOOL_MINUTES, case.shop) + (tool.price if tool else 0.0)
    return part_loss(case.job, case.shop, case.part_name, case.minutes_so_far)


def wages(minutes: float, shop: Shop) -> float:
    """What so many minutes of the person cost, in the shop's money."""
    return hours(minutes) * shop.rates.hour


def tool_money(case: Case, belief: Belief) -> float:
    """What an operation wears off its tool, in the shop's money.

    In each row at most one tool: whoever sees an edge go so fast changes the numbers and not the tool again.
    """
    if case.operation is None or case.op.tool is None or not is_milling(case):
        return 0.0
    return case.tool.price * float(np.minimum(own_use(case, belief), 1.0).mean())


def part_loss(job: Job, shop: Shop, part: str | None, minutes: float) -> float:
    """Money lost with a part: its stock, the time already in it, and what the job says it is worth."""
    wanted = job.parts.get(part or "")
    stock = wanted.stock.price if wanted else 0.0
    return stock + wages(minutes, shop) + job.part_value.get(part or "", 0.0)


def expected_loss(findings: Sequence[tuple[Finding, Case]], weight: float = 0.0) -> float:
    """Sum of chance times loss; `weight` is the job's λ on losing a part, in losses of that part."""
    total = 0.0
    for finding, case in findings:
        chance = finding.p_fail or 0.0
        dear = 1.0 + weight if finding.at_risk == "part" else 1.0
        total += chance * loss(finding, case) * dear
    return total
