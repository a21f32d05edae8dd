"""A quick cut: what is settled stays, the rest is chosen; it is told with what stops it and what would be better."""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks.si import takes
from firstoff.cutting.heat import COLOURS
from firstoff.dryrun.choosing import LEAST_DEPTH
from firstoff.dryrun.nominal import table_feed
from firstoff.errors import InputError
from firstoff.route.asked_cut import Wanted, bench_of
from firstoff.route.cut_answer import Answer
from firstoff.route.cut_gains import removal_rate
from firstoff.route.cuts import usual_speed
from firstoff.route.quick_cut import LEFT, keyed_in, quick_cut
from firstoff.route.steps import ROUGH_LEAVES
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from firstoff.shop.models import Axes, Shop
from firstoff.telling_cut import cut_json
from firstoff.units import parse

RPM = math.pi / 30.0
ROWS = 256


def stiff(shop: Shop, times: float) -> Shop:
    """The starter shop with a light mill whose stiffness was measured: so many times that of its class."""
    book = shop.classes["light_gantry"].stiffness
    assert book is not None
    axes = {axis: getattr(book, axis).model_copy(update={"value": times * getattr(book, axis).value, "factor": 1.1,
                                                          "source": "measured"}) for axis in "xyz"}
    mill = shop.machines["light_gantry"].model_copy(update={"stiffness": Axes.model_construct(**axes)})
    return shop.model_copy(update={"machines": {**shop.machines, "mill": mill}})


@cache
def answered(times: float = 3.0, **asked: Any) -> Answer:
    wanted = Wanted(**{"machine": "mill", "tool": "end_mill_6_3f", "material": "al_6082", **asked})
    bench = bench_of(stiff(load_shop(None), times), wanted)
    return quick_cut(bench, wanted, Belief.of(columns_of(bench.shop), rows=ROWS))


def on_all_rows(wanted: Wanted) -> Answer:
    """What is answered for a machine of the starter shop."""
    bench = bench_of(load_shop(None), wanted)
    return quick_cut(bench, wanted, Belief.of(columns_of(bench.shop)))


def test_what_a_person_settled_stays() -> None:
    answer = answered(depth=0.7, width=1.3, speed=8000.0 * RPM, feed=8.0, direction="conventional", stickout=17.0)
    cut = answer.cut
    assert (cut.depth_of_cut, cut.width_of_cut, cut.spindle_speed) == (0.7, 1.3, 8000.0 * RPM)
    assert table_feed(answer.case) == pytest.approx(8.0)
    assert cut.direction == "conventional" and answer.case.op.stickout == 17.0
    assert removal_rate(answer.case) == pytest.approx(0.7 * 1.3 * 8.0)
    assert answer.settled == {"depth_of_cut", "width_of_cut", "spindle_speed", "feed_per_tooth"}


@pytest.mark.parametrize("asked", [{"depth": 0.4}, {"width": 0.9}, {"speed": 7000.0 * RPM}, {"feed": 7.0}])
def test_one_number_settled_leaves_the_others_open(asked: dict[str, float]) -> None:
    answer = answered(**asked)
    now = {"depth": answer.cut.depth_of_cut, "width": answer.cut.width_of_cut, "speed": answer.cut.spindle_speed,
           "feed": table_feed(answer.case)}
    for name, value in asked.items():
        assert now[name] == pytest.approx(value)
    assert answer.p_spoil < 1.0 and answer.limited_by


def test_a_wall_that_is_asked_to_size_is_finished_with_what_is_left_on_it() -> None:
    assert LEFT == ROUGH_LEAVES
    fine, rough = answered(within=0.02, depth=5.0), answered(depth=5.0)
    assert 0.0 < (fine.cut.width_of_cut or 0.0) <= LEFT < (rough.cut.width_of_cut or 0.0)
    assert answered(within=0.02, depth=5.0, width=1.0).cut.width_of_cut == 1.0


def test_every_check_of_an_operation_is_there() -> None:
    names = [c.finding.check for c in answered().checked]
    assert {"chatter", "power", "tool strength", "rubbing", "axis thrust"} <= set(names)
    assert len(names) == len(set(names))
    assert next(c for c in answered().checked if c.finding.check == "holding").finding.p_rows is None


def test_numbers_can_be_keyed_in() -> None:
    """A table feed of two figures, not above the chosen one; a person's own feed is left alone."""
    case = answered().case
    feed = table_feed(case) * 60.0
    assert feed == pytest.approx(float(f"{feed:.2g}"))
    odd = keyed_in(case, Wanted("mill", "end_mill_6_3f", "al_6082", feed=7.777))
    assert odd == case.op.cut


def test_a_stiffer_machine_takes_as_much_at_less_risk() -> None:
    # no more than that: the collet and the cutter itself give way too
    soft, hard = answered(1.0), answered(30.0)
    assert soft.p_spoil > hard.p_spoil and not soft.careful
    cut = soft.cut
    same = answered(30.0, depth=cut.depth_of_cut, width=cut.width_of_cut, speed=cut.spindle_speed,
                    feed=table_feed(soft.case), direction=cut.direction)
    assert removal_rate(same.case) == pytest.approx(removal_rate(soft.case))
    assert same.p_spoil < 0.5 * soft.p_spoil


def test_an_unknown_machine_is_asked_for_less() -> None:
    known, unknown = answered(1.0), answered(machine="light_gantry")
    assert unknown.careful and not known.careful
    assert removal_rate(unknown.case) < removal_rate(known.case)
    assert unknown.p_spoil < known.p_spoil
    own = answered(machine="light_gantry", depth=0.5, width=0.5, speed=9000.0 * RPM, feed=8.0)
    assert not own.careful, "numbers that are given are checked, not made careful"


def test_a_slot_is_a_slot() -> None:
    answer = answered(depth=0.3, width=6.0)
    assert answer.cut.direction == "slot" and answer.cut.width_of_cut == 6.0


def test_too_deep_a_slot_is_told_what_to_do_instead() -> None:
    """'0.6 deep, not 1.0': each change told was computed on all rows and is clearly calmer."""
    answer = answered(1.0, depth=1.0, width=6.0)
    assert answer.first is not None and answer.first.finding.check == "chatter"
    assert answer.p_spoil > 0.3 and answer.gains
    assert all(gain.p_after < answer.p_spoil for gain in answer.gains)


def test_a_feed_below_the_floor_is_refused() -> None:
    asked = {"depth": 0.5, "width": 1.0, "speed": 9000.0 * RPM}
    with pytest.raises(InputError, match="takes off nothing below") as caught:
        answered(**asked, feed=0.2)
    enough = re.fullmatch(r"at least (.*) at this speed, or a slower spindle", caught.value.right)
    assert caught.value.where == "--feed" and enough is not None
    assert answered(**asked, feed=parse(enough[1], "table_feed")).cut.feed_per_tooth     # what was told is no lie


def test_a_feed_that_the_table_cannot_follow_is_refused() -> None:
    with pytest.raises(InputError, match="the table follows") as caught:
        answered(feed=500.0)
    most = re.fullmatch(r"(.*) at most, half of its rapid speed", caught.value.right)
    assert most is not None and answered(feed=parse(most[1], "table_feed")).cut.feed_per_tooth, "it may be set"


def test_lost_motion_speaks_against_climbing_and_is_told() -> None:
    answer = answered(depth=0.5, width=1.0, direction="climb")
    assert answer.cut.direction == "climb" and "may snatch" in answer.why_direction
    assert answered(depth=0.5, width=1.0).cut.direction == "conventional"


def test_scale_makes_the_first_pass_deep() -> None:
    raw = answered(material="s275_hot_rolled", bow=0.3)
    scale = next(c for c in raw.checked if c.finding.check == "scale")
    assert (raw.cut.depth_of_cut or 0.0) > 0.3 and (scale.finding.p_fail or 0.0) < 0.1


@pytest.mark.parametrize(("machine", "tool"), [("light_gantry", "end_mill_6_3f"), ("knee", "end_mill_16_hss")])
def test_a_careful_first_pass_is_beneath_the_scale_too(machine: str, tool: str) -> None:
    """However much it may sing: a shallower pass would run in the scale."""
    raw = on_all_rows(Wanted(machine, tool, "s275_hot_rolled", bow=0.3))
    assert 0.4 <= (raw.cut.depth_of_cut or 0.0) <= 0.6
    assert next(c for c in raw.checked if c.finding.check == "scale").verdict == "good"


def test_chances_are_of_all_rows() -> None:
    for checked in answered().checked:
        rows = checked.finding.p_rows
        assert rows is None or (rows.shape == (ROWS,) and np.all(np.isfinite(rows)))


def test_it_climbs_only_where_the_chosen_numbers_let_it() -> None:
    """Not by the first numbers and then with others; nobody said climb, so nothing is told 'as you say'."""
    for tool, material, bow in (("end_mill_16_hss", "s275_hot_rolled", 0.3), ("end_mill_6_3f", "al_6082", None)):
        wanted = Wanted("knee", tool, material, bow=bow)
        bench = bench_of(load_shop(None), wanted)
        answer = quick_cut(bench, wanted, Belief.of(columns_of(bench.shop), rows=ROWS))
        assert "as you say" not in answer.why_direction


def test_numbers_that_cannot_do_on_an_unknown_machine_are_told_what_would() -> None:
    """A ball whose ridges stand above the roughness asked: closer passes, however little is known of the machine."""
    wanted = Wanted("small_column", "ball_6", "brass_cz121", depth=0.2, width=0.6, roughness=1.6e-3)
    bench = bench_of(load_shop(None), wanted)
    answer = quick_cut(bench, wanted, Belief.of(columns_of(bench.shop), rows=ROWS))
    assert answer.careful and answer.p_spoil > 0.5
    assert any(gain.cut.width_of_cut is not None and gain.cut.width_of_cut < 0.5 for gain in answer.gains)
    assert all(gain.p_after < answer.p_spoil for gain in answer.gains if gain.removal < removal_rate(answer.case))


@pytest.mark.parametrize(("machine", "tool", "material"), [
    ("knee", "end_mill_12_hss", "s275_hot_rolled"), ("light_gantry", "end_mill_6_2f", "al_6082"),
    ("light_gantry", "end_mill_3_2f", "al_6082"), ("knee", "end_mill_16_hss", "c45"),
    ("small_column", "ball_6", "al_6082"),
])
def test_a_careful_first_value_is_found_where_there_is_one(machine: str, tool: str, material: str) -> None:
    """'No numbers keep to 1 in 20' was told where half the depth does."""
    wanted = Wanted(machine, tool, material)
    bench = bench_of(load_shop(None), wanted)
    answer = quick_cut(bench, wanted, Belief.of(columns_of(bench.shop)))
    assert answer.careful and answer.p_spoil <= bench.shop.close


def test_nothing_is_told_of_what_holds_a_raw_face() -> None:
    """How the work is held is not known here; no screw stands in the way of the cutter."""
    wanted = Wanted("knee", "end_mill_16_hss", "s275_hot_rolled", bow=0.3)
    bench = bench_of(load_shop(None), wanted)
    answer = quick_cut(bench, wanted, Belief.of(columns_of(bench.shop), rows=ROWS))
    assert "clamp fouls" not in {checked.finding.check for checked in answer.checked}


@pytest.mark.parametrize("asked", [3.2e-3, 1.6e-3, 0.8e-3, 0.4e-3])
def test_passes_of_a_ball_lie_as_close_as_the_finish_asks(asked: float) -> None:
    """A fifth of the widest pass was the closest that was looked at: Ra 6 um where 1.6 was asked."""
    wanted = Wanted("light_gantry", "ball_6", "brass_cz121", roughness=asked)
    bench = bench_of(load_shop(None), wanted)
    answer = quick_cut(bench, wanted, Belief.of(columns_of(bench.shop), rows=ROWS))
    rough = next(checked for checked in answer.checked if checked.finding.check == "finish")
    assert (rough.finding.p_fail or 0.0) <= bench.shop.close, rough.finding.because


@pytest.mark.parametrize(("machine", "tool", "material"), [
    ("knee", "end_mill_16_hss", "s275_hot_rolled"), ("knee", "end_mill_12_hss", "al_6082"),
    ("small_column", "ball_6", "brass_cz121"),
])
def test_no_speed_is_told_at_which_a_day_goes_by(machine: str, tool: str, material: str) -> None:
    """80 rpm with a 16 mm cutter in steel is calm and no answer; neither is '216 rpm' as what else to try."""
    wanted = Wanted(machine, tool, material)
    bench = bench_of(load_shop(None), wanted)
    answer = quick_cut(bench, wanted, Belief.of(columns_of(bench.shop), rows=ROWS))
    usual = usual_speed(bench.material, bench.tool.material) / (bench.tool.diameter / 2.0)
    assert (answer.cut.spindle_speed or 0.0) >= 0.38 * usual
    tried = [float(rpm) * RPM for check in answer.checked for rpm in re.findall(r"(\d+) rpm", check.finding.because)]
    assert all(speed >= 0.38 * usual for speed in tried)


def test_a_speed_of_ones_own_is_kept_however_slow() -> None:
    wanted = Wanted("knee", "end_mill_16_hss", "s275_hot_rolled", speed=80.0 * RPM)
    bench = bench_of(load_shop(None), wanted)
    answer = quick_cut(bench, wanted, Belief.of(columns_of(bench.shop), rows=ROWS))
    assert answer.cut.spindle_speed == pytest.approx(80.0 * RPM)


def test_a_ramp_takes_the_whole_width_as_deep_as_each_run_goes() -> None:
    ramp, slot = answered(down=math.radians(3.0), depth=0.5), answered(width=6.0, depth=0.5)
    assert ramp.case.op.role == "slot" and ramp.cut.direction == "slot" and ramp.cut.width_of_cut == 6.0
    assert ramp.case.windows is not None
    assert np.allclose(ramp.case.windows.direction[:, 2], -math.sin(math.radians(3.0)))
    assert removal_rate(ramp.case) == pytest.approx(math.cos(math.radians(3.0)) * 0.5 * 6.0 * table_feed(ramp.case))
    minutes = cut_json(ramp)["minutes_in_cut"]
    volume = ramp.case.windows.volume.sum()
    assert volume / removal_rate(ramp.case) / 60.0 == pytest.approx(minutes, rel=0.01), "what is told agrees"
    assert slot.case.op.down == 0.0 and removal_rate(slot.case) == pytest.approx(3.0 * table_feed(slot.case))


def test_down_on_its_end_a_cutter_pushes_harder_and_asks_more_torque() -> None:
    """A level slot, a ramp, straight down: the end of the cutter comes in, more of it the steeper."""
    asked = {"depth": 0.5, "speed": 6000.0 * RPM, "feed": 4.0}
    answers = [answered(width=6.0, **asked), *(answered(down=angle, **asked) for angle in (0.05, math.pi / 2.0))]
    torque = [next(c.finding.demand for c in a.checked if c.finding.check == "power") for a in answers]
    medians = [spread.median for spread in torque if spread is not None]
    assert len(medians) == 3 and medians == sorted(medians) and medians[1] > 1.2 * medians[0]


def test_straight_down_says_nothing_of_singing_and_takes_the_whole_round() -> None:
    answer = answered(down=math.pi / 2.0)
    sings = next(c for c in answer.checked if c.finding.check == "chatter")
    assert sings.finding.p_rows is None and sings.verdict == "can't say"
    assert removal_rate(answer.case) == pytest.approx(math.pi / 4.0 * 36.0 * table_feed(answer.case))
    assert answer.cut.depth_of_cut == 6.0


def test_no_pass_is_told_that_is_thinner_than_anybody_sets() -> None:
    """A slot of a light mill in steel sings at the least depth that is of use: half of that helps nobody."""
    answer = on_all_rows(Wanted("light_gantry", "end_mill_6_3f", "s275_hot_rolled", width=6.0))
    assert answer.cut.depth_of_cut == LEAST_DEPTH
    assert all((gain.cut.depth_of_cut or 0.0) >= LEAST_DEPTH for gain in answer.gains)


def test_a_slow_thin_chip_has_a_colour() -> None:
    """A ball that creeps over a face: its chip gives all its heat to the tool, and is never colder than the shop."""
    answer = answered(machine="knee", tool="ball_6", material="s275_hot_rolled", width=0.369, feed=24.0 / 60.0,
                      direction="conventional", within=0.0256)
    assert answer.chips.partition(",")[0] in {word for word, _ in COLOURS}


def test_what_is_put_on_the_cut_is_as_asked() -> None:
    dry, wet = (answered(tool="corner_radius_8", material="c45", roughness=1.6e-3, coolant=name)
                for name in ("dry", "flood"))
    assert (dry.cut.coolant, wet.cut.coolant) == ("dry", "flood")
    built_up = [next(c.finding.p_fail or 0.0 for c in answer.checked if c.finding.check == "built-up edge")
                for answer in (dry, wet)]
    assert built_up[1] < 0.8 * built_up[0]


@pytest.mark.parametrize("asked", [{"width": 3.0}, {}, {"depth": 0.3}, {"roughness": 3.2e-3}])
@pytest.mark.parametrize("material", ["s275_cold_drawn", "acetal"])
def test_a_ball_is_never_told_a_pass_that_it_cannot_take(material: str, asked: dict[str, float]) -> None:
    """Nothing but ridges as high as the pass would be left."""
    answer = answered(tool="ball_6", material=material, **asked)
    for cut in (answer.cut, *(gain.cut for gain in answer.gains if "ball nose" not in gain.text)):
        assert takes(answer.bench.tool, cut.depth_of_cut or 0.0, cut.width_of_cut or 0.0)


def test_a_finish_takes_off_what_roughing_leaves() -> None:
    wall, face = (answered(tool=tool, roughness=3.2e-3) for tool in ("end_mill_6_3f", "ball_6"))
    assert (wall.cut.width_of_cut or 0.0) <= LEFT and (face.cut.depth_of_cut or 0.0) <= LEFT
    assert face.case.wanted.stock.size[2] == LEFT


def test_a_way_down_is_reckoned_as_wide_as_its_cutter() -> None:
    assert answered(tool="end_mill_6_2f", down=math.radians(3.0)).case.wanted.stock.size[1] == 6.0


def test_an_edge_is_broken_as_wide_as_asked() -> None:
    answer = answered(tool="chamfer_6", depth=0.4)
    assert answer.case.op.role == "chamfer" and answer.cut.depth_of_cut == answer.cut.width_of_cut == 0.4
    assert removal_rate(answer.case) == pytest.approx(0.4 * 0.4 / 2.0 * table_feed(answer.case))
    assert all(gain.cut.depth_of_cut == 0.4 for gain in answer.gains)


@pytest.mark.parametrize(("machine", "tool", "material"), [
    ("light_gantry", "end_mill_6_2f", "al_6082"), ("small_column", "end_mill_6_3f", "s275_hot_rolled"),
    ("light_gantry", "end_mill_3_2f", "s275_hot_rolled"),
])
def test_a_careful_pass_is_as_deep_as_all_rows_let_it_be(machine: str, tool: str, material: str) -> None:
    """Within the chance that is allowed and not far below it: the next depth of the grid would be beyond."""
    answer = on_all_rows(Wanted(machine, tool, material))
    assert 0.85 * answer.bench.shop.close < answer.p_spoil <= answer.bench.shop.close
    assert next(c for c in answer.checked if c.finding.check == "chatter").finding.p_rows is not None


def test_a_careful_pass_leaves_room_for_what_else_goes_wrong_the_shallower_it_is() -> None:
    """In more passes more wears: by the few rows alone this cut was never shallow enough, and none was told."""
    answer = on_all_rows(Wanted("small_column", "end_mill_8_3f", "c45", direction="climb"))
    sings = next(c.finding.p_fail for c in answer.checked if c.finding.check == "chatter")
    assert sings is not None and answer.p_spoil - sings > 0.1 * answer.bench.shop.close
    assert 0.8 * answer.bench.shop.close < answer.p_spoil <= answer.bench.shop.close


def test_a_careful_pass_keeps_a_depth_that_is_settled() -> None:
    answer = on_all_rows(Wanted("small_column", "end_mill_6_3f", "s275_hot_rolled", depth=0.1))
    assert answer.cut.depth_of_cut == 0.1 and answer.p_spoil <= answer.bench.shop.close
