"""A plate that screws hold on a block, for the checks of joints."""

from __future__ import annotations

from typing import Any

from firstoff.checks.base import Case
from firstoff.job.models import LeverJoint, ScrewJoint, WedgeJoint
from firstoff.part.shapes import Feature
from tests.checks.builders import block, case, job


def screwed(screw: str = "M4 x 12", thick: float = 5.0, thread: str = "M4 x 9 deep", **changed: Any) -> Case:
    """Screws through a plate of the block's own steel into the block."""
    plate = Feature("hole-1", "hole", (6,), through=True, size={"diameter": 4.5, "depth": thick})
    blind = Feature("hole-2", "hole", (7,), size={"diameter": 3.3, "depth": 12.0})
    joint = ScrewJoint.model_validate(
        {"screw": screw, "through": "block.hole-1", "into": "block.hole-2", "torque": "2 N m", **changed})
    return case("joint", "lid", of_job=job(threads={"hole-2": thread} if thread else {}), part=block(plate, blind),
                joint=joint)


def wedged(**changed: Any) -> Case:
    """A wedge of 7 degrees, drawn in by an M6 with a key."""
    joint = WedgeJoint.model_validate({"kind": "wedge", "part": "block", "screw": "M6", "angle": "7 deg", **changed})
    return case("joint", "clamp", joint=joint)


def levered(**changed: Any) -> Case:
    """A bar over its fulcrum, pressed by an M5 between fingers."""
    joint = LeverJoint.model_validate({
        "kind": "lever", "part": "block", "screw": "M5", "thickness": ["+Z", "-Z"], "arms": ["14 mm", "26 mm"],
        "width": "25 mm", "hole": "5.5 mm", **changed})
    return case("joint", "cap", joint=joint)
