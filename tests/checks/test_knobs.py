from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest

from firstoff.checks import _knobs
from firstoff.checks.base import Knob
from firstoff.shop.models import CuttingSpeeds
from tests.checks.builders import case, operation, setting, shop, tool


def words(knob: Knob, this: object = None) -> list[str]:
    here = case() if this is None else this
    return [knob.say(here, value) for value in knob.values(here)]  # type: ignore[arg-type]


def test_depth_from_mild_to_strong() -> None:
    values = [float(str(v)) for v in _knobs.DEPTH.values(case())]
    assert values == sorted(values, reverse=True) and values[0] == 0.8
    assert words(_knobs.DEPTH)[0] == "0.8 mm deep, not 1 mm"


def test_speeds_are_those_of_the_belt() -> None:
    press = case(op=operation(cut={"spindle_speed": "1400 rpm"}), place=setting(machine="press"))
    assert [round(float(str(v)) * 30 / pi) for v in _knobs.SPEED_DOWN.values(press)] == [900, 500]
    assert words(_knobs.SPEED_UP, press) == ["2500 rpm, not 1400 rpm"]


def test_speeds_stay_in_the_spindle_s_range() -> None:
    assert all(2000 <= float(str(v)) * 30 / pi <= 10000 for knob in (_knobs.SPEED_UP, _knobs.SPEED_DOWN)
               for v in knob.values(case()))


def test_feed_both_ways() -> None:
    """Told as it is keyed in, too: 3 teeth at 6000 rpm."""
    assert words(_knobs.FEED_DOWN)[0] == "0.016 mm a tooth, not 0.02 mm (feed 288 mm/min)"
    assert words(_knobs.FEED_UP)[-1] == "0.06 mm a tooth, not 0.02 mm (feed 1080 mm/min)"
    still = case()
    bare = still.op.model_copy(update={"cut": still.op.cut.model_copy(update={"spindle_speed": None})})
    assert _knobs.FEED_UP.say(replace(still, operation=bare), 0.06) == "0.06 mm a tooth, not 0.02 mm"


def test_a_thin_pass_is_set_to_a_hundredth() -> None:
    thin = case(op=operation(cut={"depth_of_cut": "0.18 mm", "width_of_cut": "0.18 mm"}))
    for knob in (_knobs.DEPTH, _knobs.WIDTH):
        assert [float(str(v)) for v in knob.values(thin)] == [0.14, 0.12, 0.09, 0.06, 0.04]


def test_the_other_way_round() -> None:
    assert words(_knobs.DIRECTION) == ["conventional milling, not climb"]
    assert words(_knobs.DIRECTION, case(op=operation(cut={"direction": "slot"}))) == []


def test_a_shorter_stickout_keeps_the_flutes_free() -> None:
    values = [float(str(v)) for v in _knobs.STICKOUT.values(case())]
    assert values and min(values) >= 13.0 and max(values) < 20.0


def test_what_is_not_set_cannot_be_turned() -> None:
    bare = case(op=operation() | {"cut": {"spindle_speed": "6000 rpm"}}, cut=None)
    assert _knobs.DEPTH.values(bare) == [] and _knobs.WIDTH.values(bare) == []
    assert _knobs.LARGER_TOOL.values(bare) == ["em10"]


def test_lengths_are_told_in_the_job_s_units() -> None:
    inch = case()
    told = _knobs.DEPTH.say(
        inch.__class__(**{**vars(inch), "job": inch.job.model_copy(update={"units": "in"})}), 0.508)
    assert told.startswith("0.02 in deep") and pytest.approx(0.508) == 0.02 * 25.4


def test_no_speed_beyond_the_maker_s_rating() -> None:
    slow = case(op=operation(cut={"spindle_speed": "4000 rpm"}), in_shop=shop(em6=tool(rated_speed="5000 rpm")))
    most = 5000.0 * pi / 30.0
    assert _knobs.fastest(slow) == pytest.approx(most)
    values = [float(str(v)) for v in _knobs.SPEED_UP.values(slow)]
    assert values and all(v <= most for v in values)
    assert len(values) < len(_knobs.SPEED_UP.values(case(op=operation(cut={"spindle_speed": "4000 rpm"}))))


def test_what_cools_more_is_offered_and_a_new_tool_has_its_price() -> None:
    misted = case(op=operation(cut={"coolant": "mist"}))
    assert _knobs.COOLANT.values(misted) == ["flood"]
    assert _knobs.COOLANT.say(misted, "flood") == "flood, not mist"
    priced = case(in_shop=shop(em6=tool(price=9)))
    assert _knobs.FRESH.say(priced, _knobs.FRESH.values(priced)[0]) == "a new end mill 6 mm before it (9 money)"
    assert _knobs.FRESH.values(case(op=operation(fresh=True))) == []


def test_a_speed_that_is_told_unseen_is_one_that_the_edge_bears() -> None:
    """Half again the usual 150 m/min of carbide on 6 mm; a shallow ball may go faster; in an unknown metal none."""
    spindle = shop().machines["mill"].spindle
    assert spindle is not None
    quick = shop(ball6=tool(kind="ball", corner_radius="3 mm"))
    mill = quick.machines["mill"].model_copy(update={"spindle": spindle.model_copy(update={"fastest": 1e4})})
    kit = quick.model_copy(update={"machines": {**quick.machines, "mill": mill}})
    this = case(op=operation(cut={"spindle_speed": "6000 rpm"}), in_shop=kit)
    assert _knobs.bearable(this) == pytest.approx(1.5 * 2.5 / 3e-3)
    ball = case(op=operation(tool="ball6", cut={"spindle_speed": "6000 rpm", "depth_of_cut": "0.1 mm"}), in_shop=kit)
    assert _knobs.bearable(ball) == pytest.approx(1.5 * 2.5 / (1e-3 * (0.1 * 5.9) ** 0.5))
    bare = kit.materials["steel"].model_copy(update={"cutting_speed": CuttingSpeeds()})
    unknown = replace(this, shop=kit.model_copy(update={"materials": {"steel": bare}}))
    assert _knobs.bearable(unknown) == pytest.approx(6000.0 * pi / 30.0)
    fast = case(op=operation(cut={"spindle_speed": "9900 rpm"}))
    assert _knobs.bearable(fast) == pytest.approx(_knobs.fastest(fast)), "the spindle's own end comes first"
