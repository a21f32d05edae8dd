from __future__ import annotations

from firstoff.checks.wedge import CHECK
from tests.checks.builders import chance, found, knobs_say, rises
from tests.checks.joint_cases import levered, wedged


def test_a_steep_wedge_slides_out_bad_on_purpose() -> None:
    finding = found(CHECK, wedged(angle="30 deg"))
    assert finding.p_fail is not None and finding.p_fail > 0.9 and "slides out" in finding.because


def test_a_flat_wedge_by_a_key_just_good() -> None:
    assert chance(CHECK, wedged(wanted_force="2000 N")) <= 0.01


def test_a_way_that_ends_before_it_is_tight_clamps_nothing() -> None:
    short = found(CHECK, wedged(gap="0.7 mm", way="5 mm"))
    assert short.p_fail == 1.0 and "clamps nothing" in short.because
    assert chance(CHECK, wedged(gap="0.4 mm", way="5 mm")) <= 0.01


def test_chance_rises_with_what_is_wanted_and_with_weaker_hands() -> None:
    rises(CHECK, [wedged(wanted_force=f"{force} N") for force in (5000, 10000, 20000)])
    rises(CHECK, [wedged(wanted_force="600 N", torque_by=by) for by in ("key", "thumbscrew", "fingers")])


def test_what_to_turn_is_a_stronger_hand() -> None:
    assert knobs_say(CHECK, wedged(torque_by="fingers"))["torque_by"][0] == "by thumbscrew, not by fingers"
    assert knobs_say(CHECK, wedged())["torque_by"] == [] and not CHECK.applies(levered())
