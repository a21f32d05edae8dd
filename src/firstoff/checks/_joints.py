"""The joints of a job: what lies between head and thread, how tight it gets, what a person can turn."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief
from ..cutting.thread import metric_profile
from ..job.models import LeverJoint, ScrewJoint, WedgeJoint
from ..medians import median
from ..normal import normal_cdf
from ..units import tell
from ._chance import spread
from ._clamped import Clamp, Metal, Wide, arm_of, head_arm, plain
from ._hands import SPREAD, By, Turned, turned
from ._screws import Hole, hole_of, projection, screw_of, sits, size_of, thread_depth
from ._threads import thread_named
from .base import Case, Knob, Spread
from .si import value

#: One standard deviation of where a screw's end and a thread's end really are [mm]: length of screws
#: within about 0.35 (iso10642), depth of a hand-tapped thread by counting turns; judged.
DEPTH_SD: Final = 0.25
#: How much tighter or looser a torque is tried, the mildest first.
MORE: Final = (1.15, 1.3, 1.5, 1.75, 2.0, 2.5, 3.0)
LESS: Final = (0.9, 0.8, 0.7, 0.6, 0.5)
FAR_LESS: Final = (*LESS, 0.4, 0.3)

#: Other hands, the nearest first.
STRONGER: Final[dict[By, tuple[By, ...]]] = {"fingers": ("thumbscrew", "key"), "thumbscrew": ("key",)}
WEAKER: Final[dict[By, tuple[By, ...]]] = {"key": ("thumbscrew", "fingers"), "thumbscrew": ("fingers",)}


def screw_joint(case: Case) -> ScrewJoint | None:
    """The joint of the case, if it is screws that clamp."""
    return case.joint if isinstance(case.joint, ScrewJoint) else None


def clamp_of(case: Case, belief: Belief, joint: ScrewJoint) -> Clamp | str:
    """The joint as a clamp, or why it cannot be told."""
    through, into = hole_of(case, joint.through), hole_of(case, joint.into)
    usable, screw, thread = thread_depth(case, into), screw_of(joint.screw), thread_named(screw_of(joint.screw).size)
    if usable is None:
        return f"no thread is written for {joint.into}"
    plate, held = metal_of(case, belief, through), metal_of(case, belief, into)
    if plate is None or held is None:
        return "strength or stiffness of a part's material is not known"
    thick = through.feature.size["depth"] - sits(joint, through)
    full = min(projection(joint, through, screw.length), usable) - thread.pitch      # the first turn is not full
    if thick <= 0.0 or full <= 0.0:
        return f"{joint.screw} holds by less than a turn of thread"
    clamp = Clamp(thread, joint.grade, joint.head, thick, full, through.feature.size["diameter"],
                  into.feature.size["diameter"], plate, held, joint.lubricated)
    return clamp.sunk()


def metal_of(case: Case, belief: Belief, hole: Hole) -> Metal | None:
    """What the joint asks of the material of a part; None where it is not known."""
    name = case.job.parts[hole.part].material
    entity = f"material:{name}"
    if not (belief.has(entity, "tensile_strength") and belief.has(entity, "young")):
        return None
    logs = np.log(value(belief, entity, "tensile_strength"))
    material = case.shop.materials[name]
    return Metal(plain(material.name), Wide(math.exp(median(logs)), float(logs.std())),
                 median(value(belief, entity, "young")), material.group)


def pull_of_screw(joint: ScrewJoint, hole: float) -> Wide:
    """Pull right after tightening [N], by its torque, else by hand; where nobody says by a key.

    Args:
        joint: of the job.
        hole: that the screw goes through [mm].
    """
    thread = thread_named(screw_of(joint.screw).size)
    by = turned(joint.torque_by or "key", thread)
    torque, sd = by if joint.torque is None else (joint.torque, SPREAD["wrench"])
    arm = arm_of(metric_profile(thread.sizes.nominal, thread.sizes.pitch), head_arm(joint.head, thread, hole),
                 joint.lubricated)
    return Wide(torque / arm.middle, spread(sd, arm.sd))


def pull_of(joint: ScrewJoint, clamp: Clamp) -> Wide:
    """The same, of a joint that is known as a clamp."""
    return pull_of_screw(joint, clamp.hole)


def hand_turn(joint: LeverJoint | WedgeJoint) -> Turned:
    """How the screw of a lever or wedge is tightened: by its torque, else by hand."""
    if joint.torque is not None:
        return Turned(joint.torque, SPREAD["wrench"])
    return turned(joint.torque_by, thread_named(size_of(joint.screw)))


def how(joint: LeverJoint | WedgeJoint, units: str) -> str:
    """The same in words."""
    return f"by {joint.torque_by}" if joint.torque is None else f"tightened to {tell(joint.torque, 'torque', units)}"


def p_bottoms(case: Case, joint: ScrewJoint) -> float:
    """Chance that the screw bottoms in its hole before its head clamps [1]."""
    through, into = hole_of(case, joint.through), hole_of(case, joint.into)
    usable = thread_depth(case, into)
    if into.feature.through or usable is None:
        return 0.0
    return float(normal_cdf((projection(joint, through, screw_of(joint.screw).length) - usable) / DEPTH_SD))


def told(wide: Wide) -> Spread:
    """For a finding."""
    return Spread(wide.low, wide.middle, wide.high)


def _tighter(case: Case) -> list[object]:
    joint = screw_joint(case)
    if joint is None or joint.torque is None:
        return []
    return [f"{joint.torque * more:.2g} N m" for more in MORE]


def _looser(case: Case) -> list[object]:
    joint = screw_joint(case)
    return [f"{joint.torque * less:.2g} N m" for less in LESS] if joint is not None and joint.torque else []


def _say_torque(case: Case, torque: object) -> str:
    joint = screw_joint(case)
    return f"tighten to {torque}, not {joint.torque:.2g} N m" if joint and joint.torque else f"tighten to {torque}"


def _looser_than_by_hand(case: Case) -> list[object]:
    """Torques below what the hand gives, for a lever or wedge that a torque screwdriver may tighten instead."""
    joint = case.joint
    if not isinstance(joint, LeverJoint | WedgeJoint):
        return []
    now = hand_turn(joint).torque
    return [f"{now * less:.2g} N m" for less in FAR_LESS]


def _say_at_most(case: Case, torque: object) -> str:
    joint = case.joint
    now = how(joint, case.job.units) if isinstance(joint, LeverJoint | WedgeJoint) else "by hand"
    return f"tightened to {torque} by a torque screwdriver, not {now}"


def _greased(case: Case) -> list[object]:
    return ["true"] if case.joint is not None and not case.joint.lubricated else []


def _harder(case: Case) -> list[object]:
    joint = case.joint
    return list(STRONGER.get(joint.torque_by, ())) if isinstance(joint, LeverJoint | WedgeJoint) else []


def _gentler(case: Case) -> list[object]:
    joint = case.joint
    return list(WEAKER.get(joint.torque_by, ())) if isinstance(joint, LeverJoint | WedgeJoint) else []


def _by(case: Case, value: object) -> str:
    joint = case.joint
    return f"by {value}, not by {joint.torque_by}" if isinstance(joint, LeverJoint | WedgeJoint) else f"by {value}"


TIGHTER: Final = Knob("torque", _tighter, _say_torque)
LOOSER: Final = Knob("torque", _looser, lambda case, torque: f"tighten to {torque} at most")
GREASE: Final = Knob("lubricated", _greased, lambda case, value: "grease thread and head, for the same torque")
HARDER: Final = Knob("torque_by", _harder, _by)
GENTLER: Final = Knob("torque_by", _gentler, _by)
AT_MOST: Final = Knob("torque", _looser_than_by_hand, _say_at_most)
