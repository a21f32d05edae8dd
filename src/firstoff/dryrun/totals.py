"""Verdicts, and the sums over a job: the chance that anything is spoiled, and what is first to go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from ..belief import Rows
from ..checks.base import Finding
from ..kept import kept
from ..shop.models import Shop
from .result import Verdict

if TYPE_CHECKING:
    from .findings import Kept  # which looks at candidates by the sums here

#: 'can't say' when at least this share of the rows would say good and this share no good
SPLIT: Final = 0.2
#: certainty is kept just short of one, so that taking one check away can still be reckoned
ALMOST_CERTAIN: Final = 1.0 - 1e-12
#: chances that nothing is told of, nor anything ordered by
_TOLD: Final = 2e-5
#: what is called as much as another in ordering them, and how many are looked at first
_APART: Final = 1e-4
_LIKELIEST: Final = 24


def verdict(kept: Kept, shop: Shop) -> Verdict:
    """good, close, no good or can't say, by the limits of the shop."""
    p = kept.finding.p_fail
    if p is None:
        return "can't say"
    if p > shop.good and kept.finding.settle_by and _split(kept.lasting_rows, shop):
        return "can't say"
    return "good" if p <= shop.good else "close" if p <= shop.close else "no good"


def _split(rows: Rows | None, shop: Shop) -> bool:
    """Whether knowing what lasts would decide it: many rows say good, and many no good."""
    if rows is None:
        return False
    return bool(np.mean(rows <= shop.good) >= SPLIT and np.mean(rows > shop.close) >= SPLIT)


def log_survival(findings: Sequence[Finding], rows: int, together: Mapping[str, Rows] | None = None) -> Rows:
    """Log chance by row that nothing goes wrong in these findings [N].

    Findings of one joint group share their sources (sizes of a part, and the push-off that is in them): given a
    row the likeliest of them stands for all, as they would if they failed together. That is the least that the group
    can come to; where `together` has what it does come to (dryrun/together.py), as for the sum of a whole job, that
    counts.
    """
    total = np.zeros(rows)
    groups: dict[str, Rows] = {}
    for finding in findings:
        if finding.p_rows is None or not finding.p_fail:
            continue
        if finding.joint_group:
            p = np.minimum(finding.p_rows, ALMOST_CERTAIN)
            groups[finding.joint_group] = np.maximum(groups.get(finding.joint_group, 0.0), p)
        else:
            total += _log_well(finding)
    for name, p in groups.items():
        whole = np.maximum(p, np.minimum((together or {}).get(name, 0.0), ALMOST_CERTAIN))
        total += np.log1p(-whole)
    return total


@kept(2048)
def _log_well(finding: Finding) -> Rows:
    """Log chance by row that it does not happen; kept, since several sums ask."""
    assert finding.p_rows is not None
    return np.asarray(np.log1p(-np.minimum(finding.p_rows, ALMOST_CERTAIN)))


def chance_spoiled(findings: Sequence[Finding], rows: int, together: Mapping[str, Rows] | None = None) -> float:
    """The chance that at least one of them happens: the mean over rows of 1 − Π(1 − p)."""
    return abs(float(np.expm1(log_survival(findings, rows, together)).mean()))     # never "-0"


def chance_part_lost(findings: Sequence[Finding], rows: int) -> float:
    """The chance that a part is lost: only findings with the part at risk."""
    return chance_spoiled([f for f in findings if f.at_risk == "part"], rows)


def relief(findings: Sequence[Finding], rows: int, least: float = 0.0) -> list[float]:
    """By how much the chance of spoiling anything would fall if each check alone could not happen.

    Args:
        findings: of a job.
        rows: of the belief.
        least: checks that happen more rarely are left at 0.
    """
    survival = np.exp(log_survival(findings, rows))
    out = np.zeros(len(findings))
    for index, f in enumerate(findings):
        # what survives all checks survives this one: its gain is no more than its own chance
        if f.p_rows is not None and not f.joint_group and (f.p_fail or 0.0) > least:
            p = np.minimum(f.p_rows, ALMOST_CERTAIN)
            out[index] = (survival * p / (1.0 - p)).mean()
    for name in {f.joint_group for f in findings} - {""}:
        own = [(index, f.p_rows) for index, f in enumerate(findings)
               if f.joint_group == name and f.p_rows is not None]
        table = np.minimum(np.array([p for _, p in own]), ALMOST_CERTAIN).reshape(len(own), rows)
        likeliest, next_to = np.sort(np.vstack([np.zeros((2, rows)), table]), axis=0)[:-3:-1]
        gain = survival * ((1.0 - next_to) / (1.0 - likeliest) - 1.0)      # where it alone was the likeliest
        for (index, _), p in zip(own, table, strict=True):
            out[index] = (gain * (p == likeliest)).mean()
    return [float(gain) for gain in out]


def _gains(findings: Sequence[Finding], rows: int) -> list[float]:
    """The relief by each, as far as it may be the greatest: none is more than the chance of its check."""
    rarest = sorted((f.p_fail or 0.0 for f in findings), reverse=True)[:_LIKELIEST][-1]
    gains = relief(findings, rows, rarest)
    least = max(gains) - _APART
    return gains if least >= rarest else relief(findings, rows, max(least, _TOLD))


def first_to_go(findings: Sequence[Finding], rows: int) -> int | None:
    """Index of the check whose removal would lower the chance of spoiling most.

    Where several are nearly certain, taking any one away changes nothing; then the likeliest leads,
    and of equals the one that costs most.
    """
    if not findings or all(f.p_rows is None for f in findings):
        return None
    gains = _gains(findings, rows)
    dearest = {"part": 3, "tool": 2, "size": 1, "finish": 0}
    order = [
        (round(gain, 4), round(f.p_fail or 0.0, 4), dearest[f.at_risk], -index)
        for index, (gain, f) in enumerate(zip(gains, findings, strict=True))
    ]
    best = max(range(len(order)), key=order.__getitem__)
    return best if (findings[best].p_fail or 0.0) > 0 else None


def by_operation(findings: Sequence[Finding], rows: int) -> Mapping[str, float]:
    """The chance that anything is spoiled in each operation, limit or joint."""
    named: dict[str, list[Finding]] = {}
    for finding in findings:
        named.setdefault(finding.name, []).append(finding)
    return {name: chance_spoiled(own, rows) for name, own in named.items()}
