"""How deep to try a cut in scrap: what a word about it is worth before the operation is made.

Value of information before the word: rows in which a cut so deep goes well or wrong are told apart by what would be
said of it; for each word the depth of least expected cost is chosen, and what that costs less than the depth that
would be chosen without it is what the word saves in the mean. A trial near the limit tells most; one that surely goes
well, or surely does not, tells nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..belief import Belief, Rows
from ..checks.base import LAPSE, Case
from ..dryrun.choosing import with_operation
from ..dryrun.cost import loss, wages
from ..dryrun.registry import all_checks
from ..errors import FirstoffError, OutOfRange

#: No trial that goes wrong more often than this is proposed: it wears the cutter and the person's trust; judged.
MOST_RISK: Final = 1.0 / 3.0

_NOTHING: Final = 1e-3          #: minutes that are not worth a word


@dataclass(frozen=True)
class Depths:
    """An operation at several depths of cut.

    Fields:
        minutes: that it takes at each depth, passes and all, shape (D,).
        costs: minutes that are lost with what goes wrong, by depth and row, shape (D, N).
        fails: chance that a person would hear, see or feel anything wrong, by depth and row, shape (D, N).
    """

    minutes: NDArray[np.float64]
    costs: NDArray[np.float64]
    fails: NDArray[np.float64]

    def __post_init__(self) -> None:
        if self.costs.shape != self.fails.shape or self.minutes.shape != self.costs.shape[:1]:
            raise OutOfRange(f"minutes of {self.minutes.shape} depths, costs of {self.costs.shape} and chances of "
                             f"{self.fails.shape}", right="minutes (D,), costs and chances (D, N)")

    @property
    def best(self) -> int:
        """The depth of least expected cost."""
        return int(np.argmin(self.minutes + self.costs.mean(axis=1)))

    def worth(self) -> NDArray[np.float64]:
        """Minutes that a word on one cut at each depth saves in the mean, shape (D,); never negative.

        Source: own; expected value of a sample, of two outcomes.
        """
        now = self._least(np.ones(self.costs.shape[1]))
        out = np.empty(len(self.minutes))
        for depth, fails in enumerate(self.fails):
            said = LAPSE + (1.0 - 2.0 * LAPSE) * fails
            out[depth] = now - self._least(said) - self._least(1.0 - said)
        return np.maximum(out, 0.0)

    def _least(self, weight: Rows) -> float:
        """Least expected cost over rows that count so much, times how much they count in all."""
        share = float(weight.mean())
        return float(np.min(self.minutes * share + (self.costs * weight).mean(axis=1)))


def depth_to_try(depths: Depths) -> int | None:
    """The depth at which a trial in scrap is worth most.

    Args:
        depths: an operation at several depths, as believed now.

    Returns:
        Its index; None where no trial would change how deep the operation is made.
    """
    worth = np.where(depths.fails.mean(axis=1) <= MOST_RISK, depths.worth(), 0.0)
    return int(np.argmax(worth)) if worth.max() > _NOTHING else None


@dataclass(frozen=True)
class Tried:
    """An operation of a job as it would be at several depths of cut.

    Fields:
        cases: the operation at each depth, the shallowest first.
        now: which of them the route has.
        depths: minutes and chances of each.
    """

    cases: tuple[Case, ...]
    now: int
    depths: Depths


def tried_depths(case: Case, belief: Belief) -> Tried | None:
    """An operation at depths below and above the one that the route has.

    Args:
        case: an operation of a walk.
        belief: what is believed.

    Returns:
        None where it is not cut by a depth, or no other depth can be told.
    """
    found: list[tuple[Case, Rows, Rows]] = []
    own = case.op.cut.depth_of_cut
    if own is None or case.windows is None or case.run is not None:
        return None
    most = min(max(case.op.removes, own), case.tool.flute_length)
    for depth in dict.fromkeys(own if share == 1.0 else _set(own * share) for share in _SHARES):
        if depth != own and not 0.0 < depth <= most:
            continue
        cut = case.op.cut.model_copy(update={"depth_of_cut": depth})
        other = case if depth == own else with_operation(case, case.op.model_copy(update={"cut": cut}))
        try:
            found.append((other, *_goes_wrong(other, belief)))
        except FirstoffError:
            if depth == own:
                return None
    cases = tuple(item[0] for item in found)
    if len(cases) < _FEWEST:
        return None
    depths = Depths(np.array([each.windows.minutes if each.windows else 0.0 for each in cases]),
                    np.stack([item[1] for item in found]), np.stack([item[2] for item in found]))
    return Tried(cases, cases.index(case), depths)


#: depths that are looked at, as shares of that of the route
_SHARES: Final = (0.5, 0.7, 1.0, 1.4, 2.0, 3.0)
_FEWEST: Final = 2


def _set(depth: float) -> float:
    """A depth that a person keys in: to 0.05 mm, small ones to 0.01 mm."""
    step = 0.05 if depth >= 0.2 else 0.01
    return round(round(depth / step) * step, 2)


def _goes_wrong(case: Case, belief: Belief) -> tuple[Rows, Rows]:
    """Minutes lost, and the chance that anything is noticed, by row: all checks that have a word for it."""
    minute = wages(1.0, case.shop)
    costs, well = np.zeros(belief.rows), np.ones(belief.rows)
    for check in all_checks():
        if check.word and check.subject == "operation" and check.applies(case):
            finding = check.evaluate(case, belief)
            if finding.p_rows is not None:
                costs += finding.p_rows * (loss(finding, case) / minute if minute > 0.0 else loss(finding, case))
                well *= 1.0 - finding.p_rows
    return costs, 1.0 - well
