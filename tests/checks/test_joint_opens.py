from __future__ import annotations

from firstoff.checks.joint_opens import CHECK
from tests.checks.builders import chance, found, rises
from tests.checks.joint_cases import screwed


def test_a_great_load_bad_on_purpose() -> None:
    finding = found(CHECK, screwed(load_along="4000 N"))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "opens at about" in finding.because and "wanted 4000 N" in finding.because


def test_a_small_load_just_good() -> None:
    assert chance(CHECK, screwed(load_along="400 N", torque="1.5 N m")) <= 0.01


def test_chance_rises_with_the_load_and_with_a_torque_that_is_too_much() -> None:
    rises(CHECK, [screwed(load_along=f"{load} N") for load in (800, 1500, 3000)])
    rises(CHECK, [screwed(load_along="500 N", torque=f"{torque} N m") for torque in (2.0, 3.0, 5.0)])


def test_nobody_who_states_no_load_is_asked() -> None:
    assert not CHECK.applies(screwed())
    assert found(CHECK, screwed(thread="", load_along="50 N")).p_rows is None
