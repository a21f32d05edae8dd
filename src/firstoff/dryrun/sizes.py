"""All sizes of a job together: how far each will be out, which errors make it so, and what would cure most."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..checks._chance import discrepancy
from ..checks._makers import Broken
from ..checks._sizes import Sized, Spreads, sized
from ..checks._tails import drawn_in, typical_sd, within
from ..checks.base import Case
from ..checks.si import millimetres
from ..checks.size import Expected, bounds, chance_by_row, expected, too_coarse
from ..errors import NameUnknown
from ..stack.chain import worst_case
from .cures import Cure, chance_of, cures_of
from .times import part_minutes

#: in a worst case every error lies at this many standard deviations, all the same way
WORST: Final = 2.0
#: each so many rows tell how wide one error is
THIN: Final = 8


@dataclass(frozen=True)
class Size:
    """A limit as it will come out. Lengths in mm, against the nominal.

    Fields:
        case: the limit with its job and route.
        came: what it is made of; None where it cannot be followed.
        mean: expected deviation at its worst corner [mm].
        sd: of what is believed and what is new each time together: twice it holds nineteen in twenty [mm].
        p_out: chance that it is out anywhere [1]; None where it cannot be told.
        worst: how far out with every error at two standard deviations the same way [mm].
        shares: share of each kind of error in its variance, the largest first [1].
        cures: what would help most.
        because: why it cannot be told; empty where it can.
    """

    case: Case
    came: Expected | None
    mean: float
    sd: float
    p_out: float | None
    worst: float
    shares: Mapping[str, float]
    cures: tuple[Cure, ...]
    because: str = ""
    p_unmeasured: float | None = None      # chance if it were not measured before the last cut, where it is [1]

    @property
    def name(self) -> str:
        """Of the limit."""
        return self.case.name

    @property
    def too_coarse(self) -> bool:
        """Whether its instrument cannot confirm it."""
        limit = self.case.limit
        assert limit is not None
        return too_coarse(limit, self.case.shop.instruments.get(limit.instrument or ""))


def sizes_of(cases: Iterable[Case], belief: Belief, *, cures: bool = True) -> tuple[Size, ...]:
    """Every limit of a job as it will come out.

    Args:
        cases: of a walk; those that are no limits are passed over.
        belief: what is believed.
        cures: whether to look for what would help, too.
    """
    cases = tuple(cases)
    minutes: dict[str | None, float] = {}
    for case in cases:
        if case.limit is not None and case.part_name not in minutes:
            minutes[case.part_name] = part_minutes(case.part_name or "", cases)
    return tuple(size_of(case, belief, cures=cures, remake=minutes[case.part_name])
                 for case in cases if case.limit is not None)


def size_of(case: Case, belief: Belief, *, cures: bool = True, remake: float = 0.0) -> Size:
    """One limit as it will come out.

    Args:
        case: of the limit.
        belief: what is believed.
        cures: whether to look for what would help, too.
        remake: minutes that the part costs when it is lost.
    """
    limit = case.limit
    assert limit is not None
    try:
        came = expected(case, belief)
    except (Broken, NameUnknown) as reason:
        return Size(case, None, 0.0, 0.0, None, 0.0, {}, (), str(reason))
    low, high = bounds(limit)
    p = float(chance_by_row(came, belief, low, high).mean())
    believed = lasting_shares(came.found, belief)
    at = came.spreads.worst
    offset = came.spreads.offset[:, at]
    sd = within(offset, np.sqrt(came.spreads.variance[:, at]) * discrepancy(belief, "size"))
    unmeasured = chance_of(case, belief, sized(case, limit, belief, stop=False)) if came.found.measured else None
    return Size(case, came, millimetres(float(drawn_in(offset).mean())), millimetres(sd), p,
                millimetres(_worst(came, belief)), _shares(came.spreads, believed),
                cures_of(case, belief, p, remake) if cures else (), p_unmeasured=unmeasured)


def lasting_shares(found: Sized, belief: Belief) -> dict[str, float]:
    """Variance that each lasting error brings, since it is not known: by what a person calls it [m2]."""
    out: dict[str, float] = {}
    for name in found.names():
        source = found.sources[name]
        if source.lasting:
            own = (found.middle[name] * typical_sd(source.rows(belief))) ** 2
            out[source.label] = out.get(source.label, 0.0) + own
    return out


def _shares(made: Spreads, believed: Mapping[str, float]) -> dict[str, float]:
    """Of the size that is likeliest to be far off."""
    scatter = float(np.median(made.variance[:, made.worst]))
    total = scatter + sum(believed.values())
    if total <= 0.0:
        return {}
    each = {label: share * scatter / total for label, share in made.shares(made.worst).items()}
    for label, variance in believed.items():
        each[label] = each.get(label, 0.0) + variance / total
    return dict(sorted(each.items(), key=lambda item: -item[1]))


def _worst(came: Expected, belief: Belief) -> float:
    """Every error at its worst the same way [m]."""
    names = came.found.names()
    wide = discrepancy(belief, "size")
    half = [WORST * _wide(came.found, name, belief, wide) for name in names]
    lines = [came.found.middle, *came.found.corners]
    table = np.array([[line.get(name, 0.0) for name in names] for line in lines]).reshape(len(lines), len(names))
    return float(worst_case(table, half).max()) if names else 0.0


def _wide(found: Sized, name: str, belief: Belief, wide: Rows) -> float:
    """Of one error: half of what two standard deviations either way hold, when it comes alone [m]."""
    source = found.sources[name]
    rows = source.rows(belief)
    if source.lasting:
        return float(np.sqrt((drawn_in(rows) ** 2).mean()))
    few = np.broadcast_to(rows * wide, belief.rows)[::THIN]
    return within(np.zeros(len(few)), few)
