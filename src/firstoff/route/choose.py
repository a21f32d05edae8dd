"""Settles the numbers of a planned route by what the dry run says, within the job's budget.

A first cut comes from a rule of thumb; each milled operation then takes the numbers of least
expected cost. One weight a job on what may go wrong (λ) is raised until the chance of losing a part is
within the budget, or until it helps no more.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Final

from ..belief import Belief
from ..dryrun.choosing import Candidate, Chooser, choosable, thinned
from ..dryrun.findings import write_atomically
from ..dryrun.keys import case_key
from ..dryrun.walk import walk
from ..job.models import Job
from ..job.route import Cut, Route
from ..part.shapes import Part
from ..shop.models import Shop
from ..tomlfile import KEPT

Progress = Callable[[str, float], None]

#: share of the job's budget that one operation may use up; lowered until all of them together keep to it
ENOUGH: Final = (0.2, 0.04, 0.01)


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
    # what went before wears the tool too, but is itself being chosen: each operation is weighed with a fresh edge
    cases = [replace(c, before=()) for c in walk(job, shop, route, parts) if choosable(c)]
    choosers = {c.name: Chooser(c, thin) for c in cases}
    chosen: dict[str, Candidate] = {}
    for share in ENOUGH:
        for index, case in enumerate(cases):
            progress(f"choosing speed, feed and depth: {case.name}", index / len(cases))
            if case.name not in chosen or chosen[case.name].p_lost > job.budget / len(cases):
                chosen[case.name] = _chosen(choosers[case.name], job.budget * share, cache)
        if 1.0 - math.prod(1.0 - c.p_lost for c in chosen.values()) <= job.budget:
            break
    operations = {name: c.case.op for name, c in chosen.items()}
    return route.model_copy(update={"operations": {**route.operations, **operations}})


def _chosen(chooser: Chooser, enough: float, cache: Path | None) -> Candidate:
    """The numbers chosen for an operation, remembered by all that they depend on."""
    case, thin = chooser.case, chooser.thin.belief
    name = hashlib.blake2b(
        f"{case_key(case, thin)}|{thin.digest}|{enough!r}|{case.shop.rates!r}|{case.job.part_value!r}".encode(),
        digest_size=16,
    ).hexdigest()
    file = cache / "cuts" / name if cache else None
    known = _read_cut(file)
    if known is not None:
        return chooser.look(known)
    best = chooser.best(enough)
    if file is not None:
        file.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(file, best.case.op.cut.model_dump_json(exclude_none=True).encode())
    return best


def _read_cut(file: Path | None) -> Cut | None:
    """The numbers chosen before; a damaged or older file is only a missing one."""
    if file is None or not file.is_file():
        return None
    try:
        return Cut.model_validate(json.loads(file.read_bytes()), context=KEPT)
    except ValueError:
        return None
