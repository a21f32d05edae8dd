from __future__ import annotations

import pytest

from firstoff.checks.base import Case
from firstoff.checks.lever import CHECK, screw_force, thickness, tip_force
from firstoff.job.models import LeverJoint
from tests.checks.builders import HEIGHT, case, chance, found, knobs_say, rises


def pressed(arm: float, by: str = "fingers", **changed: object) -> Case:
    joint = LeverJoint.model_validate({
        "kind": "lever", "part": "block", "screw": "M5", "thickness": ["+Z", "-Z"], "arms": [f"{arm} mm", "40 mm"],
        "width": "8 mm", "hole": "5 mm", "torque_by": by, **changed})
    return case("joint", "lever", joint=joint)


def bent(this: Case) -> float:
    demand = found(CHECK, this).demand
    assert demand is not None
    return demand.median


def test_long_arm_by_a_key_bad_on_purpose() -> None:
    finding = found(CHECK, pressed(60.0, "key"))
    assert finding.p_fail is not None and finding.p_fail > 0.5
    assert "20 mm thick" in finding.because and finding.unit == "N/mm2"


def test_stout_bar_by_fingers_just_good() -> None:
    assert chance(CHECK, pressed(20.0)) <= 0.01


def test_chance_rises_with_the_arm() -> None:
    rises(CHECK, [pressed(arm, "key") for arm in (20.0, 40.0, 80.0)])


def test_stress_is_that_of_a_cantilever_over_the_fulcrum() -> None:
    this = pressed(20.0)
    assert isinstance(this.joint, LeverJoint)
    demand = found(CHECK, this).demand
    assert demand is not None
    moment = screw_force(this.joint).middle * 20.0                        # [N mm]
    assert demand.median == pytest.approx(6.0 * moment / (3.0 * HEIGHT**2))
    assert tip_force(this.joint, 100.0) == pytest.approx(50.0)
    assert thickness(this, this.joint) == pytest.approx(HEIGHT)


def test_a_torque_wrench_is_surer_than_fingers() -> None:
    assert isinstance((hand := pressed(20.0).joint), LeverJoint)
    assert isinstance((wrench := pressed(20.0, torque="0.36 N m").joint), LeverJoint)
    assert screw_force(wrench).sd < screw_force(hand).sd
    assert screw_force(wrench).middle == pytest.approx(screw_force(hand).middle)


def test_what_to_turn_is_a_gentler_hand() -> None:
    assert knobs_say(CHECK, pressed(20.0, "key"))["torque_by"] == [
        "by thumbscrew, not by key", "by fingers, not by key"]
    assert knobs_say(CHECK, pressed(20.0))["torque_by"] == []


def test_a_hole_as_wide_as_the_bar_cannot_be_told() -> None:
    assert found(CHECK, pressed(20.0, width="5 mm")).p_rows is None


def test_a_torque_screwdriver_turns_it_less_than_the_hand_does() -> None:
    this = pressed(20.0)
    assert isinstance(this.joint, LeverJoint)
    said = knobs_say(CHECK, this)["torque"]
    assert said[0].endswith("by a torque screwdriver, not by fingers") and len(said) == 7
    less = next(knob for knob in CHECK.knobs if knob.path == "torque").values(this)
    stress = [bent(pressed(20.0, torque=torque)) for torque in less]
    assert stress == sorted(stress, reverse=True)
    assert stress[0] == pytest.approx(0.9 * bent(this), rel=0.03)
