from __future__ import annotations

from dataclasses import replace

from firstoff.checks.base import Case, State
from firstoff.checks.scale import CHECK, beneath, pickled
from firstoff.job.edits import apply_edits
from tests.checks.builders import belief, case, chance, found, job, knobs_say, operation, rises

ROLLED = {"size": ["62 mm", "42 mm", "22 mm"], "condition": "hot_rolled", "bow": "0.3 mm"}


def first(depth: float, removes: float = 1.0, **stock: object) -> Case:
    op = operation(role="face_rough", removes=f"{removes} mm", cut={"depth_of_cut": f"{depth} mm"})
    return case(op=op, of_job=job(stock={**ROLLED, **stock}))


def test_shallow_first_pass_bad_on_purpose() -> None:
    finding = found(CHECK, first(0.15))
    assert finding.p_fail is not None and finding.p_fail > 0.5
    assert "0.15 mm deep" in finding.because and "lowest spot" in finding.because and finding.unit == "mm"


def test_a_ball_goes_down_into_a_face_too() -> None:
    """How far its rows lie apart says nothing of the scale."""
    op = operation(role="form", removes="1 mm", cut={"depth_of_cut": "0.1 mm", "width_of_cut": "1.1 mm"})
    finding = found(CHECK, case(op=op, of_job=job(stock=ROLLED)))
    assert finding.p_fail is not None and finding.p_fail > 0.5 and "0.1 mm deep" in finding.because


def test_below_the_scale_just_good() -> None:
    assert chance(CHECK, first(0.5)) <= 0.01


def test_chance_rises_as_the_pass_gets_shallower() -> None:
    rises(CHECK, [first(depth) for depth in (0.4, 0.3, 0.2, 0.1)])


def test_a_thicker_crust_is_worse() -> None:
    assert chance(CHECK, first(0.3), belief(material_steel__scale_thickness=0.1)) > chance(CHECK, first(0.3))


def test_only_the_first_cut_of_a_raw_rolled_face() -> None:
    assert not CHECK.applies(first(0.15, condition="cold_drawn"))
    assert not CHECK.applies(replace(first(0.15), state=State("block", left=(("stock-6", 0.5),))))


def test_deeper_is_what_to_turn_as_far_as_there_is_something() -> None:
    said = knobs_say(CHECK, first(0.15))["cut.depth_of_cut"]
    assert said[0] == "a first pass 0.4 mm deep, not 0.15 mm"
    assert knobs_say(CHECK, first(0.15, removes=0.3))["cut.depth_of_cut"] == []


def test_a_pickled_bar_has_no_scale() -> None:
    scaly = first(0.15)
    assert knobs_say(CHECK, scaly)["pickled"] == ["pickle or grind the scale off first"]
    changed = apply_edits(scaly.route, [("operations.op.pickled", "true")])
    done = replace(scaly, route=changed, operation=changed.operations["op"])
    assert pickled(done) and not CHECK.applies(done)


def test_just_beneath_the_scale_is_good_and_no_deeper_than_it_must_be() -> None:
    """0.4 to 0.6 mm is the usual first pass where the raw face is 0.25 to 0.45 mm uneven."""
    for bow in (0.1, 0.2, 0.3, 0.4):
        least = beneath(first(0.15, bow=f"{bow} mm"))
        assert chance(CHECK, first(least, bow=f"{bow} mm")) <= 0.01
        assert chance(CHECK, first(least - 0.1, bow=f"{bow} mm")) > 0.01
    assert 0.4 <= beneath(first(0.15)) <= 0.6


def test_nothing_is_to_be_beneath_where_no_scale_is() -> None:
    assert beneath(first(0.15, condition="cold_drawn")) == 0.0
    assert beneath(replace(first(0.15), state=State("block", left=(("stock-6", 0.5),)))) == 0.0
