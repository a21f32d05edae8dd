"""A tool that has cut before stands blunt in the spindle: forces and push-off by the life it has used."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks._forces import coefficients, loads, sharp_coefficients, worst
from firstoff.checks._life import BOOK_ARC, CHANGED, STICKING, book_speed, flank_land, since_fresh, used
from firstoff.checks._past import past_of
from firstoff.checks._push import engagement_of, wall_left
from firstoff.checks.base import Case, Past
from firstoff.checks.tool_strength import CHECK as BREAKS
from firstoff.cutting.wear import wear_since_run_in
from firstoff.dryrun.findings import Findings
from tests.checks.builders import belief, case, operation


def lived(share: float, this: Case | None = None) -> Case:
    """A case whose tool has used so much of the median life at its own speed."""
    now = this or case()
    whole = replace(past_of(now), fresh=False)
    one = float(np.median(used([whole], None, belief())))
    return replace(now, before=(replace(whole, edge_time=whole.edge_time * share / one),))


def side(this: Case) -> float:
    return float(np.median(worst(loads(this, belief()), "peak_side")))


def test_a_blunt_tool_pushes_more_the_blunter_the_more() -> None:
    sides = [side(lived(share)) for share in (0.01, 0.3, 0.6, 1.0)]
    assert sides == sorted(sides) and sides[-1] > 1.2 * sides[0]
    assert sides[0] == pytest.approx(side(case()), rel=0.05)


def test_the_law_is_that_of_the_land() -> None:
    worn_out, by = lived(1.0), belief()
    blunt, sharp = coefficients(worn_out, by), sharp_coefficients(worn_out, by)
    land = wear_since_run_in(used(list(worn_out.before), None, by), by.value("shop", "end_wear") * 1e-3)
    thrust = np.minimum(land, CHANGED * 1e-3) * by.value("material:steel", "yield_strength")
    assert np.allclose(blunt.radial_edge - sharp.radial_edge, thrust)
    assert np.allclose(blunt.tangential_edge - sharp.tangential_edge, STICKING * thrust)
    assert np.array_equal(blunt.tangential, sharp.tangential)


def test_push_off_grows_with_what_the_tool_has_cut() -> None:
    def left(this: Case) -> float:
        cut = engagement_of(this)
        assert cut is not None
        return float(np.median(np.abs(wall_left(this, belief(), cut).most)))

    assert left(lived(1.0)) > 1.2 * left(case())


def test_a_fresh_tool_is_sharp() -> None:
    assert side(lived(1.0, case(op=operation(fresh=True)))) == side(case())
    done = lived(1.0).before[0]
    changed = replace(case(), before=(done, replace(done, fresh=True, edge_time=0.0)))
    assert [past.edge_time for past in since_fresh(changed)] == [0.0]
    assert side(changed) == side(case())


def test_another_tool_does_not_blunt_this_one() -> None:
    done = replace(lived(1.0).before[0], tool="another")
    assert side(replace(case(), before=(done,))) == side(case())


def test_what_was_cut_before_is_in_the_key() -> None:
    findings = Findings(belief())

    def bent(this: Case) -> float:
        kept = next(k for k in findings.of(this) if k.finding.check == BREAKS.name)
        assert kept.finding.demand is not None
        return kept.finding.demand.median

    assert bent(lived(1.0)) > bent(case())


def test_life_by_the_book_s_speed() -> None:
    past: Past = past_of(case())
    at_book = replace(past, speed=float(np.median(book_speed(past, None, belief()))), edge_time=2700.0 * BOOK_ARC)
    assert float(np.median(used([at_book], None, belief()))) == pytest.approx(1.0, rel=0.1)


def test_a_thick_chip_costs_life_and_a_thin_one_gains_none() -> None:
    """By row the chip over the book's to the y over n; below the book's as at the book's."""
    by, past = belief(), replace(past_of(case()), tool_material="hss")
    tiny, thin, thick = (used([replace(past, chip=chip)], None, by) for chip in (1e-7, 1e-6, 2e-4))
    power = by.value("tool_material:hss", "life_by_feed") / by.value("tool_material:hss", "taylor_exponent")
    book = 1e-3 * by.value("shop", "book_feed") * (1.0 - np.cos(BOOK_ARC)) / BOOK_ARC
    assert np.array_equal(tiny, thin) and np.allclose(thick, thin * (2e-4 / book) ** power)
    assert np.median(thick) > 20.0 * np.median(thin)


def test_a_deep_cut_costs_life_and_a_shallow_one_gains_none() -> None:
    by, past = belief(), replace(past_of(case()), tool_material="hss")
    flat, shallow, deep = (used([replace(past, deep=deep)], None, by) for deep in (1e-3, 1e-2, 10.0))
    power = by.value("tool_material:hss", "life_by_depth") / by.value("tool_material:hss", "taylor_exponent")
    assert np.array_equal(flat, shallow)
    assert np.allclose(deep, shallow * (10.0 / by.value("shop", "book_depth")) ** power)
    assert np.median(deep) > 2.0 * np.median(shallow)
    assert past.deep == pytest.approx(past.depth / 1e-3 / case().tool.diameter)


@pytest.mark.parametrize(("law", "tool_life", "share"), [("tap", 5400.0, 0.4), ("ream", 1500.0, 0.5)])
def test_taps_and_reamers_last_by_their_own_law(law: str, tool_life: float, share: float) -> None:
    """At their share of the usual speed they last their life; slower ones longer, by the power of the law."""
    by = belief()
    usual = by.value("material:steel", "cutting_speed:hss") * by.value("shop", f"{law}_speed")
    own = by.value("shop", f"{law}_life") / by.value("discrepancy:wear", "factor")
    past = replace(past_of(case()), tool_material="hss", law=law, coolant="dry", chip=0.0, volume=0.0)
    assert np.median(usual) == pytest.approx(0.5 * share, rel=0.1)
    assert np.median(own) == pytest.approx(tool_life, rel=0.3)
    speed = float(np.median(usual))
    fast, slow = (used([replace(past, edge_time=60.0 * BOOK_ARC, speed=v)], None, by) for v in (speed, speed / 2.0))
    power = 1.0 / by.value("shop", f"{law}_exponent")
    assert np.allclose(fast, 60.0 / own * (speed / usual) ** power)
    assert np.allclose(slow, fast * 0.5**power)


def test_cuts_of_different_chips_add_up() -> None:
    by, one = belief(), past_of(case())
    other = replace(one, chip=4.0 * one.chip + 2e-4)
    assert np.allclose(used([one, other], None, by), used([one], None, by) + used([other], None, by))


def test_an_edge_that_is_long_gone_is_no_blunter_than_one_that_is_changed() -> None:
    """A land of metres, in a few rows, would be forces of tons; that it wears out is counted by `wear`."""
    land = flank_land(lived(1000.0), belief())
    assert land is not None and float(land.max()) == pytest.approx(CHANGED * 1e-3)
    assert side(lived(1000.0)) < 20.0 * side(case())
    usual = flank_land(lived(0.5), belief())
    assert usual is not None and float(np.median(usual)) < 0.5 * CHANGED * 1e-3
