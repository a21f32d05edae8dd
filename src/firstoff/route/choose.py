"""Settles the numbers of a planned route by what the dry run says, within the job's budget.

A first cut comes from a rule of thumb; each milled operation then takes the numbers of least
expected cost. One weight a job on what may go wrong (λ) is raised until the chance of losing a part is
within the budget, or until it helps no more.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Final

from ..belief import Belief
from ..checks.base import Case, Finding
from ..dryrun.choosing import Chooser, choosable, thinned
from ..dryrun.findings import case_key, found_now, write_atomically
from ..dryrun.totals import chance_part_lost
from ..dryrun.walk import walk
from ..job.models import Job
from ..job.route import Cut, Route
from ..part.shapes import Part
from ..shop.models import Shop
from ..tomlfile import KEPT

Progress = Callable[[str, float], None]

#: chance of spoiling that an operation may keep, as shares of 'close'; each is a dearer λ than the one before
ENOUGH: Final = (1.0, 0.2, 0.04)


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
        cache: where chosen numbers are kept by all that they depend on.
        progress: told what is under way.
    """
    thin = thinned(belief)
    cases = [c for c in walk(job, shop, route, parts) if c.operation is not None]
    settled = route
    for share in ENOUGH:
        settled = _settled(cases, route, thin, shop.close * share, cache, progress)
        if _part_lost(job, shop, settled, parts, thin) <= job.budget:
            break
    return settled


def _settled(
    cases: list[Case], route: Route, thin: Belief, enough: float, cache: Path | None, progress: Progress
) -> Route:
    operations = dict(route.operations)
    for index, case in enumerate(cases):
        progress(f"choosing speed, feed and depth: {case.name}", index / len(cases))
        if choosable(case):
            cut = _chosen(case, thin, enough, cache)
            operations[case.name] = case.op.model_copy(update={"cut": cut})
    return route.model_copy(update={"operations": operations})


def _chosen(case: Case, thin: Belief, enough: float, cache: Path | None) -> Cut:
    """The numbers chosen for an operation, remembered by all that they depend on."""
    name = hashlib.blake2b(
        f"{case_key(case, thin)}|{thin.digest}|{enough!r}|{case.shop.rates!r}|{case.shop.close!r}".encode(),
        digest_size=16,
    ).hexdigest()
    file = cache / "cuts" / name if cache else None
    if file is not None and file.is_file():
        return Cut.model_validate(json.loads(file.read_bytes()), context=KEPT)
    cut = Chooser(case, thin).best(enough).case.op.cut
    if file is not None:
        file.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(file, cut.model_dump_json(exclude_none=True).encode())
    return cut


def _part_lost(job: Job, shop: Shop, route: Route, parts: dict[str, Part], thin: Belief) -> float:
    """The chance that an operation loses a part; what the joints and limits do is not the cut's."""
    findings: list[Finding] = []
    for case in walk(job, shop, route, parts):
        if case.operation is not None and choosable(case):
            findings += found_now(case, thin)
    return chance_part_lost(findings, thin.rows)
