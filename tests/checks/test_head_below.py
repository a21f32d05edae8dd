from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._screws import hole_of
from firstoff.checks.base import Case
from firstoff.checks.head_below import CHECK, any_out, sink_of
from firstoff.job.models import ScrewJoint
from firstoff.part.shapes import Feature
from tests.checks.builders import block, case, chance, found, operation, rises, setting


def sunk(diameter: float, machine: str = "mill", below: str = "+0.4 mm / 0.2 mm") -> Case:
    hole = Feature("hole-1", "hole", (6,), through=True, size={
        "diameter": 4.5, "depth": 5.0, "countersink_diameter": diameter, "countersink_angle": 90.0})
    joint = ScrewJoint.model_validate({"screw": "M4 x 12", "head": "countersunk", "through": "block.hole-1",
                                       "into": "block.hole-1", "below": below})
    ops = {"sink": operation(features=["hole-1"], role="countersink")}
    return case("joint", "lid", part=block(hole), joint=joint, ops=ops, settings={"first": setting(machine=machine)})


def test_narrow_countersink_stands_proud_bad_on_purpose() -> None:
    finding = found(CHECK, sunk(8.6))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert finding.unit == "um" and "below the surface" in finding.because


def test_a_trial_takes_out_the_box_of_screws_and_the_drawing() -> None:
    tried = chance(CHECK, sunk(9.56, machine="press"))
    assert tried < chance(CHECK, sunk(9.56)) and tried == chance(CHECK, sunk(9.8, machine="press"))
    assert "tried in the first hole" in found(CHECK, sunk(9.56, machine="press")).because


def test_wide_limit_on_a_mill_just_good() -> None:
    assert chance(CHECK, sunk(9.56, below="+0.6 mm / 0.05 mm")) <= 0.01


def test_chance_rises_away_from_the_middle() -> None:
    rises(CHECK, [sunk(9.56), sunk(9.7), sunk(9.9), sunk(10.4)])


def test_the_sink_is_half_of_what_the_cone_is_wider() -> None:
    this = sunk(9.6)
    assert sink_of(hole_of(this, "block.hole-1"), "M4") == pytest.approx((9.6 - 8.96) / 2.0)


def test_a_plain_hole_cannot_be_told() -> None:
    plain = Feature("hole-1", "hole", (6,), through=True, size={"diameter": 4.5, "depth": 5.0})
    joint = ScrewJoint.model_validate({"screw": "M4 x 12", "head": "countersunk", "through": "block.hole-1",
                                       "into": "block.hole-1", "below": "+0.4 mm / 0.2 mm"})
    assert found(CHECK, case("joint", "lid", part=block(plain), joint=joint)).p_rows is None


def test_what_the_holes_share_is_not_counted_for_each() -> None:
    mean, limits = np.full(3, 0.3), (0.2, 0.4)
    alone = [any_out(mean, np.full(3, sd), own, limits, 1)[0] for sd, own in ((0.1, 1e-6), (0.0, 0.1))]
    four = [any_out(mean, np.full(3, sd), own, limits, 4)[0] for sd, own in ((0.1, 1e-6), (0.0, 0.1))]
    assert alone[0] == pytest.approx(alone[1], abs=0.02)
    assert four[0] == pytest.approx(alone[0])
    assert four[1] == pytest.approx(1.0 - (1.0 - alone[1]) ** 4)
