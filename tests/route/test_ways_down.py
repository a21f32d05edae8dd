"""Better ways down: a hole drilled first where it takes load off the end, a gentle slope instead of a steep one."""

from __future__ import annotations

import math
from functools import cache

import pytest

from firstoff.belief import Belief
from firstoff.errors import InputError
from firstoff.route.asked_cut import Wanted, bench_of, must_be_possible
from firstoff.route.cut_answer import Answer, Gain
from firstoff.route.quick_cut import quick_cut
from firstoff.route.ways_down import GENTLE
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from firstoff.shop.models import Shop


def without_drills(shop: Shop) -> Shop:
    return shop.model_copy(update={"tools": {key: t for key, t in shop.tools.items() if t.kind != "drill"}})


@cache
def answered(down: float, material: str = "s275_hot_rolled", drills: bool = True) -> Answer:
    shop = load_shop(None) if drills else without_drills(load_shop(None))
    wanted = Wanted("light_gantry", "end_mill_6_3f", material, down=math.radians(down))
    bench = bench_of(shop, wanted)
    return quick_cut(bench, wanted, Belief.of(columns_of(bench.shop), rows=256))


def told(answer: Answer, word: str) -> list[Gain]:
    return [gain for gain in answer.gains if word in gain.text]


def test_straight_down_in_steel_drill_first_and_what_it_gains() -> None:
    answer = answered(90.0)
    gain, = told(answer, "drill first")
    assert gain.text == "drill first: a hole of 5.5 mm on the drill press, then down in it"
    assert answer.gains[0] is gain and gain.p_after < 0.5 * answer.p_spoil
    assert answer.why_direction == "all of its end cuts, all round"


def test_a_shop_without_drills_is_not_told_to_drill() -> None:
    assert told(answered(90.0, drills=False), "drill first") == []


def test_a_light_metal_is_drilled_on_the_mill_or_the_press_too() -> None:
    gain, = told(answered(90.0, "al_6082"), "drill first")
    assert gain.p_after < answered(90.0, "al_6082").p_spoil


def test_a_gentle_slope_instead_of_a_steep_one() -> None:
    gain, = told(answered(45.0, "al_6082"), "ramp or helix at 3 deg")
    assert gain.p_after <= 0.6 * answered(45.0, "al_6082").p_spoil
    assert told(answered(3.0, "al_6082"), "ramp or helix") == [] and math.degrees(GENTLE) == pytest.approx(3.0)
    assert told(answered(45.0, "al_6082"), "drill first") == []


@pytest.mark.parametrize(("down", "refused"), [(1.0, False), (3.0, False), (10.0, True), (90.0, True)])
def test_a_cutter_with_a_hollow_middle_goes_down_gently_or_not(down: float, refused: bool) -> None:
    wanted = Wanted("knee", "end_mill_16_hss", "s275_hot_rolled", down=math.radians(down))
    bench = bench_of(load_shop(None), wanted)
    if not refused:
        must_be_possible(bench, wanted)
        return
    with pytest.raises(InputError, match="stand on the metal in its middle") as raised:
        must_be_possible(bench, wanted)
    assert "a hole drilled first" in str(raised.value)
