"""Limits of several engagements at one go are those of each alone."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._chance import OPERATION_SCATTER, over
from firstoff.checks._forces import bites
from firstoff.checks._singing import arcs, deeper_by, flanks_of, law_of, limit_of, limits_together, middle_law
from firstoff.checks._tip import tip
from firstoff.checks.chatter import depth_over_limit
from firstoff.medians import median
from firstoff.removal.windows import joined
from tests.checks.builders import belief, case, operation, windows


def test_limits_together_are_those_of_each_alone() -> None:
    here, known = case(cut=joined([windows(2.0, 1.0), windows(1.0, 6.0, direction="slot")])), belief()
    loads = bites(here, known)
    assert len(loads) == 2
    laws, rubs = [law_of(here, known, load) for load in loads], [flanks_of(here, known, load) for load in loads]
    tips = [tip(here, known, load.heading) for load in loads]
    alone = [limit_of(here, law, at, rub, load) for law, at, rub, load in zip(laws, tips, rubs, loads, strict=True)]
    together = limits_together(here, laws, tips, rubs, loads)
    assert np.array(together) == pytest.approx(np.array(alone), rel=1e-6)
    assert np.all(together[0] != together[1])


def test_the_middle_law_is_one_row_of_medians() -> None:
    here, known = case(), belief()
    load = bites(here, known)[0]
    for one, rows in zip(middle_law(here, known, load), law_of(here, known, load), strict=True):
        assert np.asarray(one).tolist() == [median(np.asarray(rows))]


def test_a_side_cut_is_one_arc() -> None:
    load = bites(case(cut=windows(2.0, 1.0)), belief())[0]
    assert arcs(load) == [(1.0, load.engagement.entry, load.engagement.exit)]


@pytest.mark.parametrize("often", [0.02, 0.05, 0.3])
def test_a_cut_as_much_deeper_sings_as_often_as_was_asked(often: float) -> None:
    ratio = depth_over_limit(case(op=operation(cut={"depth_of_cut": "0.4 mm"})), belief())
    times = deeper_by(ratio, often)
    sings = over(times * ratio, np.ones_like(ratio), OPERATION_SCATTER["stability"]).mean()
    assert 0.98 * often < sings <= often
    beside = np.linspace(1.0, 0.97, len(ratio))        # what else may go wrong leaves it less room
    less = deeper_by(ratio, often, beside)
    sings = over(less * ratio, np.ones_like(ratio), OPERATION_SCATTER["stability"])
    spoiled = (1.0 - (1.0 - sings) * beside).mean()
    assert less < times and 0.98 * often < spoiled <= often
