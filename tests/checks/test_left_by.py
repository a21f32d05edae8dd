"""What a cut leaves on, with what a cutter that runs out takes more, found once for all sizes that ask."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.belief import Belief, Key, Rows, watched
from firstoff.checks import _left_by, _push
from firstoff.checks._left_by import cut_digest, digest_of_cut, left_by, of_one_walk
from firstoff.job.edits import apply_edits
from tests.checks.builders import ROWS, column, columns
from tests.checks.size_cases import BOTH_WALLS, made
from tests.dryrun import stacked

SIDES: tuple[tuple[_push.Side, float], ...] = (("wall", -2e-5), ("floor", 0.0))


def test_a_cutter_that_runs_out_takes_more_of_a_wall_and_no_more_of_a_floor() -> None:
    this = made(BOTH_WALLS, "-Y", "+Y")[0]
    at = _push.operation_case(this, "back")
    for side, wanted in SIDES:
        for runout, taken in ((1e-9, 0.0), (0.02, wanted)):
            by = Belief.of([*columns(), column(f"collet:{at.op.collet}", "runout", runout, 1.01, "mm")], rows=ROWS)
            pushed = _push.left_on(at, by, side)
            assert pushed is not None
            assert left_by(at, side)(by) - pushed == pytest.approx(taken, rel=0.05, abs=1e-9)


def test_the_digest_of_a_cut_is_its_own_on_every_route() -> None:
    """Kept for the walk that was asked for last, whichever that is: two routes asked in turn get each their own."""
    planned = stacked.route()
    faster = apply_edits(planned, (("operations.side-4.cut.feed_per_tooth", "0.06 mm"),))
    one, other = (next(c for c in stacked.cases(planned=route) if c.limit is not None) for route in (planned, faster))
    assert not of_one_walk(one, other) and of_one_walk(one, replace(one, name="another limit"))
    for case in (one, other, one):
        for name in case.route.operations:
            assert digest_of_cut(case, name) == cut_digest(_push.operation_case(case, name))
    assert digest_of_cut(one, "side-4") != digest_of_cut(other, "side-4")
    assert digest_of_cut(one, "side-1") == digest_of_cut(other, "side-1")


def test_what_an_earlier_run_found_is_taken_with_all_that_it_stands_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """In a new process nothing is computed again, and what was asked is noted; other figures are computed anew."""
    monkeypatch.setattr(_left_by, "found", {})
    at = _push.operation_case(made(BOTH_WALLS, "-Y", "+Y")[0], "back")
    book = Belief.of(columns(), rows=ROWS)

    def asked(belief: Belief) -> tuple[Rows, set[Key]]:
        monkeypatch.setattr(_left_by, "_left", {})                 # as in a new process
        watch = watched(belief)
        return left_by(at, "wall")(watch), watch.asked

    first = asked(book)
    some = asked(book.some(ROWS // 4))
    assert len(some[0]) < len(first[0]) and len(_left_by.found["wall:" + cut_digest(at)]) == 2
    compute = _left_by._as_cut
    monkeypatch.setattr(_left_by, "_as_cut", lambda *_: pytest.fail("computed again"))
    for belief, (rows, keys) in ((book, first), (book.some(ROWS // 4), some)):
        again = asked(belief)
        assert np.array_equal(again[0], rows) and again[1] == keys
    monkeypatch.setattr(_left_by, "_as_cut", compute)
    key = next(key for key in sorted(first[1]) if key in book.columns and key[1] == "stiffness_x")
    softer = asked(book.with_moved({key: np.full(book.rows, -1.0)}))
    assert not np.array_equal(softer[0], first[0]) and np.array_equal(asked(book)[0], first[0])
