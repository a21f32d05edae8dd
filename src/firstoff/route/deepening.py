"""How deep a person may go, pass by pass, from a careful first cut while it stays quiet.

A machine is heard before a cut that sings is spoiled. A tool that breaks, an axis that stalls or a cutter that creeps
out of its collet is not: by those a quiet cut may be too deep all the same.
"""

from __future__ import annotations

import math
from typing import Final

from ..checks._knobs import DEPTH
from ..checks.base import Finding
from ..dryrun.looking import TELLING, checks_of
from ..dryrun.quick import Quick
from .cut_answer import Answer, Deepening
from .cut_gains import with_cut

HEARD: Final = frozenset({"sang", "squealed", "slowed"})      #: words of what warns before it spoils anything
STEP: Final = 1.25           #: times as deep, each pass
WORTH: Final = 1.2           #: times its depth: from there on going deeper is worth a word


def deepening(answer: Answer, thin: Quick) -> Deepening | None:
    """The depth to which the middle machine bears to go, or to which nothing comes unheard; None where neither is
    clearly deeper than the cut.

    Args:
        answer: a careful one.
        thin: few rows.
    """
    now = answer.cut.depth_of_cut or 0.0
    begins = next((c.finding.capacity for c in answer.checked if c.finding.check == TELLING), None)
    if begins is None or now <= 0.0:
        return None
    bears = min(begins.median, answer.bench.tool.flute_length, answer.case.wanted.stock.size[2])
    most = max(bears, STEP * now)
    if not _unheard(answer, most, thin):
        return Deepening(bears, "") if bears > WORTH * now else None
    low, high = 0, math.ceil(math.log(most / now) / math.log(STEP) - 1e-9)
    while high - low > 1:                # deeper is no calmer: the last step at which nothing comes, and the next
        middle = (low + high) // 2
        low, high = (low, middle) if _unheard(answer, now * STEP**middle, thin) else (middle, high)
    return Deepening(now * STEP**low, _unheard(answer, min(now * STEP**high, most), thin))


def _unheard(answer: Answer, depth: float, thin: Quick) -> str:
    """What of all that a shallower pass helps against, and that nobody hears, is likelier at a depth than the shop
    calls close; empty where nothing is.
    """
    case = with_cut(answer.case, depth_of_cut=depth)
    look = thin.look(case)
    found = {check.title: _chance(look.of(check.name)) for check in checks_of(case)
             if DEPTH in check.knobs and check.word not in HEARD}
    title = max(found, key=lambda name: found[name], default="")
    return title if title and found[title] > answer.bench.shop.close else ""


def _chance(finding: Finding | None) -> float:
    return (finding.p_fail or 0.0) if finding else 0.0
