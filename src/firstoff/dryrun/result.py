"""What a dry run returns: every check with its verdict, the sums over the job, the first to go."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from ..belief import Key
from ..checks.base import Case, Finding, Remedy, Spread
from ..job.models import Job
from ..job.route import Route
from ..part.shapes import Part
from ..shop.models import Shop

Verdict = Literal["good", "close", "no good", "can't say"]
RuleVerdict = Literal["do", "don't start"]


@dataclass(frozen=True)
class Checked:
    """A finding with its verdict and what to do instead."""

    finding: Finding
    title: str
    part: str
    setting: str
    operation: str                                 # id of the operation, or of the limit or joint
    number: int | None                             # number of the operation
    verdict: Verdict
    instead: tuple[Remedy, ...] = ()
    figures: tuple[Key, ...] = ()                  # that it asked for


@dataclass(frozen=True)
class RuleFound:
    """A rule about persons, for one case."""

    rule: str
    operation: str
    setting: str
    verdict: RuleVerdict
    because: str


@dataclass(frozen=True)
class OperationTime:
    """Minutes of one operation and the chance that anything in it is spoiled."""

    operation: str
    running: float                                 # [min]
    handling: float                                # tool change, set-up share, measuring [min]
    p_spoil: float


@dataclass(frozen=True)
class Mended:
    """What the sums would be with the first change of every failing check made, all of them together."""

    changes: int
    p_spoil: float
    p_part_lost: float
    first_to_go: Finding | None
    settle_by: str                                 # the test that would bring a part's risk down most, if still over


@dataclass(frozen=True)
class Result:
    """The whole job, checked."""

    job: Job
    shop: Shop
    route: Route
    parts: dict[str, Part]
    cases: tuple[Case, ...]
    checks: tuple[Checked, ...]
    rules: tuple[RuleFound, ...]
    operations: dict[str, OperationTime]
    not_counted: tuple[str, ...]
    p_spoil: float
    p_part_lost: float
    first_to_go: Checked | None
    seconds: float                                 # at the machine [s]
    money: float                                   # expected cost in the shop's money
    rows: int
    seed: int
    figures: str                                   # digest of the figures used, printed on every sheet
    mended: Mended | None = None                   # None where nothing to change was found
    remarks: tuple[str, ...] = ()                  # said at the top: a model that was revised since
    #: what the windows of a program leave on the walls that they finish, by operation [mm]
    pushed: dict[str, NDArray[np.float64]] = field(default_factory=dict)
    figures_note: str = ""                         # "book figures only", "own figures of …", "records are newer"


def odds(chance: float | None) -> str:
    """A chance as people say it: "about 1 in 30"; never six decimals."""
    if chance is None:
        return "not known"
    if chance < 0.001:
        return "rarer than 1 in 1000"
    if chance > 0.95:
        return "nearly certain"
    if chance > 0.35:
        return f"about {max(4, min(9, round(chance * 10)))} in 10"
    n = 1.0 / chance
    step = 1 if n < 10 else 5 if n < 50 else 10 if n < 200 else 100
    return f"about 1 in {max(2, round(n / step) * step)}"


def spread_json(spread: Spread | None) -> dict[str, float] | None:
    """A spread as the interface prints it."""
    return None if spread is None else {"low": spread.low, "median": spread.median, "high": spread.high}


def check_json(checked: Checked) -> dict[str, Any]:
    """One CHECK of the interface."""
    finding = checked.finding
    return {
        "part": checked.part, "setting": checked.setting, "operation": checked.operation,
        "kind": finding.check, "at_risk": finding.at_risk,
        "demand": spread_json(finding.demand), "capacity": spread_json(finding.capacity),
        "unit": finding.unit, "p_fail": finding.p_fail, "verdict": checked.verdict,
        "because": finding.because, "settle_by": finding.settle_by,
        "instead": [
            {"text": r.text, "edits": dict(r.edits),
             "p_after": r.p_after, "minutes": r.minutes}
            for r in checked.instead
        ],
    }
