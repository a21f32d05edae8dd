from __future__ import annotations

import pytest

from firstoff.checks.lever_force import CHECK
from tests.checks.builders import chance, found, knobs_say, rises
from tests.checks.joint_cases import levered, wedged


def test_fingers_against_a_great_force_bad_on_purpose() -> None:
    finding = found(CHECK, levered(wanted_force="900 N"))
    assert finding.p_fail is not None and finding.p_fail > 0.9 and "wanted 900 N" in finding.because


def test_a_small_force_just_good() -> None:
    assert chance(CHECK, levered(wanted_force="140 N")) <= 0.01


def test_chance_rises_with_the_force_and_with_the_arm_to_the_tip() -> None:
    rises(CHECK, [levered(wanted_force=f"{force} N") for force in (200, 400, 800)])
    rises(CHECK, [levered(wanted_force="300 N", arms=["14 mm", f"{arm} mm"]) for arm in (14, 26, 50)])


def test_the_tip_presses_by_the_arms() -> None:
    near, far = (found(CHECK, levered(wanted_force="100 N", arms=["14 mm", arm])).capacity
                 for arm in ("14 mm", "28 mm"))
    assert near is not None and far is not None and near.median == pytest.approx(2.0 * far.median)


def test_what_to_turn_is_a_stronger_hand_or_grease() -> None:
    said = knobs_say(CHECK, levered(wanted_force="900 N"))
    assert said["torque_by"] == ["by thumbscrew, not by fingers", "by key, not by fingers"] and said["lubricated"]
    assert not CHECK.applies(levered()) and not CHECK.applies(wedged())
