"""A hole without a job: what the machine takes, what tap and thread bear."""

from __future__ import annotations

from itertools import pairwise
from math import isfinite
from pathlib import Path

import pytest

from firstoff.errors import InputError
from firstoff.route.asked_hole import Own, hole_asked
from firstoff.route.meant import Meant
from firstoff.route.quick_hole import REAM_LEAD, HoleAnswer, quick_hole
from firstoff.shop.library import load_shop

SHOP = load_shop(None)
STRONG = "knee"


def answer(size: str, material: str = "s275_hot_rolled", machine: str = "drill_press", depth: float | None = None,
           through: bool = False, own: Own | None = None) -> HoleAnswer:
    return quick_hole(SHOP, hole_asked(size, "mm"), Meant(machine), Meant(material), depth, through, own)


def drilled(found: HoleAnswer) -> list[float]:
    return [step.diameter for step in found.steps if step.what == "drill"]


def test_ten_mm_through_mild_steel_takes_two_or_three_drills_on_a_small_press() -> None:
    found = answer("10", through=True, depth=10.0)
    assert 2 <= len(drilled(found)) <= 3 and drilled(found)[-1] == 10.0
    single = next(risk for risk in found.risks if "in one go" in risk.what)
    worst = max(step.drilled.load.p for step in found.steps if step.drilled)
    assert single.p is not None and single.p > 0.4 and worst < 0.4 * single.p
    assert "stall the spindle" in single.what


def test_each_pilot_is_at_least_the_web_of_the_next_drill() -> None:
    for size in ("6.5", "10", "13"):
        for less, more in pairwise(drilled(answer(size, "stainless_304"))):
            assert less >= 0.17 * more


def test_a_strong_machine_takes_a_small_hole_in_one_go() -> None:
    assert drilled(answer("5", "al_6082", STRONG)) == [5.0]


def test_speeds_are_steps_of_the_belt() -> None:
    spindle = SHOP.machines["drill_press"].spindle
    assert spindle is not None
    assert all(step.turn in spindle.steps for step in answer("10").steps if step.turn)


def test_m5_in_mild_steel() -> None:
    found = answer("M5").tapped
    assert found is not None and found.full_length is not None
    assert found.drill == 4.2 and found.share == pytest.approx(0.924, abs=1e-3)
    assert found.full_length == pytest.approx(4.5, rel=0.05)
    assert found.torque is not None and found.torque < found.breaks
    assert found.torque == pytest.approx(1.0, rel=0.15)
    assert found.p_breaks["hand"] > found.p_breaks["drill_press"] > found.p_breaks["mill"]


def test_m5_in_6082_wants_more_and_three_mm_strip_first() -> None:
    found = answer("M5", "al_6082", depth=3.0).tapped
    assert found is not None and found.full_length is not None and found.p_strips is not None
    assert found.full_length == pytest.approx(6.3, rel=0.05)
    assert found.p_strips > 0.95
    deep = answer("M5", "al_6082", depth=9.0).tapped
    assert deep is not None and deep.p_strips is not None and deep.p_strips < 0.02


def test_a_blind_thread_is_drilled_deeper_than_it_is_tapped() -> None:
    shallow, long = (answer("M5", depth=depth) for depth in (5.0, 12.0))
    assert all(step.pecks is None for step in shallow.steps)
    assert any(step.pecks is not None for step in long.steps)


def test_inch_threads_and_unknown_bars() -> None:
    found = answer("1/4-20", "unknown_bar", depth=10.0)
    assert found.tapped is not None and found.tapped.drill == pytest.approx(5.105, abs=0.01)
    # charts of inch threads call a No. 7 drill 75 %: they count on 1.299 P, H1 on both sides is 1.083 P
    assert found.tapped.share * 1.0825 / 1.2990 == pytest.approx(0.754, abs=0.002)


def test_a_reamed_hole_is_drilled_under_size() -> None:
    for size, material in (("4 H7", "brass_cz121"), ("12 H7", "al_6082"), ("25 H8", "c45")):
        found = answer(size, material, STRONG)
        under = found.hole.diameter - found.steps[-2].diameter
        assert 0.1 < under < 0.65
        assert found.limits is not None and found.limits[0] == 0.0 < found.limits[1]
    assert answer("4 H7").limits == pytest.approx((0.0, 12.0))


def test_a_countersink_puts_the_head_below() -> None:
    found = answer("csk M4", "al_6082").sunk
    assert found is not None
    assert found.diameter == pytest.approx(8.96 + 0.2) and found.depth == pytest.approx((9.16 - 4.5) / 2)
    assert found.spread_tried < found.spread_by_size


def test_brass_grabs_more_than_steel_and_sheet_more_than_plate() -> None:
    def grabs(material: str, thick: float) -> float:
        return next(r.p or 0.0 for r in answer("3", material, depth=thick, through=True).risks if "grabs" in r.what)
    assert grabs("s275_hot_rolled", 0.5) > grabs("s275_hot_rolled", 10.0)
    assert grabs("brass_cz121", 10.0) > 0.0


@pytest.mark.parametrize("material", sorted(SHOP.materials))
@pytest.mark.parametrize("size", ["M3", "8", "6 H7", "csk M6", "1/2-13"])
def test_every_material_has_an_answer_without_a_hole_in_it(size: str, material: str) -> None:
    try:
        found = answer(size, material, depth=8.0, through=True)
    except InputError as error:
        assert error.right and error.where == "--material"
        return
    assert found.steps and all(risk.p is None or (isfinite(risk.p) and 0.0 <= risk.p <= 1.0) for risk in found.risks)
    assert all(step.turn is None or step.turn > 0.0 for step in found.steps)


def test_a_machine_without_a_spindle_is_refused() -> None:
    with pytest.raises(InputError, match="spindle"):
        answer("M5", machine="hand_tools")


def test_who_leans_is_an_arm_and_a_mill_feeds() -> None:
    assert "lean on it so that" in " ".join(answer("12", "stainless_304").remarks)
    mill = " ".join(answer("4", "c45", "light_gantry").remarks)
    assert "feed it so that" in mill and "lean" not in mill


def test_the_drills_of_ones_own_shop() -> None:
    own = load_shop(Path(__file__).parents[2] / "src/firstoff/example/block_plane/shop")
    found = quick_hole(own, hole_asked("10", "mm"), Meant("press"), Meant("s275_hot_rolled"), None, False)
    listed = {tool.diameter for tool in own.tools.values() if tool.kind == "drill"}
    assert set(drilled(found)[:-1]) <= listed
    assert any("not among the drills" in remark for remark in found.remarks)


@pytest.mark.parametrize(("thick", "through"), [(2.0, True), (2.33, True), (2.5, False), (5.0, False)])
def test_a_cone_that_goes_through_its_sheet_is_told(thick: float, through: bool) -> None:
    """csk M4 in 2 mm: a cone of 2.33 mm opens the 4.5 mm hole to 9.16 - 2 x 2 = 5.16, and nothing was said."""
    found = answer("csk M4", "al_6082", depth=thick, through=True)
    told = [risk for risk in found.risks if risk.what.startswith("the cone is")]
    assert bool(told) == through and found.sunk is not None
    assert found.sunk.left == pytest.approx(thick - 2.33)
    if thick == 2.0:
        assert "Ø5.16 mm" in told[0].what and "a smaller screw: M3" in told[0].instead


def test_a_blind_thread_tells_how_deep_to_drill() -> None:
    blind, through = (answer("M5", depth=6.0, through=out) for out in (False, True))
    assert [step.deep for step in blind.steps if step.what == "drill"] == [pytest.approx(6.0 + 2.0 * 0.8)]
    assert all(step.deep is None for step in through.steps)


def test_no_spot_where_nothing_walks() -> None:
    assert [step.what for step in answer("5", "acetal").steps] == ["drill"]
    spot = answer("M5").steps[0]
    assert spot.what == "spot" and spot.wide is not None and 4.2 < spot.wide < spot.diameter


def test_a_pilot_is_one_that_goes_as_deep_as_the_hole() -> None:
    assert drilled(answer("8", "c45", depth=8.0))[0] < 6.0
    deep = answer("8", "c45", depth=60.0)
    assert all(size >= 6.0 for size in drilled(deep))


def test_pilots_that_a_chuck_grips_are_taken_before_those_for_a_pin_chuck() -> None:
    """10 mm in mild steel: 2, 7.5, 10 was told, the first in a pin chuck, where 4.5, 7.5, 10 is as good."""
    for size, material in (("10", "s275_hot_rolled"), ("8", "brass_cz121"), ("10", "al_6082")):
        assert drilled(answer(size, material))[0] >= 3.0


def test_own_drills_are_checked_and_not_changed() -> None:
    """10 mm through mild steel in one go at 500 /min, on a plate of 350 W: more likely than not it stalls."""
    alone = answer("10", own=Own((10.0,), 500.0 * 3.14159265 / 30.0))
    assert drilled(alone) == [10.0] and alone.steps[-1].drilled is not None
    first = alone.steps[-1].drilled.load.first
    assert first is not None and first.name == "stall the spindle" and first.p > 0.45
    pair = answer("10", own=Own(drills=(3.0,)))
    assert drilled(pair) == [3.0, 10.0]


def test_own_speed_and_feed_are_of_the_last_drill() -> None:
    found = answer("10", own=Own(turn=900.0 * 3.14159265 / 30.0, feed=0.15))
    last = found.steps[-1]
    assert last.turn == pytest.approx(94.25, rel=1e-3) and last.feed == 0.15 and last.drilled is not None
    slower = answer("10", own=Own(turn=500.0 * 3.14159265 / 30.0, feed=0.08)).steps[-1].drilled
    assert slower is not None and slower.load.p < last.drilled.load.p


def test_an_own_tap_drill_and_one_before_a_reamer() -> None:
    found = answer("M5", own=Own(drills=(4.3,))).tapped
    assert found is not None and found.drill == 4.3 and found.share == pytest.approx(0.808, abs=1e-3)
    assert drilled(answer("4 H7", own=Own(drills=(3.5, 3.9)))) == [3.5, 3.9]


def test_own_numbers_that_the_machine_has_not() -> None:
    with pytest.raises(InputError, match="no speed of this spindle"):
        answer("10", own=Own(turn=70.0))
    with pytest.raises(InputError, match="a turn"):
        answer("10", own=Own(table_feed=50.0))
    wide = answer("20", own=Own(drills=(20.0,)))
    assert wide.beyond is None and any("opens to" in risk.what for risk in wide.risks)


@pytest.mark.parametrize(("size", "material", "said"), [
    ("6 H7", "stainless_304", "ream it by hand"), ("csk M8", "stainless_304", "it chatters"), ("4 H7", "al_6082", ""),
    ("csk M4", "al_6082", "")])
def test_a_press_too_fast_for_a_reamer_or_a_cone_is_told(size: str, material: str, said: str) -> None:
    """500 /min are 9.4 m/min at 6 mm; a reamer in stainless likes a third of a drill's speed."""
    told = [remark for remark in answer(size, material).remarks if "a reamer of" in remark or "a cone of" in remark]
    assert bool(told) == bool(said) and all(said in remark for remark in told)


def test_no_speed_is_told_that_ruins_a_reamer_or_chatters() -> None:
    """10 H7 in steel on a spindle that goes no slower than 3000 /min: by hand, in the step itself."""
    ream = answer("10 H7", "s275_cold_drawn", "light_gantry").steps[-1]
    sink = answer("csk M8", "s275_cold_drawn", "light_gantry").steps[-1]
    assert (ream.what, ream.turn, ream.feed) == ("ream", None, None) and ream.note.startswith("by hand")
    assert (sink.what, sink.turn, sink.feed) == ("countersink", None, None) and sink.note.startswith("by hand")
    assert answer("4 H7", "al_6082").steps[-1].turn is not None


def test_below_what_is_reamed_or_tapped_there_is_room_for_the_lead() -> None:
    ream, tap = answer("4 H7", "al_6082", depth=10.0), answer("M6", "al_6082", depth=10.0)
    assert ream.steps[-2].deep == pytest.approx(10.0 + REAM_LEAD * 4.0)
    assert tap.steps[-2].deep == pytest.approx(12.0) and "bottoming tap" in tap.steps[-1].note
    assert "bottoming tap" not in answer("M6", "al_6082", depth=10.0, through=True).steps[-1].note
    with pytest.raises(InputError, match="6 h7"):
        hole_asked("6 h7", "mm")


def test_a_mill_too_fast_for_a_cone_has_no_arm_that_presses() -> None:
    told = next(remark for remark in answer("csk M5", "al_6082", "light_gantry").remarks if "a cone of" in remark)
    assert "slower machine" in told and "press" not in told


def test_a_reamer_finds_what_widens_the_hole_and_not_the_last_drill_that_is_held() -> None:
    """20 H7 on a mill that grips 13 mm: what is milled round leaves 0.3, and not the 7 mm that the drill left."""
    told = next(remark for remark in answer("20 H7", "s275_cold_drawn", "knee").remarks if "reamer should" in remark)
    assert "leaves it" not in told


def test_a_tip_goes_deeper_than_the_hole_is_at_its_full_width() -> None:
    """6 mm with a point of 118 degrees: 6 / (2 tan 59) = 1.80 mm more; through, half a mm beyond; an arm feels it."""
    blind = answer("6", "al_6082", STRONG, depth=10.0).steps[-1]
    out = answer("6", "al_6082", STRONG, depth=10.0, through=True).steps[-1]
    assert blind.tip == pytest.approx(11.803, abs=1e-3) and out.tip == pytest.approx(12.303, abs=1e-3)
    assert answer("6", "al_6082", depth=10.0, through=True).steps[-1].tip is None
    assert answer("6", "al_6082").steps[-1].tip is None
    thread = next(step for step in answer("M5", depth=6.0).steps if step.what == "drill")
    assert thread.tip == pytest.approx(7.6 + 1.262, abs=1e-3)


def test_own_feeds_that_a_mill_does_not_follow_are_refused_and_its_speeds_are_fed_slower() -> None:
    rpm = 3.14159265 / 30.0
    with pytest.raises(InputError, match="more than the light gantry mill follows"):
        answer("5", "al_6082", "light_gantry", own=Own(turn=12000.0 * rpm, feed=0.1))
    last = answer("5", "al_6082", "light_gantry", own=Own(turn=18000.0 * rpm)).steps[-1]
    assert last.feed is not None and last.feed * 18000.0 == pytest.approx(750.0, rel=1e-3)
    told = next(risk for risk in answer("10", own=Own((10.0,), 2500.0 * rpm)).risks if "stall" in risk.what)
    assert "a slower step" in told.instead or "first" in told.instead
