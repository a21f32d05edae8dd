from __future__ import annotations

from firstoff.checks.joint_slips import CHECK
from tests.checks.builders import case, chance, found, knobs_say, rises
from tests.checks.joint_cases import screwed


def test_one_loose_screw_under_a_great_load_bad_on_purpose() -> None:
    finding = found(CHECK, screwed(load_across="600 N"))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "wanted 600 N" in finding.because and finding.unit == "N" and "luggage scale" in finding.settle_by


def test_a_small_load_just_good() -> None:
    assert chance(CHECK, screwed(load_across="120 N")) <= 0.01


def test_chance_rises_with_the_load_and_falls_with_screws_and_torque() -> None:
    rises(CHECK, [screwed(load_across=f"{load} N") for load in (150, 300, 600)])
    rises(CHECK, [screwed(load_across="400 N", number=number) for number in (4, 2, 1)])
    rises(CHECK, [screwed(load_across="300 N", torque=f"{torque} N m") for torque in (2.5, 1.5, 0.8)])


def test_a_screw_that_bottoms_holds_nothing() -> None:
    finding = found(CHECK, screwed("M4 x 16", load_across="50 N"))
    assert finding.p_fail is not None and finding.p_fail > 0.99 and "bottoms" in finding.because


def test_what_to_turn_is_more_torque_or_grease() -> None:
    said = knobs_say(CHECK, screwed(load_across="400 N"))
    assert said["torque"][0] == "tighten to 2.3 N m, not 2 N m" and said["lubricated"]
    assert knobs_say(CHECK, screwed(load_across="400 N", torque=None, lubricated=True)) == {
        "torque": [], "lubricated": []}


def test_nobody_who_states_no_load_is_asked() -> None:
    assert not CHECK.applies(screwed()) and not CHECK.applies(case("joint", "none"))
    assert found(CHECK, screwed(thread="", load_across="50 N")).p_rows is None
