from __future__ import annotations

from firstoff.checks.head_bearing import CHECK
from tests.checks.builders import chance, found, knobs_say, rises
from tests.checks.joint_cases import screwed


def test_a_screw_far_too_tight_bad_on_purpose() -> None:
    finding = found(CHECK, screwed(torque="12 N m"))
    assert finding.p_fail is not None and finding.p_fail > 0.5 and "sinks into steel" in finding.because


def test_a_usual_torque_just_good() -> None:
    assert chance(CHECK, screwed()) <= 0.01


def test_a_cone_that_comes_through_a_thin_part_bottoms() -> None:
    thin = found(CHECK, screwed("M4 x 10", thick=2.0, head="countersunk"))
    assert thin.p_fail == 1.0 and "bottoms on the part below" in thin.because and thin.unit == "mm"
    assert chance(CHECK, screwed("M4 x 12", thick=5.0, head="countersunk")) <= 0.01


def test_chance_rises_with_the_torque() -> None:
    rises(CHECK, [screwed(torque=f"{torque} N m") for torque in (4.0, 8.0, 16.0)])


def test_what_to_turn_is_less_torque() -> None:
    assert knobs_say(CHECK, screwed())["torque"][0] == "tighten to 1.8 N m at most"
    assert knobs_say(CHECK, screwed(torque=None))["torque"] == []
    assert found(CHECK, screwed(thread="")).p_rows is None
