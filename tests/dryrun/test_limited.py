"""What limits a cut: the check that a step up makes dearer, or the end of what can be set."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.dryrun.choosing import Chooser, Search, bounded
from firstoff.dryrun.limited import limited_by
from firstoff.dryrun.quick import Quick
from tests.dryrun import small
from tests.dryrun.small import FACE

STRONG = {"machine_mill__power": 1e5, "machine_mill__axis_thrust": 1e6, "discrepancy_chatter__factor": 1e-6}


def case() -> Case:
    """A mild cut."""
    edits = (("cut.depth_of_cut", "0.5 mm"), ("cut.width_of_cut", "3 mm"), ("cut.spindle_speed", "8000 rpm"))
    return small.cases(small.route(tuple((f"operations.{FACE}.{key}", text) for key, text in edits)))[FACE]


def limit(**changed: float) -> str:
    thin = small.belief(**{**STRONG, **changed}).thinned(np.arange(0, 256, 8))
    chooser = Chooser(case(), Quick(thin), Search(deepest=0.8, widest=6.0))
    return limited_by(chooser, chooser.look(case().op.cut))


@pytest.mark.parametrize(("changed", "what"), [
    ({"machine_mill__power": 60.0}, "spindle slows"),
    ({"machine_mill__axis_thrust": 40.0}, "axis stalls"),
    ({"discrepancy_chatter__factor": 2.0}, "cut chatters"),
])
def test_what_is_weak_limits(changed: dict[str, float], what: str) -> None:
    assert limit(**changed) == what


def test_where_nothing_gives_way_the_end_of_what_can_be_set_does() -> None:
    assert limit() == "the spindle's fastest speed"


def test_bounds() -> None:
    this = case()
    cut = this.op.cut
    assert bounded(this, cut) == ""
    assert bounded(this, cut.model_copy(update={"spindle_speed": 1e4})) == "the spindle's fastest speed"
