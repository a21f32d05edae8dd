"""Settles the numbers of a planned route by what the dry run says, within the job's budget.

A first cut comes from a rule of thumb; where the dry run finds that a check is no good and knows
what to do instead, the plan takes the change that costs the person least: minutes, money, and the
chance of a loss, with λ on losing a part raised until the job's budget holds.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from ..belief import Belief
from ..checks.base import Remedy
from ..dryrun.cost import part_loss
from ..dryrun.result import Checked, Result
from ..dryrun.run import dry_run
from ..job.edits import apply_edits
from ..job.models import Job
from ..job.route import Route
from ..part.shapes import Part
from ..shop.models import Shop

Progress = Callable[[str, float], None]

ROUNDS: Final = 3                               #: after three rounds what is left wants a person
WEIGHTS: Final = (0.0, 3.0, 10.0, 30.0)         #: λ, in losses of the part, raised until the budget holds


def settle_cuts(
    job: Job, shop: Shop, route: Route, parts: dict[str, Part], belief: Belief, *,
    cache: Path | None = None, progress: Progress,
) -> Route:
    """The route with cuts that the checks accept, as far as changes of a cut can bring it.

    Args:
        job: what is wanted.
        shop: what stands in the shop.
        route: as planned by rule of thumb.
        parts: digest of each part.
        belief: book and own figures.
        cache: where findings are kept.
        progress: told what is under way.
    """
    for turn in range(ROUNDS):
        result = dry_run(job, shop, route, parts, belief, cache=cache, progress=_in_round(turn + 1, progress))
        chosen = _chosen(result)
        if not chosen:
            break
        for remedy in chosen:
            route = apply_edits(route, remedy.edits)
    return route


def _chosen(result: Result) -> list[Remedy]:
    """One change for each failing operation: the cheapest at the least λ that brings the job within budget."""
    failing = {c.operation: c for c in sorted(result.checks, key=lambda c: c.finding.p_fail or 0.0)
               if c.verdict == "no good" and c.instead and _may_change(c, result)}
    picked: dict[str, Remedy] = {}
    for weight in WEIGHTS:
        picked = {name: _cheapest(c, result, weight) for name, c in failing.items()}
        if _expected(result, picked) <= result.job.budget:
            break
    return list(picked.values())


def _in_round(turn: int, progress: Progress) -> Progress:
    def told(what: str, share: float) -> None:
        progress(f"settling the cuts, round {turn}: {what}", share)

    return told


def _cheapest(checked: Checked, result: Result, weight: float) -> Remedy:
    costs = [_cost(remedy, checked, result, weight) for remedy in checked.instead]
    return checked.instead[costs.index(min(costs))]


def _may_change(checked: Checked, result: Result) -> bool:
    """Locked operations and joints are the person's own."""
    operation = result.route.operations.get(checked.operation)
    return operation is not None and not operation.locked


def _cost(remedy: Remedy, checked: Checked, result: Result, weight: float) -> float:
    """Money of a change: minutes, and what may still go wrong in the operation."""
    lost = part_loss(result.job, result.shop, checked.part, result.seconds / 120.0)
    dear = 1.0 + weight if checked.finding.at_risk == "part" else 0.3
    return remedy.money + remedy.p_after * lost * dear


def _expected(result: Result, picked: dict[str, Remedy]) -> float:
    """About what the chance of losing a part would be with these changes."""
    survive = 1.0
    for checked in result.checks:
        if checked.finding.at_risk != "part":
            continue
        p = checked.finding.p_fail or 0.0
        after = picked.get(checked.operation)
        survive *= 1.0 - (min(p, after.p_after) if after else p)
    return 1.0 - survive
