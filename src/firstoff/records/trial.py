"""How deep to try a cut in scrap: what a word about it is worth before the operation is made.

Value of information before the word: rows in which a cut so deep goes well or wrong are told apart by what would be
said of it; for each word the depth of least expected cost is chosen, and what that costs less than the depth that
would be chosen without it is what the word saves in the mean. A trial near the limit tells most; one that surely goes
well, or surely does not, tells nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..belief import Belief, Rows
from ..checks.base import LAPSE, Case
from ..dryrun.choosing import settable, with_operation
from ..dryrun.cost import loss, wages
from ..dryrun.registry import all_checks
from ..errors import FirstoffError, OutOfRange
from .called import MOVED

#: No trial that goes wrong more often than this is proposed: it wears the cutter and the person's trust; judged.
MOST_RISK: Final = 1.0 / 3.0
_NOTHING: Final = 1e-3          #: minutes that are not worth a word


@dataclass(frozen=True)
class Depths:
    """An operation at several depths of cut.

    Fields:
        minutes: that it takes at each depth, passes and all, shape (D,).
        costs: minutes that are lost with what goes wrong, by depth and row, shape (D, N).
        fails: chance that a person would hear, see or feel anything wrong of it in scrap, by depth and row, shape
            (D, N).
    """

    minutes: NDArray[np.float64]
    costs: NDArray[np.float64]
    fails: NDArray[np.float64]

    def __post_init__(self) -> None:
        if self.costs.shape != self.fails.shape or self.minutes.shape != self.costs.shape[:1]:
            raise OutOfRange(f"minutes of {self.minutes.shape} depths, costs of {self.costs.shape} and chances of "
                             f"{self.fails.shape}", right="minutes (D,), costs and chances (D, N)")

    @property
    def by_row(self) -> NDArray[np.float64]:
        """Minutes in all, by depth and row, shape (D, N)."""
        return np.asarray(self.minutes[:, None] + self.costs)

    @property
    def best(self) -> int:
        """The depth of least expected cost."""
        return int(np.argmin(self.by_row.mean(axis=1)))


def saved_by_word(fails: Rows, costs: NDArray[np.float64]) -> float:
    """Minutes that a word on one cut saves in the mean, by choosing between ways after it.

    Args:
        fails: chance that the cut goes wrong, by row, shape (N,); one word in twenty is a lapse.
        costs: minutes of each way, by row, shape (W, N).

    Returns:
        Never negative [min].

    Source: own; expected value of a sample, of two outcomes.
    """
    said = LAPSE + (1.0 - 2.0 * LAPSE) * fails
    now = float(costs.mean(axis=1).min())
    after = sum(float((costs @ weight).min()) / len(said) for weight in (said, 1.0 - said))
    return max(0.0, now - after)


def depth_to_try(depths: Depths, job: Sequence[Depths]) -> int | None:
    """The depth at which a trial of an operation in scrap is worth most.

    Args:
        depths: the operation at several depths, as believed now.
        job: every operation that may be made otherwise after it, this one too, by the same rows.

    Returns:
        Its index; None where no word would change how deep anything is made.
    """
    ways = [each.by_row for each in job]
    worth = [sum(saved_by_word(fails, costs) for costs in ways) if fails.mean() <= MOST_RISK else 0.0
             for fails in depths.fails]
    return int(np.argmax(worth)) if max(worth) > _NOTHING else None


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
    own = case.op.cut.depth_of_cut
    if own is None or case.windows is None or case.run is not None:
        return None
    most = min(max(case.op.removes, own), case.tool.flute_length)
    try:
        now = (own, case, *_goes_wrong(case, belief))
    except FirstoffError:
        return None
    deeper = _one_after_the_other(case, belief, [own * share for share in _DEEPER if own * share <= most], now[-1])
    above = _one_after_the_other(case, belief, [own * share for share in _ABOVE], now[-1])
    found = [*reversed(above), now, *deeper]
    if len(found) < _FEWEST:
        return None
    _, cases, costs, fails = zip(*found, strict=True)
    minutes = np.array([each.windows.minutes for each in cases])
    return Tried(cases, len(above), Depths(minutes, np.stack(costs), np.stack(fails)))


def _one_after_the_other(
    case: Case, belief: Belief, depths: Sequence[float], fails: Rows
) -> list[tuple[float, Case, Rows, Rows]]:
    """The operation at one depth after the other, each further from the route's, as long as more can be told."""
    found: list[tuple[float, Case, Rows, Rows]] = []
    own = case.op.cut.depth_of_cut or 0.0
    for depth in dict.fromkeys(settable(depth, case.job.units) for depth in depths):
        if depth in (0.0, own):
            continue
        often = float(fails.mean())
        if (depth < own and often < _SURELY_WELL) or (depth > own and often > _MOSTLY_WRONG):
            break
        cut = case.op.cut.model_copy(update={"depth_of_cut": depth})
        other = with_operation(case, case.op.model_copy(update={"cut": cut}))
        if other.windows is None:
            break
        try:
            costs, fails = _goes_wrong(other, belief)
        except FirstoffError:
            break
        found.append((depth, other, costs, fails))
    return found


#: depths that are looked at, as shares of that of the route, and chances at which no further one is
_DEEPER: Final = (1.4, 2.0, 3.0)
_ABOVE: Final = (0.7, 0.5, 0.35, 0.25, 0.15)
_MOSTLY_WRONG, _SURELY_WELL = 0.5, 0.02
_FEWEST: Final = 2


def _goes_wrong(case: Case, belief: Belief) -> tuple[Rows, Rows]:
    """Minutes lost on the part, and the chance that anything is noticed in scrap, by row: all checks that have a word
    for it; scrap is held as it comes, so that whether it moves tells nothing of the part.
    """
    minute = wages(1.0, case.shop)
    costs, well = np.zeros(belief.rows), np.ones(belief.rows)
    for check in all_checks():
        if check.word and check.subject == "operation" and check.applies(case):
            finding = check.evaluate(case, belief)
            if finding.p_rows is not None:
                costs += finding.p_rows * (loss(finding, case) / minute if minute > 0.0 else loss(finding, case))
                well *= 1.0 if check.word == MOVED else 1.0 - finding.p_rows
    return costs, 1.0 - well
