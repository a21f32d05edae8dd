"""A risk as it is told."""

from __future__ import annotations

import pytest

from firstoff.dryrun.totals import SPLIT
from firstoff.route.risk import Risk, undecided, verdict_of


def test_what_is_no_matter_of_chance_has_none() -> None:
    told, sure = Risk("it stalls", 0.2, "slower"), Risk("it does not reach", None)
    assert told.p == 0.2 and sure.p is None and not sure.instead
    assert told != sure and hash(told) != hash(sure)


@pytest.mark.parametrize(("p", "word"), [(0.0, "good"), (0.01, "good"), (0.02, "close"), (0.05, "close"),
                                         (0.06, "no good"), (1.0, "no good"), (None, "")])
def test_a_verdict_is_by_the_limits_of_the_shop(p: float | None, word: str) -> None:
    assert verdict_of(Risk("it stalls", p), 0.01, 0.05) == word
    assert verdict_of(Risk("it would stall", p, otherwise=True), 0.01, 0.05) == ""


def test_where_a_trial_decides_nobody_can_say_yet() -> None:
    asked = Risk("it stalls", 0.3, settle="drill one in scrap")
    assert verdict_of(asked, 0.01, 0.05) == "can't say"
    assert verdict_of(Risk("it stalls", 0.005, settle="drill one in scrap"), 0.01, 0.05) == "good"
    assert undecided(SPLIT, SPLIT) and not undecided(0.9, 0.1) and not undecided(0.1, 0.9)
