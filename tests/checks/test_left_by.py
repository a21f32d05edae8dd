"""What a cut leaves on, with what a cutter that runs out takes more, found once for all sizes that ask."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firstoff.belief import Belief
from firstoff.checks import _push
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
