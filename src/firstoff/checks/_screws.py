"""What a screw joint is made of: the screw's text, the hole it goes through, the hole it goes into."""

from __future__ import annotations

import re
from typing import Final, NamedTuple

from ..cutting.thread import COARSE, Coarse
from ..errors import NameUnknown
from ..job.faces import feature_named
from ..job.models import ScrewJoint
from ..part.shapes import Feature
from .base import Case

_SCREW: Final = re.compile(r"^\s*(M\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*$")
_THREAD: Final = re.compile(r"^\s*(M\d+(?:\.\d+)?)(?:\s*[x×]\s*(\d+(?:\.\d+)?)(?:\s*mm)?(?:\s*deep)?)?\s*$")

#: Lengths that screws are sold in [mm] (iso10642 and its like).
LENGTHS: Final = (6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0)

#: Yield and tensile strength by property class [N/mm2]: iso898; A2-70 and brass by their usual minimum.
GRADES: Final[dict[str, tuple[float, float]]] = {
    "4.8": (340.0, 420.0), "8.8": (640.0, 800.0), "10.9": (940.0, 1040.0), "12.9": (1100.0, 1220.0),
    "A2-70": (450.0, 700.0), "brass": (200.0, 370.0),
}


class Hole(NamedTuple):
    """A hole of a part."""

    part: str
    name: str                    # as the joint names it, without the part
    feature: Feature


class Screw(NamedTuple):
    """A screw: "M4 x 16"."""

    size: str
    length: float                # [mm]
    thread: Coarse


def screw_of(text: str) -> Screw:
    """Read "M4 x 16".

    Raises:
        NameUnknown: if it is not a coarse metric screw that is known.
    """
    found = _SCREW.match(text)
    if not found or found[1] not in COARSE:
        raise NameUnknown(f"{text!r} is not a screw that is known",
                          right=f"write it like M4 x 16; {', '.join(COARSE)}")
    return Screw(found[1], float(found[2]), COARSE[found[1]])


def size_of(text: str) -> str:
    """The thread of a screw's text, with or without a length: "M5", "M5 x 12".

    Raises:
        NameUnknown: if it is not a coarse metric thread that is known.
    """
    size = text.replace("×", "x").partition("x")[0].strip()
    if size not in COARSE:
        raise NameUnknown(f"{text!r} is not a screw that is known", right=f"one of {', '.join(COARSE)}")
    return size


def hole_of(case: Case, name: str) -> Hole:
    """The hole that "sole.hole-1" means."""
    part, _, rest = name.partition(".")
    if part not in case.parts:
        raise NameUnknown(f"{name!r} does not say of which part", right=f"parts: {', '.join(sorted(case.parts))}")
    return Hole(part, rest, feature_named(rest, case.parts[part], case.job.parts[part].names))


def thread_depth(case: Case, hole: Hole) -> float | None:
    """Depth of full thread in a hole [mm]: as the job writes it, else None."""
    wanted, part = case.job.parts[hole.part], case.parts[hole.part]
    text = next((text for name, text in wanted.threads.items()
                 if feature_named(name, part, wanted.names).id == hole.feature.id), "")
    found = _THREAD.match(text)
    if not found:
        return None
    return float(found[2]) if found[2] else hole.feature.size.get("depth")


def sits(joint: ScrewJoint, through: Hole) -> float:
    """How far the place from which the screw's length counts lies below the surface of the part [mm].

    A countersunk screw is measured over its head, any other one from under it.
    """
    size = through.feature.size
    if joint.head == "countersunk":
        return sum(joint.below) / 2.0 if joint.below else 0.0
    return size.get("counterbore_depth", 0.0)


def projection(joint: ScrewJoint, through: Hole, length: float) -> float:
    """How far the screw's end reaches into the part that holds it [mm]."""
    return length + sits(joint, through) - through.feature.size["depth"]
