from __future__ import annotations

from firstoff.checks.screw_stretch import CHECK
from tests.checks.builders import chance, found, knobs_say, rises
from tests.checks.joint_cases import screwed


def test_a_torque_for_a_larger_screw_bad_on_purpose() -> None:
    finding = found(CHECK, screwed(torque="6 N m"))
    assert finding.p_fail is not None and finding.p_fail > 0.9 and "yields at about" in finding.because


def test_a_torque_that_it_bears_just_good() -> None:
    assert chance(CHECK, screwed(torque="1.8 N m")) <= 0.01


def test_chance_rises_with_torque_and_with_grease_and_falls_with_the_class() -> None:
    rises(CHECK, [screwed(torque=f"{torque} N m") for torque in (2.0, 3.0, 4.0)])
    rises(CHECK, [screwed(torque="2.8 N m", lubricated=greased) for greased in (False, True)])
    rises(CHECK, [screwed(torque="2.8 N m", grade=grade) for grade in ("12.9", "10.9", "8.8", "4.8")])


def test_what_to_turn_is_less_torque() -> None:
    assert knobs_say(CHECK, screwed(torque="6 N m"))["torque"][0] == "tighten to 5.4 N m at most"
    assert not CHECK.applies(screwed(torque=None))
