"""The worth of a test: nothing for one that tells nothing, all there is for one that tells all."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.dryrun.result import Result
from firstoff.dryrun.run import dry_run
from firstoff.errors import RecordError
from firstoff.records.next_test import (
    Candidate,
    Worth,
    _depth_trials,
    _Fit,
    _saved,
    _settled,
    _tried,
    _Work,
    candidates,
    cut_text,
    next_json,
    next_lines,
    next_tests,
    scrap_cut,
)
from firstoff.records.trial import Depths

from ..checks import builders
from . import made

ROWS = 2048


def fit(reads: np.ndarray) -> _Fit:
    return _Fit(reads[:, None] if reads.ndim == 1 else reads)


@pytest.fixture
def quality() -> np.ndarray:
    return np.random.default_rng(1).standard_normal(ROWS)


def test_one_that_tells_all_saves_what_a_closed_form_says(quality: np.ndarray) -> None:
    """Cost 10 + 8 z, another way for 10: knowing z saves 8 E[max(z, 0)] = 8 / sqrt(2 pi)."""
    work = _Work(10.0 + 8.0 * quality, ((0.0 * quality, 10.0),))
    assert _saved(work, fit(quality)) == pytest.approx(8.0 / np.sqrt(2.0 * np.pi), rel=0.06)


@pytest.mark.parametrize("noise", [0.5, 1.0, 2.0])
def test_noise_takes_its_share(quality: np.ndarray, noise: float) -> None:
    """What is left of the spread after a noisy reading is known: the saving goes by its root."""
    reads = quality + noise * np.random.default_rng(2).standard_normal(ROWS)
    work = _Work(10.0 + 8.0 * quality, ((0.0 * quality, 10.0),))
    known = 1.0 / np.sqrt(1.0 + noise**2)
    assert _saved(work, fit(reads)) == pytest.approx(8.0 * known / np.sqrt(2.0 * np.pi), rel=0.15)


def test_one_that_tells_nothing_saves_next_to_nothing(quality: np.ndarray) -> None:
    other = np.random.default_rng(3).standard_normal((ROWS, 4))
    work = _Work(10.0 + 8.0 * quality, ((0.0 * quality, 10.0),))
    assert _saved(work, fit(other)) < 0.1 * 8.0 / np.sqrt(2.0 * np.pi)


def test_where_nothing_would_be_done_otherwise_knowing_is_worth_nothing(quality: np.ndarray) -> None:
    assert _saved(_Work(10.0 + quality, ()), fit(quality)) == 0.0
    work = _Work(10.0 + quality, ((0.5 * (10.0 + quality), 100.0),))
    assert _saved(work, fit(quality)) == pytest.approx(0.0, abs=1e-9)


def test_doubt_is_settled_by_what_tells_it(quality: np.ndarray) -> None:
    shop = builders.shop()
    chances = np.where(quality > 0.0, 0.5, 1e-4)
    assert _settled(chances, fit(quality), shop) > 0.35
    assert _settled(chances, fit(np.random.default_rng(5).standard_normal(ROWS)), shop) < 0.05


@cache
def checked() -> tuple[Result, Belief]:
    at, belief = made.place(), made.book()
    return dry_run(at.job, at.shop, at.route, at.parts, belief, instead=False), belief


def test_candidates_of_a_job_are_ranked_by_what_they_gain() -> None:
    result, belief = checked()
    found = next_tests(result, belief)
    assert [w.gain for w in found] == sorted((w.gain for w in found), reverse=True)
    names = [w.candidate.name for w in found]
    assert len(set(names)) == len(names)
    assert sum("Pull 100 N" in name for name in names) == 3
    assert any("a trial for" in name for name in names)
    assert all(w.saves >= 0.0 and np.all(np.isfinite(w.candidate.reads)) for w in found)
    assert [(w.candidate.name, w.saves) for w in next_tests(result, belief)] == [
        (w.candidate.name, w.saves) for w in found], "the same each time"


def test_what_is_known_already_is_not_worth_a_test() -> None:
    result, belief = checked()
    entity = f"machine:{result.cases[0].machine_name}"
    key = (entity, "stiffness_x")
    sure = belief.with_moved({k: np.zeros(belief.rows) for k in belief.depends_on([key])})
    flat = next(c for c in candidates(result, sure) if c.name.endswith("along X"))
    free = next(c for c in candidates(result, belief) if c.name.endswith("along X"))
    assert flat.reads[:, 0].std() < free.reads[:, 0].std()


def test_a_cut_in_scrap_is_asked_for_at_the_depth_that_tells_most() -> None:
    """With the depth of the route and what it would save beside it; its program reaches that depth; once a cutter."""
    result, belief = checked()
    name, own = next((name, each) for name, each in _tried(result, belief).items() if len(each.cases) > 4)
    deep = np.array([each.op.cut.depth_of_cut or 0.0 for each in own.cases])
    fails = np.array(deep[:, None] > 0.6 * 1.7 ** np.random.default_rng(4).standard_normal(ROWS), float)
    tried = replace(own, depths=Depths(own.depths.minutes, 60.0 * fails, fails), now=0)
    candidate, again = _depth_trials({name: tried, "once more": tried})
    case = candidate.case
    assert case is not None and case is not own.cases[0]
    assert set(np.unique(candidate.reads)) <= {0.0, 1.0}
    assert candidate.name.endswith(f"{name}, {case.op.cut.depth_of_cut:g} mm deep")
    assert re.search(r"the route has [\d.]+ mm: where that goes well it runs \d+ min less;", candidate.how)
    assert f'firstoff log JOB {case.op.number} ok --depth "{case.op.cut.depth_of_cut:g} mm" --scrap' in candidate.how
    worth = Worth(candidate, 40.0, 0.0)
    cut = scrap_cut(result, worth)
    assert cut is not None and cut.deepest >= (case.op.cut.depth_of_cut or 0.0)
    assert len(list(next_lines([worth, Worth(again, 39.0, 0.0)]))) == 2


def test_to_go_deeper_is_a_way_that_a_test_can_open(quality: np.ndarray) -> None:
    """Half as long for what may cost 20: nobody would without knowing, and half of the rows would with."""
    risk = np.where(quality > 0.0, 20.0, 0.0)
    work = _Work(np.zeros(ROWS), ((risk, -5.0),))
    assert _saved(work, fit(np.where(quality > 0.0, 1.0, 0.0))) == pytest.approx(2.5, rel=0.1)
    assert _saved(work, fit(np.random.default_rng(8).standard_normal(ROWS))) == pytest.approx(0.0, abs=0.05)


def test_the_words_and_the_keys() -> None:
    result, belief = checked()
    found = next_tests(result, belief)
    told = next_json(found)
    assert {"test", "how", "minutes", "saves_min", "settles", "operation"} == told[0].keys()
    nothing = Worth(Candidate("x", "do x", 10.0, np.zeros((4, 1))), 1.0, 0.0)
    assert "No test is worth" in next(next_lines([nothing]))
    some = list(next_lines([Worth(nothing.candidate, 25.0, 2.0), Worth(nothing.candidate, 24.0, 2.0), nothing]))
    assert some[1].startswith("1. x: takes 10 min, saves about 25 min in the mean; about 2 checks") and len(some) == 2
    one = list(next_lines([Worth(nothing.candidate, 25.0, 1.2)]))
    assert "about 1 check that can't say now" in one[1]


def test_how_a_trial_of_chatter_is_recorded_is_told() -> None:
    result, belief = checked()
    (trial,) = {w.candidate.how for w in next_tests(result, belief) if w.candidate.name.startswith("cut chatters")}
    assert "--program FILE" in trial and re.search(r'firstoff log JOB \d+ sang --depth "DEPTH mm" --scrap', trial)


def test_a_trial_of_chatter_becomes_a_test_cut() -> None:
    result, belief = checked()
    found = next_tests(result, belief)
    cuts = [cut for w in found if (cut := scrap_cut(result, w)) is not None]
    assert cuts
    assert cut_text(result, found).startswith("%\n(TEST CUT: ")
    with pytest.raises(RecordError, match="no test cut"):
        cut_text(result, [w for w in found if scrap_cut(result, w) is None])
    assert all(0.0 < cut.depths[0] < cut.depths[-1] <= cut.flute_length for cut in cuts)
