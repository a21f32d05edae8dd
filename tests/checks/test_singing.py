"""Limits of several engagements at one go are those of each alone."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._chance import OPERATION_SCATTER, over
from firstoff.checks._forces import bites
from firstoff.checks._singing import (
    arcs,
    deeper_by,
    factors,
    flanks_of,
    law_of,
    limit_of,
    limits_together,
    middle_law,
)
from firstoff.checks._tip import tip
from firstoff.checks.chatter import depth_over_limit
from firstoff.cutting.chatter import directional_factors
from firstoff.medians import median
from firstoff.removal.windows import joined
from tests.checks.builders import belief, case, operation, shop, tool, windows


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
    assert arcs(load) == [(1.0, load.engagement.entry, load.engagement.exit, np.pi / 2.0)]


def test_a_ball_is_buried_at_its_tip() -> None:
    """Beside another row its narrow slices lie deep in the metal: it sings at less than one arc says."""
    ball = tool(name="ball nose", kind="ball", corner_radius="3 mm", flute_length="10 mm", flutes=2)
    wide = 2.0 * np.sqrt(0.34 * 5.66)
    here = case(op=operation(tool="ball6", role="form", cut={"depth_of_cut": "0.34 mm", "width_of_cut": "0.16 mm"}),
                cut=windows(0.34, 0.16, 0.02, diameter=wide, direction="conventional"), in_shop=shop(ball6=ball))
    known = belief()
    load = bites(here, known)[0]
    parts = arcs(load)
    assert sum(part.share for part in parts) == pytest.approx(1.0)
    spans, leads = [part.exit for part in parts], [part.lead for part in parts]
    assert spans == sorted(spans, reverse=True) and leads == sorted(leads)
    assert spans[0] > 2.5 and spans[-1] == pytest.approx(load.engagement.exit, rel=0.05)
    law, rub, at = law_of(here, known, load), flanks_of(here, known, load), tip(here, known, load.heading)
    upright = load._replace(edge=load.engagement)
    buried, one = (np.median(limit_of(here, law, at, rub, by)) for by in (load, upright))
    assert 0.2 * one < buried < 0.6 * one


def test_the_radial_force_of_a_leaning_edge_lies_partly_along_the_tool() -> None:
    """A cone of 45 degrees in a slot: factors of (K_r + K_a) sin 45 over K_t, by hand."""
    here = case(op=operation(tool="chamfer6", role="slot"), cut=windows(1.0, 2.0, 0.02, 2.0, "slot"))
    known = belief()
    load = bites(here, known)[0]
    law = law_of(here, known, load)
    ratio = np.sqrt(0.5) * (law.radial + law.axial) / law.tangential
    wanted = directional_factors(ratio, 0.0, np.pi)
    for got, hand in zip(factors(law, load), wanted, strict=True):
        assert got == pytest.approx(hand)


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


def test_on_a_way_down_a_ball_sings_by_its_slices_and_a_flat_end_by_one_arc() -> None:
    ball = tool(name="ball nose", kind="ball", corner_radius="3 mm", flute_length="10 mm", flutes=2)
    for cutter, many in (("ball6", True), ("em6", False)):
        cut = windows(0.5, 3.0, 0.02, direction="slot")
        cut.direction[:] = (0.995, 0.0, -0.0998)
        load = bites(case(op=operation(tool=cutter), cut=cut, in_shop=shop(ball6=ball)), belief())[0]
        parts = arcs(load)
        assert (len(parts) > 1) is many and sum(part.share for part in parts) == pytest.approx(1.0)
        assert all(part.exit <= np.pi for part in parts)
