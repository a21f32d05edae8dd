"""What would be better than a cut: each change says what it brings, and brings it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from firstoff.belief import Belief
from firstoff.checks._knobs import STICKOUT, WIDTH
from firstoff.checks.chatter import CHECK as CHATTER
from firstoff.dryrun.nominal import table_feed
from firstoff.route.asked_cut import Wanted
from firstoff.route.cut_gains import CLEANED, LESS, Some, _turned, removal_rate
from firstoff.shop.columns import columns_of
from tests.route.test_quick_cut import RPM, answered, on_all_rows


def test_gains_say_what_they_bring() -> None:
    for asked in ({}, {"tool": "end_mill_3_2f"}, {"material": "s275_cold_drawn"}):
        answer = answered(3.0, **asked)
        for gain in answer.gains:
            assert gain.text and gain.removal > 0.0 and 0.0 <= gain.p_after <= 1.0
            assert gain.removal > removal_rate(answer.case) or gain.p_after < answer.p_spoil


def test_nothing_faster_is_told_where_all_is_spoiled_anyhow() -> None:
    wanted = Wanted("small_column", "ball_6", "brass_cz121", depth=0.2, width=0.6, roughness=0.4e-3)
    answer = on_all_rows(wanted)
    assert answer.p_spoil > 0.9 and all(gain.p_after < 0.7 * answer.p_spoil for gain in answer.gains)


def test_free_of_its_scale_a_face_may_be_cut_as_shallow_as_the_machine_likes() -> None:
    answer = on_all_rows(Wanted("light_gantry", "end_mill_6_3f", "s275_hot_rolled", bow=0.3))
    clean = next(gain for gain in answer.gains if gain.text.startswith(CLEANED))
    assert clean.p_after <= LESS * answer.p_spoil
    assert (clean.cut.depth_of_cut or 0.0) < 0.3 < (answer.cut.depth_of_cut or 0.0)


def test_what_runs_in_the_scale_goes_deeper_and_no_wider() -> None:
    answer = on_all_rows(Wanted("light_gantry", "end_mill_6_3f", "s275_hot_rolled", bow=0.2, depth=0.15))
    assert answer.first is not None and answer.first.finding.check == "scale"
    deeper = next(gain for gain in answer.gains if (gain.cut.depth_of_cut or 0.0) > 0.2)
    assert (deeper.cut.width_of_cut or 0.0) <= (answer.cut.width_of_cut or 0.0)
    assert deeper.p_after <= LESS * answer.p_spoil


def test_numbers_far_from_any_use_are_told_the_usual_ones() -> None:
    """No share of such a feed is enough."""
    answer = on_all_rows(Wanted("light_gantry", "end_mill_6_2f", "acrylic", depth=1.0, width=3.0,
                                speed=18000.0 * RPM, feed=100.0 / 60.0))
    better = min(answer.gains, key=lambda gain: gain.p_after)
    assert answer.p_spoil > 0.9 and better.p_after <= LESS * answer.p_spoil
    assert (better.cut.feed_per_tooth or 0.0) > 10.0 * (answer.cut.feed_per_tooth or 0.0)


def test_carbide_is_told_where_steel_is_gone_at_once() -> None:
    answer = on_all_rows(Wanted("light_gantry", "end_mill_10_hss", "s275_cold_drawn"))
    assert any(gain.text.startswith("end mill 10 mm") and "carbide, not" in gain.text for gain in answer.gains)


def test_what_is_taken_off_is_by_the_outline() -> None:
    """Of an edge broken at 60 degrees half its depth times tan 30 of it; on a ramp no wider than a ball is there."""
    broken = answered(tool="chamfer_6", depth=0.5).case
    steep = replace(broken, shop=broken.shop.model_copy(update={"tools": {
        **broken.shop.tools, "chamfer_6": broken.tool.model_copy(update={"point_angle": math.radians(60.0)})}}))
    assert removal_rate(steep) / removal_rate(broken) == pytest.approx(math.tan(math.radians(30.0)))
    ball = answered(tool="ball_6", down=math.radians(3.0), depth=0.2).case
    wide = 2.0 * math.sqrt(0.2 * 5.8)
    assert removal_rate(ball) == pytest.approx(math.cos(math.radians(3.0)) * 0.2 * wide * table_feed(ball))


def test_a_change_is_told_once() -> None:
    answer = on_all_rows(Wanted("light_gantry", "end_mill_6_2f", "al_6082", width=2.0, depth=1.5))
    texts = [gain.text for gain in answer.gains]
    assert texts and len(set(texts)) == len(texts)


def test_a_slot_is_never_told_to_be_narrower_than_its_cutter() -> None:
    """Nothing changes by it: the cutter is as wide as it is."""
    answer = answered(1.0, depth=1.0, width=6.0)
    assert answer.gains and all(gain.cut.width_of_cut == 6.0 for gain in answer.gains)
    assert [knob for knob in _turned(answer, CHATTER) if knob is WIDTH] == []
    assert WIDTH in _turned(answered(1.0, depth=1.0, width=3.0), CHATTER)


def test_what_was_chosen_with_care_is_not_turned_again() -> None:
    answer = on_all_rows(Wanted("light_gantry", "end_mill_6_2f", "al_6082", width=2.0))
    turned = [knob.path for knob in _turned(answer, CHATTER)]
    assert turned == [WIDTH.path, STICKOUT.path], "the width is the person's own, how it is held was not searched"


def test_a_chance_is_told_only_where_it_is_within() -> None:
    answer = answered(1.0, depth=0.5, width=1.0)
    some = Some(answer, Belief.of(columns_of(answer.bench.shop), rows=64).wordless())
    chance = some.chance(answer.case)
    assert 0.0 < chance < 1.0 and chance == pytest.approx(answer.p_spoil)     # itself, on whatever rows
    assert some.within(answer.case, 1.001 * chance) == chance
    assert some.within(answer.case, 0.999 * chance) is None
