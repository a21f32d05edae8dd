from __future__ import annotations

import numpy as np
import pytest

from firstoff.belief import Rows
from firstoff.checks._hold_tests import lift_loglik, pull_loglik, pulled
from firstoff.checks.base import Case, Observation
from firstoff.checks.holding import CHECK
from tests.checks.builders import HEIGHT, belief, case, operation, setting


def clamped(**holding: object) -> Case:
    return case(op=operation(), place=setting(holding={"tightness": "fingers", **holding}))


def weight(rows: Rows | None) -> Rows:
    assert rows is not None
    share = np.exp(rows - rows.max())
    return np.asarray(share / share.sum())


def test_the_pull_is_along_the_jaws_at_the_top() -> None:
    pull = pulled(clamped(), belief())
    assert pull.ways[0] == pytest.approx([1.0, 0.0, 0.0])
    assert pull.points[0] == pytest.approx([0.03, 0.02, HEIGHT * 1e-3])
    assert (pull.push == 1.0).all() and (pull.share == 0.0).all()


def test_what_held_a_pull_is_held_by_more_and_what_moved_at_it_by_as_much() -> None:
    """Fingers press with some 200 N, so that friction of 0.15 on both jaws bears some 60 N."""
    this, about = clamped(), belief()
    assert CHECK.loglik is not None
    squeeze = np.log(about.value("device:vise", "squeeze:fingers") * about.value("device:vise", "friction"))
    before = float(squeeze.mean())
    held = weight(CHECK.loglik(this, about, Observation("pull", word="held", value=70.0)))
    early = weight(CHECK.loglik(this, about, Observation("pull", word="moved", value=35.0)))
    assert float(held @ squeeze) > before + 0.05 and float(early @ squeeze) < before - 0.1
    at = weight(CHECK.loglik(this, about, Observation("pull", word="moved", value=60.0)))
    spread = float(np.sqrt(at @ (squeeze - float(at @ squeeze)) ** 2))
    assert spread < 0.9 * float(squeeze.std()), "it narrows, too"


def test_a_pull_says_nothing_where_nothing_is_known() -> None:
    assert CHECK.loglik is not None
    loose = clamped(grip=[])
    assert CHECK.loglik(loose, belief(), Observation("pull", word="held", value=70.0)) is None
    assert pull_loglik(np.ones(4), belief(), Observation("pull", word="held", value=0.0)) is None
    assert CHECK.loglik(clamped(), belief(), Observation("watts", value=100.0)) is None


def test_an_indicator_tells_how_much_the_jaw_lifts() -> None:
    this, about = clamped(), belief()
    lift = about.value("device:vise", "jaw_lift")
    assert CHECK.loglik is not None
    much = weight(CHECK.loglik(this, about, Observation("lift", value=0.05, sd=0.003)))
    none = weight(CHECK.loglik(this, about, Observation("lift", value=0.0, sd=0.003)))
    assert float(much @ lift) > lift.mean() > float(none @ lift)
    loose = weight(CHECK.loglik(this, about, Observation("lift", word="loose")))
    tight = weight(CHECK.loglik(this, about, Observation("lift", word="tight")))
    assert float(loose @ lift) > lift.mean() > float(tight @ lift), "a parallel that moves says the same"
    tapped = lift_loglik(clamped(tapped=True), about, Observation("lift", value=0.0, sd=0.003))
    assert float(weight(tapped) @ lift) > float(none @ lift), "tapped down, no lift is no wonder"
    clamps = clamped(device="clamps", grip=[], grip_height="0 mm")
    assert lift_loglik(clamps, about, Observation("lift", value=0.0, sd=0.003)) is None
