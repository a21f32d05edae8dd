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
    CAUTION,
    WATTS,
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
    cut = scrap_cut(result, worth.candidate)
    assert cut is not None and cut.deepest >= (case.op.cut.depth_of_cut or 0.0)
    told = list(next_lines([worth, Worth(again, 39.0, 0.0)]))
    assert len(told) == 3 and told[2] == CAUTION


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
    assert re.search(r'firstoff log JOB \d+ sang --depth "DEPTH mm" --scrap', trial)


def test_a_trial_of_chatter_becomes_a_test_cut() -> None:
    result, belief = checked()
    found = next_tests(result, belief)
    cuts = [cut for w in found if (cut := scrap_cut(result, w.candidate)) is not None]
    assert cuts
    assert cut_text(result, found).startswith("%\n(TEST CUT: ")
    with pytest.raises(RecordError, match="no test cut"):
        cut_text(result, [w for w in found if scrap_cut(result, w.candidate) is None])
    assert all(0.0 < cut.depths[0] < cut.depths[-1] <= cut.flute_length for cut in cuts)


def test_the_program_is_promised_where_it_is_written() -> None:
    """Beside the trial whose cut it is, and no other; what is looked for otherwise than by singing is no test cut."""
    result, belief = checked()
    found = [replace(w, saves=60.0) for w in next_tests(result, belief)]
    first = next(w for w in found if w.candidate.cut is not None)
    assert first.candidate.case is not None
    number = first.candidate.case.op.number
    for some in (found, [first], [w for w in found if w.candidate.cut is None][:6] + [first]):
        (line,) = (line for line in next_lines(some) if "--program FILE writes" in line)
        assert first.candidate.name in line or f"a test cut for {number} " in line
    assert f"(A TRIAL FOR OPERATION {number}, THEN: FIRSTOFF LOG JOB {number} SANG" in cut_text(result, found)
    assert all(w.candidate.kind.startswith(("chatter", "depth")) for w in found if w.candidate.cut is not None)


def test_a_cutter_whose_flank_leans_makes_no_straight_test_cut() -> None:
    """Set by its diameter beside the edge of the scrap, a chamfer cutter would pass it by, a ball nearly."""
    result, belief = checked()
    first = next(w.candidate for w in next_tests(result, belief) if w.candidate.cut is not None)
    assert first.case is not None and first.case.op.tool is not None
    assert scrap_cut(result, first) is not None
    for kind in ("chamfer", "ball"):
        tools = {**first.case.shop.tools, first.case.op.tool: first.case.tool.model_copy(update={"kind": kind})}
        leaning = replace(first.case, shop=first.case.shop.model_copy(update={"tools": tools}))
        assert scrap_cut(result, replace(first, case=leaning)) is None


def test_what_is_read_in_a_trial_is_recorded_by_a_line_that_is_told() -> None:
    result, belief = checked()
    hows = {w.candidate.kind: (w.candidate.how, w.candidate.case) for w in next_tests(result, belief)}
    watts = [how for kind, (how, _) in hows.items() if kind in WATTS]
    assert all(re.search(r'firstoff log JOB \d+ --watts "310 W" --idle "190 W"', how) for how in watts)
    sizes = [(how, case.name) for how, case in hows.values() if case is not None and case.subject == "limit"]
    assert sizes and all(f'firstoff log JOB {name} --size "' in how for how, name in sizes)
