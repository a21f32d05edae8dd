from __future__ import annotations

from dataclasses import replace

import pytest

from firstoff.belief import Belief
from firstoff.checks._threads import thread_named
from firstoff.checks.base import Case
from firstoff.checks.stripping import (
    CHECK,
    breaks_at,
    full_strength_length,
    strips_at,
    weak_strength,
)
from firstoff.job.models import ScrewJoint
from firstoff.part.shapes import Feature
from firstoff.shop.library import load_shop
from tests.checks.builders import belief, block, case, chance, found, job, operation, rises
from tests.published import agrees

M5 = thread_named("M5")


def tapped(deep: float = 10.0, hole: float = 4.2, joint: ScrewJoint | None = None, threads: bool = True) -> Case:
    this = Feature("hole-1", "hole", (6,), size={"diameter": hole, "depth": 14.0})
    written = {"threads": {"hole-1": f"M5 x {deep:g} deep"}} if threads else {}
    wanted = job(**written, **({"joints": {"s": joint.model_dump(exclude_none=True)}} if joint else {}))
    op = operation(features=["hole-1"], role="tap", tool="tap5", cut={})
    return case(op=op, part=block(this), of_job=wanted)


def soft() -> Belief:
    return belief(material_steel__tensile_strength=200e6)


def test_three_mm_in_soft_metal_bad_on_purpose() -> None:
    finding = found(CHECK, tapped(3.0), soft())
    assert finding.p_fail is not None and finding.p_fail > 0.5
    assert "class 8.8" in finding.because and finding.unit == "N"


def test_ten_mm_in_steel_just_good() -> None:
    assert chance(CHECK, tapped(10.0)) <= 0.01


def test_chance_rises_as_the_thread_gets_shorter() -> None:
    rises(CHECK, [tapped(deep) for deep in (10.0, 5.0, 3.0, 2.0)])


def test_a_hole_that_a_joint_names_is_the_joints() -> None:
    joint = ScrewJoint.model_validate({"kind": "screw", "screw": "M5 x 12", "through": "block.hole-1",
                                       "into": "block.hole-1"})
    assert not CHECK.applies(tapped(joint=joint))


def test_the_screw_of_a_lever_is_the_levers() -> None:
    lever = {"kind": "lever", "part": "block", "screw": "M5", "thickness": ["-Z", "+Z"], "arms": ["10 mm", "20 mm"],
             "width": "20 mm", "hole": "5.5 mm", "torque_by": "fingers", "wanted_force": "100 N"}
    this = tapped(3.0)
    assert CHECK.applies(this)
    assert not CHECK.applies(replace(this, job=job(joints={"lever": lever})))


def test_a_thread_of_which_no_depth_is_known_cannot_be_told() -> None:
    assert found(CHECK, tapped(threads=False)).p_rows is None


@pytest.mark.parametrize(("strength", "length"), [(410e6, 4.5), (310e6, 6.0)])
def test_m5_breaks_before_it_strips_from(strength: float, length: float) -> None:
    # about 4.5 mm of mild steel or 6 mm of 6082 at their least strength; 3 mm strips first
    assert full_strength_length(M5, 4.2, strength) == pytest.approx(length, rel=0.05)
    assert float(strips_at(M5, 4.2, 3.0, strength)) < breaks_at(M5)


def test_all_but_one_bar_in_twenty_is_stronger_than_the_standards_least() -> None:
    shop = load_shop(None)
    for name, source, least in (("s275_hot_rolled", "en10025", 410.0), ("al_6082", "en755", 295.0)):
        found_ = weak_strength(shop.materials[name], shop)
        assert found_ is not None
        agrees("threads", f"least tensile strength of {shop.materials[name].name}: all but one bar in twenty", source,
               least, found_ / 1e6, "N/mm2", within=0.03)
    mixed = weak_strength(shop.materials["unknown_bar"], shop)
    assert mixed == weak_strength(shop.materials["s275_hot_rolled"], shop)
    assert weak_strength(shop.materials["acetal"].model_copy(update={"tensile_strength": None}), shop) is None
