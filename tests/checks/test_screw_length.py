from __future__ import annotations

from typing import Any

import pytest

from firstoff.checks._screws import LENGTHS, hole_of, projection, screw_of
from firstoff.checks.base import Case
from firstoff.checks.screw_length import CHECK
from firstoff.errors import NameUnknown
from firstoff.job.models import ScrewJoint
from firstoff.part.shapes import Feature
from tests.checks.builders import block, case, chance, found, job, knobs_say, rises

PLATE = Feature("hole-1", "hole", (6,), through=True, size={"diameter": 4.5, "depth": 5.0})
BLIND = Feature("hole-2", "hole", (7,), size={"diameter": 3.3, "depth": 12.0})


def joined(screw: str, thread: str = "M4 x 9 deep", **changed: Any) -> Case:
    joint = ScrewJoint.model_validate(
        {"screw": screw, "through": "block.hole-1", "into": "block.hole-2", **changed})
    return case("joint", "lid", of_job=job(threads={"hole-2": thread} if thread else {}), part=block(PLATE, BLIND),
                joint=joint)


def test_too_long_screw_bad_on_purpose() -> None:
    finding = found(CHECK, joined("M4 x 16"))
    assert finding.p_fail is not None and finding.p_fail > 0.99
    assert "bottoms 2 mm too early" in finding.because and finding.unit == "mm"


def test_too_short_screw_strips_bad_on_purpose() -> None:
    finding = found(CHECK, joined("M4 x 6"))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "strips" in finding.because and finding.unit == "N"


def test_right_screw_just_good() -> None:
    assert chance(CHECK, joined("M4 x 12", grade="4.8", torque="1 N m")) <= 0.01


def test_longer_bottoms_sooner() -> None:
    rises(CHECK, [joined(f"M4 x {length:g}", grade="4.8") for length in (12.0, 13.5, 14.0, 14.5, 16.0)])


def test_harder_tightened_strips_sooner() -> None:
    rises(CHECK, [joined("M4 x 8", torque=f"{torque} N m") for torque in (0.3, 1.0, 3.0)])


def test_a_through_thread_cannot_bottom() -> None:
    through = BLIND.__class__("hole-2", "hole", (7,), through=True, size={"diameter": 3.3, "depth": 9.0})
    joint = ScrewJoint(screw="M4 x 25", through="block.hole-1", into="block.hole-2", grade="4.8")
    this = case("joint", "lid", of_job=job(threads={"hole-2": "M4"}), part=block(PLATE, through), joint=joint)
    assert chance(CHECK, this) <= 0.01


def test_a_countersunk_head_reaches_deeper() -> None:
    flat = joined("M4 x 12", head="countersunk", below="+0.4 mm / 0.2 mm")
    assert isinstance(flat.joint, ScrewJoint)
    assert projection(flat.joint, hole_of(flat, "block.hole-1"), 12.0) == pytest.approx(7.3)


def test_no_thread_cannot_be_told() -> None:
    finding = found(CHECK, joined("M4 x 12", thread=""))
    assert finding.p_rows is None and "M4 x 9 deep" in finding.settle_by


def test_what_to_turn_is_the_next_length() -> None:
    said = knobs_say(CHECK, joined("M4 x 16"))["screw"]
    assert said[0] == "M4 x 14, not M4 x 16" and len(said) == len(LENGTHS) - 1


def test_a_screw_that_is_none() -> None:
    with pytest.raises(NameUnknown, match="M4 x 16"):
        screw_of("4 by 16")
