from __future__ import annotations

import math
from dataclasses import replace

import pytest

from firstoff.checks._clamped import Clamp
from firstoff.checks._hands import turned
from firstoff.checks._joints import (
    clamp_of,
    hand_turn,
    how,
    metal_of,
    p_bottoms,
    pull_of,
    pull_of_screw,
    screw_joint,
    told,
)
from firstoff.checks._screws import hole_of
from firstoff.checks._threads import thread_named
from firstoff.checks.base import Case
from firstoff.job.models import LeverJoint, WedgeJoint
from tests.checks.builders import belief
from tests.checks.joint_cases import levered, screwed, wedged


def clamp(case: Case) -> Clamp | str:
    joint = screw_joint(case)
    assert joint is not None
    return clamp_of(case, belief(), joint)


def test_a_joint_of_a_job_is_the_clamp_that_it_says() -> None:
    made = clamp(screwed(lubricated=True))
    assert isinstance(made, Clamp)
    assert (made.thick, made.hole, made.drilled, made.lubricated) == (5.0, 4.5, 3.3, True)
    assert made.engaged == pytest.approx(7.0 - 0.7)
    assert made.into.tensile.middle == pytest.approx(450e6, rel=0.02) and made.into.group == "P"


def test_what_cannot_be_told_says_why() -> None:
    assert clamp(screwed(thread="")) == "no thread is written for block.hole-2"
    assert "less than a turn" in str(clamp(screwed("M4 x 6", thick=5.5)))
    case = screwed()
    joint = screw_joint(case)
    assert joint is not None
    soft = replace(case, job=case.job.model_copy(update={
        "parts": {"block": case.job.parts["block"].model_copy(update={"material": "pom"})}}))
    assert metal_of(soft, belief(), hole_of(soft, joint.into)) is None
    assert "is not known" in str(clamp(soft))


def test_a_torque_pulls_surer_than_a_key_and_a_key_is_what_nobody_says() -> None:
    by_wrench, by_key, unsaid = (screw_joint(screwed(**said)) for said in (
        {}, {"torque": None, "torque_by": "key"}, {"torque": None}))
    assert by_wrench is not None and by_key is not None and unsaid is not None
    assert pull_of_screw(by_wrench, 4.5).sd < pull_of_screw(by_key, 4.5).sd
    assert pull_of_screw(unsaid, 4.5) == pull_of_screw(by_key, 4.5)
    made = clamp(screwed())
    assert isinstance(made, Clamp) and pull_of(by_wrench, made) == pull_of_screw(by_wrench, 4.5)


@pytest.mark.parametrize(("screw", "chance"), [("M4 x 12", 0.0), ("M4 x 14", 0.5), ("M4 x 16", 1.0)])
def test_a_screw_bottoms_where_it_is_longer_than_its_thread(screw: str, chance: float) -> None:
    case = screwed(screw)
    joint = screw_joint(case)
    assert joint is not None and p_bottoms(case, joint) == pytest.approx(chance, abs=1e-6)


def test_hands_of_levers_and_wedges() -> None:
    lever, wedge = levered().joint, wedged(torque="3 N m").joint
    assert isinstance(lever, LeverJoint) and isinstance(wedge, WedgeJoint)
    assert hand_turn(lever).torque == turned("fingers", thread_named("M5")).torque
    assert how(lever, "mm") == "by fingers" and how(wedge, "mm") == "tightened to 3 N m"
    assert hand_turn(wedge).torque == 3.0 and screw_joint(wedged()) is None


def test_a_spread_is_told_as_it_is() -> None:
    made = clamp(screwed())
    assert isinstance(made, Clamp)
    low, middle, high = told(made.crushes)
    assert math.sqrt(low * high) == pytest.approx(middle)
