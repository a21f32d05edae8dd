"""A tool that has cut before stands blunt in the spindle: forces and push-off by the life it has used."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from firstoff.belief import Belief
from firstoff.checks._blunt import CHANGED, FELT, STEPS, STICKING, _as_felt, felt, flank_land, since_fresh
from firstoff.checks._forces import coefficients, loads, sharp_coefficients, worst
from firstoff.checks._life import used
from firstoff.checks._past import past_of
from firstoff.checks._push import engagement_of, wall_left
from firstoff.checks.base import Case, Past
from firstoff.checks.tool_strength import CHECK as BREAKS
from firstoff.cutting.wear import wear_since_run_in
from firstoff.dryrun.findings import Findings
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from tests.checks.builders import belief, case, operation, shop

SMALL, BOOKS = shop(), load_shop(None)
SHOP = BOOKS.model_copy(update={
    name: {**getattr(BOOKS, name), **getattr(SMALL, name)}
    for name in ("machines", "classes", "devices", "collets", "materials")})
BOOK, ROWS = (Belief.of(columns_of(SHOP), rows=rows) for rows in (1, 256))


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


def test_an_edge_that_is_long_gone_is_no_blunter_than_one_that_is_changed() -> None:
    """A land of metres, in a few rows, would be forces of tons; that it wears out is counted by `wear`."""
    land = flank_land(lived(1000.0), belief())
    assert land is not None and float(land.max()) == pytest.approx(CHANGED * 1e-3)
    assert side(lived(1000.0)) < 20.0 * side(case())
    usual = flank_land(lived(0.5), belief())
    assert usual is not None and float(np.median(usual)) < 0.5 * CHANGED * 1e-3


ONE = Past("s", "end_mill_3_3f", "carbide", "s275_hot_rolled", "dry", False, False, 10.0, 0.0, 1e-6, 1.0, 4e-5, 1e-3,
           1.5, "op", 0.1)


def cuts(*shares: float, speed: float = ONE.speed, chip: float = ONE.chip) -> list[Past]:
    """Cuts in this bar with a tool of a whole shop, each of which uses so much of a book life."""
    one = replace(ONE, speed=speed, chip=chip)
    whole = float(used([one], None, BOOK)[0])
    return [replace(one, edge_time=share / whole) for share in shares]


def after(*before: Past) -> Case:
    """A case in a whole shop that comes after such cuts."""
    return replace(case(op=operation(tool=ONE.tool), in_shop=SHOP), before=before)


@given(st.lists(st.floats(1e-3, 0.3), min_size=1, max_size=8), st.floats(0.5, 1.5), st.floats(0.5, 1.5))
def test_what_is_felt_is_what_was_cut_within_half_a_step(shares: list[float], faster: float, thicker: float) -> None:
    """Half a step of use at the median; row by row the exponents of life are those of the cuts together."""
    done = after(*cuts(*shares), *cuts(*shares, speed=1.5 * faster, chip=4e-5 * thicker))
    exact, close = used(since_fresh(done), None, ROWS), used(felt(done), None, ROWS)
    whole = 2.0 * sum(shares)
    assume(whole > 2.0 * FELT)
    half = max(10.0 ** (0.5 / STEPS), 1.0 + 0.5 * FELT / whole)
    assert len(felt(done)) == 1
    assert 0.8 * (2.0 - half) < np.median(close) / np.median(exact) < 1.1 * half
    assert np.std(np.log(close / exact)) < 0.4 * np.std(np.log(exact))


def test_a_minute_more_of_one_cut_is_not_felt() -> None:
    assert felt(after(*cuts(0.1, 0.1))) == felt(after(*cuts(0.1, 0.105)))
    assert felt(after(*cuts(0.1, 0.1))) != felt(after(*cuts(0.1, 0.2)))
    assert felt(after(*cuts(FELT / 4.0, FELT / 4.0))) == () != felt(after(*cuts(FELT, FELT)))


@given(st.floats(1e-4, 3.0))
def test_a_share_of_a_life_is_felt_in_steps_that_never_go_back(share: float) -> None:
    """Within half of the least step, or half of a step to ten times as much."""
    felt_as = _as_felt(share)
    assert abs(felt_as - share) <= max(0.5 * FELT, (10.0 ** (0.5 / STEPS) - 1.0) * share) + 1e-12
    assert _as_felt(share * 1.001) >= felt_as


def test_cuts_of_two_kinds_are_felt_apart() -> None:
    kinds = felt(after(*cuts(0.1, 0.1), *(replace(past, notched=True) for past in cuts(0.1))))
    assert [past.notched for past in kinds] == [False, True]


def test_a_shop_without_books_of_life_feels_cut_by_cut() -> None:
    assert felt(lived(0.3)) == lived(0.3).before


def test_a_cut_changed_by_a_minute_leaves_the_checks_after_it_as_they_are() -> None:
    findings = Findings(ROWS)
    was, little, much = (findings.keys(after(*cuts(0.1, share))) for share in (0.1, 0.105, 0.2))
    warm = [key for key, again in zip(was, little, strict=True) if key != again]
    assert len(was) > 10 and all("warm" in key for key in warm)
    assert sum(key != again for key, again in zip(was, much, strict=True)) > 5 + len(warm)
