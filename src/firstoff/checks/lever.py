"""A bar that a screw presses on yields as a beam: the screw's force on its arms against the bar's strength."""

from __future__ import annotations

import math

import numpy as np

from ..belief import Belief, Rows
from ..holding.bending import bending_stress, moment_between_supports
from ..job.faces import dot, locate
from ..job.models import LeverJoint
from ..medians import median
from ..normal import normal_quantile
from ..units import tell
from ._chance import figure, lasting, middle, spread, weighed
from ._clamped import Wide
from ._joints import AT_MOST, GENTLER, hand_turn, how
from ._press import point_pushes
from ._screws import size_of
from ._threads import thread_named
from .base import Case, Check, Finding, cannot
from .si import metres, mpa

NAME = "lever"


def screw_force(joint: LeverJoint) -> Wide:
    """Force of the screw's point on the bar, tightened as people do [N]."""
    return point_pushes(thread_named(size_of(joint.screw)), hand_turn(joint), joint.lubricated)


def thickness(case: Case, joint: LeverJoint) -> float:
    """Distance of the two faces of the bar [mm]."""
    one, two = (locate(name, case.job, case.parts, joint.part) for name in joint.thickness)
    first, second = (case.parts[p.part].faces[p.faces[0]] for p in (one, two))
    if second.kind == "plane" and first.kind != "plane":
        first, second = second, first
    apart = tuple(b - a for a, b in zip(first.centroid, second.centroid, strict=True))
    if second.kind == "plane":
        return abs(dot(first.normal, (apart[0], apart[1], apart[2])))
    corners = [dot(first.normal, corner) for corner in (second.low, second.high)]
    return max(abs(corner - dot(first.normal, first.centroid)) for corner in corners)


def tip_force(joint: LeverJoint, force: float) -> float:
    """What the bar presses with at its end [N]: the fulcrum lies between the screw and that end."""
    return force * joint.arms[0] / joint.arms[1]


def _stress(joint: LeverJoint, force: float, thick: float) -> Rows:
    """Stress over the fulcrum [Pa], where the bar is held down with both forces and has its hole."""
    held = force + tip_force(joint, force)
    moment = moment_between_supports(held, metres(joint.arms[0]), metres(joint.arms[1]))
    return bending_stress(moment, metres(joint.width - joint.hole), metres(thick))


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint = case.joint
    assert isinstance(joint, LeverJoint)
    if joint.width <= joint.hole:
        return cannot(NAME, case, "part", "the hole is as wide as the bar")
    thick, screw = thickness(case, joint), screw_force(joint)
    force = screw.middle
    stress = mpa(_stress(joint, force, thick)) * np.ones(belief.rows)
    entity = f"material:{case.job.parts[joint.part].material}"
    bears, own = lasting(belief, entity, "yield_strength")
    scatter = spread(own, screw.sd)
    ratio = np.log(stress / mpa(bears))
    need = thick * math.exp(0.5 * (median(ratio) + _margin(spread(scatter, float(ratio.std())), case)))
    wanted = f", wanted {tell(joint.wanted_force, 'force')}" if joint.wanted_force else ""
    units = case.job.units
    because = (f"{how(joint, units)} the screw presses with about {figure(force)} N; {tell(thick, 'length', units)} "
               f"thick the bar is bent to about {middle(stress)} N/mm2 and yields at about {middle(mpa(bears))}; "
               f"it would have to be about {tell(_up(need), 'length', units)} thick. At its end it presses with "
               f"about {figure(tip_force(joint, force))} N{wanted}")
    return weighed(NAME, case, "part", stress, mpa(bears), scatter, unit="N/mm2", because=because,
                   settle_by="tighten it on a scrap of the same thickness, and lay a straight edge on it after")


def _margin(scatter: float, case: Case) -> float:
    """How far the logarithm of stress over strength must lie below 0 for a chance that this shop calls close."""
    return -scatter * float(normal_quantile(case.shop.close))


def _up(length: float) -> float:
    """Rounded up to half a millimetre."""
    return math.ceil(2.0 * length) / 2.0


CHECK = Check(NAME, "bar yields under its screw", "part", "joint",
              lambda case: isinstance(case.joint, LeverJoint), _evaluate, knobs=(GENTLER, AT_MOST))
