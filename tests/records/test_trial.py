"""The depth of a trial in scrap: worth what two outcomes in closed form say, and most where most is in doubt."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks.base import LAPSE, Case
from firstoff.dryrun.cost import loss, wages
from firstoff.dryrun.registry import all_checks
from firstoff.errors import OutOfRange
from firstoff.normal import normal_cdf
from firstoff.records import trial
from firstoff.records.called import MOVED
from firstoff.records.trial import MOST_RISK, Depths, depth_to_try, saved_by_word, tried_depths

from .test_next_test import checked

ROWS = 4000


def mill() -> Case:
    """The operation of the job that takes most passes."""
    result, _ = checked()
    return max((case for case in result.cases if case.subject == "operation" and case.op.cut.depth_of_cut
                and case.windows is not None), key=lambda case: case.op.removes / (case.op.cut.depth_of_cut or 1.0))


def test_a_word_is_worth_what_two_outcomes_say() -> None:
    """Deep takes 1 min and fails surely in half of the rows, at 20 min; shallow takes 5 min and never fails.

    Without a word: shallow, 5. With one: deep where 'ok' was said, shallow else. Of the half that is well all but the
    lapses go deep; of the other half the lapses do, and pay.
    """
    fails = np.repeat([0.0, 1.0], ROWS // 2)
    depths = Depths(np.array([5.0, 1.0]), np.stack([np.zeros(ROWS), 20.0 * fails]), np.stack([np.zeros(ROWS), fails]))
    expected = 0.5 * (1.0 - LAPSE) * 4.0 + 0.5 * LAPSE * (4.0 - 20.0)
    assert depths.best == 0
    assert saved_by_word(fails, depths.by_row) == pytest.approx(expected)
    assert saved_by_word(0.0 * fails, depths.by_row) == pytest.approx(0.0, abs=1e-12), "what surely goes well"


def spread(middle: float, factor: float = 1.7) -> Depths:
    """Depths of an operation that sings from about so deep: mm, 6 minutes each time, passes of a millimetre."""
    limit = middle * factor ** np.random.default_rng(4).standard_normal(ROWS)
    deep = np.array([0.1, 0.2, 0.35, 0.5, 1.0])
    fails = np.asarray(normal_cdf(np.log(deep[:, None] / limit) / 0.08))
    return Depths(0.3 * np.ceil(1.0 / deep), 6.0 * fails, fails)


def test_the_trial_goes_as_deep_as_would_be_cut_or_deeper() -> None:
    """Shallower tells nothing; what goes wrong more often than it may is not asked for."""
    for middle in (0.4, 0.7, 1.2):
        depths = spread(middle)
        at = depth_to_try(depths, [depths])
        assert at is not None and at >= depths.best and saved_by_word(depths.fails[at], depths.by_row) > 0.05
        assert depths.fails[at].mean() <= MOST_RISK
    at = depth_to_try(spread(1.0), [spread(1.0)])
    assert at is not None and at > spread(1.0).best


def test_a_word_counts_for_all_that_it_tells_of() -> None:
    """Of an operation that would be made the same in any case, a trial tells how deep its like can be made."""
    own, like = spread(0.7), spread(0.7)
    same = Depths(np.zeros(5), own.costs, own.fails)
    assert depth_to_try(same, [same]) is None
    at = depth_to_try(same, [same, like])
    assert at == depth_to_try(like, [like])


def test_where_all_is_known_no_trial_is_asked_for() -> None:
    sure = spread(0.7, 1.0001)
    assert max(saved_by_word(fails, sure.by_row) for fails in sure.fails) < 0.05
    assert depth_to_try(spread(100.0), [spread(100.0)]) is None


def test_a_worth_is_never_more_than_knowing_all() -> None:
    depths = spread(0.7)
    most = depths.by_row.mean(axis=1).min() - depths.by_row.min(axis=0).mean()
    assert all(0.0 <= saved_by_word(fails, depths.by_row) <= most + 1e-9 for fails in depths.fails)


def test_what_does_not_fit_together_is_refused() -> None:
    with pytest.raises(OutOfRange, match="minutes of"):
        Depths(np.ones(3), np.ones((2, 5)), np.ones((2, 5)))


def test_an_operation_at_other_depths() -> None:
    """Deeper takes fewer passes and goes wrong more often; the depth of the route is among them, as it is."""
    _, belief = checked()
    case = mill()
    tried = tried_depths(case, belief.wordless())
    assert tried is not None and tried.cases[tried.now] is case
    deep = [each.op.cut.depth_of_cut or 0.0 for each in tried.cases]
    assert deep == sorted(set(deep))
    assert max(deep) <= min(max(case.op.removes, deep[tried.now]), case.tool.flute_length)
    assert np.all(np.diff(tried.depths.minutes) <= 1e-9)
    assert np.all(np.diff(tried.depths.fails.mean(axis=1)) >= -0.02)


def test_what_is_not_cut_by_a_depth_has_no_others() -> None:
    _, belief = checked()
    case = mill()
    cut = case.op.cut.model_copy(update={"depth_of_cut": None})
    whole = replace(case, operation=case.op.model_copy(update={"cut": cut}))
    assert tried_depths(whole, belief.wordless()) is None


def test_whether_a_part_moves_is_not_heard_in_scrap(monkeypatch: pytest.MonkeyPatch) -> None:
    """What it costs is that of the part: scrap is held as it comes, the part as the route says."""
    _, belief = checked()
    case = mill()
    check = next(c for c in all_checks() if c.word == MOVED and c.subject == "operation" and c.applies(case))
    chance = check.evaluate(case, belief.wordless()).p_rows
    assert chance is not None and chance.mean() > 0.0
    monkeypatch.setattr(trial, "all_checks", lambda: (check,))
    costs, fails = trial._goes_wrong(case, belief.wordless())
    minutes = loss(check.evaluate(case, belief.wordless()), case) / wages(1.0, case.shop)
    assert not fails.any() and np.allclose(costs, chance * minutes)


def test_depths_are_those_that_an_inch_shop_sets() -> None:
    _, belief = checked()
    case = mill()
    inch = replace(case, job=case.job.model_copy(update={"units": "in"}))
    tried = tried_depths(inch, belief.wordless())
    assert tried is not None
    for each in (one for place, one in enumerate(tried.cases) if place != tried.now):
        mils = (each.op.cut.depth_of_cut or 0.0) / 0.0254
        assert mils == pytest.approx(round(mils), abs=1e-6)
