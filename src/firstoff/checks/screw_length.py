"""A screw that is too long bottoms in its hole and clamps nothing; one that is too short strips the thread."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.thread import metric_profile, stripping_load, thread_shear_areas
from ..holding.screw import preload_by_factor, preload_limit
from ..job.models import ScrewJoint
from ..normal import normal_cdf
from ..units import tell
from ._chance import OPERATION_SCATTER, figure, middle, over, spread
from ._screws import GRADES, LENGTHS, hole_of, projection, screw_of, thread_depth
from .base import Case, Check, Finding, Knob, Spread, cannot
from .si import metres, pascal, value

NAME = "screw length"

#: One standard deviation of where a screw's end and a thread's end really are [mm]: length of screws
#: within about 0.35 (iso10642), depth of a hand-tapped thread by counting turns; judged.
DEPTH_SD: Final = 0.25
#: Friction of a thread and the factor between torque, diameter and pull, with its spread as a factor; judged.
FRICTION: Final = 0.14
TORQUE_FACTOR: Final = 0.2
TORQUE_FACTOR_SPREAD: Final = 1.3
#: Shear over tensile strength of threads (vdi2230).
SHEAR: Final = 0.6


def _joint(case: Case) -> ScrewJoint | None:
    return case.joint if isinstance(case.joint, ScrewJoint) else None


def _pull(joint: ScrewJoint) -> float:
    """Pull that the screw is tightened to [N]: by the wanted torque, else as tight as it bears."""
    screw = screw_of(joint.screw)
    profile = metric_profile(screw.thread.nominal, screw.thread.pitch)
    if joint.torque is not None:
        return float(preload_by_factor(TORQUE_FACTOR, screw.thread.nominal, joint.torque))
    strength = pascal(GRADES[joint.grade][0])
    return float(preload_limit(strength, profile.pitch, profile.pitch_diameter, profile.root_diameter, FRICTION))


def _strips_at(case: Case, belief: Belief, joint: ScrewJoint, engaged: float) -> Rows:
    """Pull at which the threads strip, by row [N]."""
    thread, into = screw_of(joint.screw).thread, hole_of(case, joint.into)
    drilled = metres(into.feature.size["diameter"])
    full = max(metres(engaged) - thread.pitch, 0.0)       # the first turn of a screw is not full
    areas = thread_shear_areas(thread.pitch, full, thread.least_major, thread.least_pitch, thread.most_pitch,
                               max(thread.most_minor, drilled))
    nut = SHEAR * value(belief, f"material:{case.job.parts[into.part].material}", "tensile_strength")
    return stripping_load(areas, np.full(belief.rows, SHEAR * pascal(GRADES[joint.grade][1])), nut)


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint = _joint(case)
    assert joint is not None
    through, into = hole_of(case, joint.through), hole_of(case, joint.into)
    usable = thread_depth(case, into)
    if usable is None:
        return cannot(NAME, case, "part", f"no thread is written for {joint.into}",
                      f'write it under threads of {into.part}, like "M4 x 9 deep"')
    reach = projection(joint, through, screw_of(joint.screw).length)
    through_all = into.feature.through
    bottoms = 0.0 if through_all else float(normal_cdf((reach - usable) / DEPTH_SD))
    engaged = max(min(reach, usable), 0.0)
    pull, strips = np.full(belief.rows, _pull(joint)), _strips_at(case, belief, joint, engaged)
    scatter = spread(math.log(TORQUE_FACTOR_SPREAD), OPERATION_SCATTER["thread"])
    p_strips = over(pull, strips, scatter)
    p = 1.0 - (1.0 - bottoms) * (1.0 - p_strips)
    if bottoms >= float(p_strips.mean()):
        because = (f"{joint.screw} reaches {figure(reach)} mm into {joint.into}, where "
                   f"{tell(usable, 'length', case.job.units)} of thread are: {_by_how_much(reach, usable)}")
        return Finding(NAME, "joint", case.name, "part", p, Spread.of(reach), Spread.of(usable), "mm", because)
    because = (f"{joint.screw} holds by {figure(engaged)} mm of thread, which strips at about {middle(strips)} N; "
               f"tightened it pulls about {middle(pull)} N")
    return Finding(NAME, "joint", case.name, "part", p, Spread.of(pull), Spread.of(strips), "N", because,
                   "tighten one in a scrap of the same bar until it breaks or strips")


def _by_how_much(reach: float, usable: float) -> str:
    return f"it bottoms {figure(reach - usable)} mm too early" if reach > usable else (
        f"{figure(usable - reach)} mm are left")


def _other_lengths(case: Case) -> list[object]:
    joint = _joint(case)
    if joint is None:
        return []
    now = screw_of(joint.screw)
    others = sorted((length for length in LENGTHS if length != now.length), key=lambda item: abs(item - now.length))
    return [f"{now.size} x {length:g}" for length in others]


def _say(case: Case, value: object) -> str:
    joint = _joint(case)
    return f"{value}, not {joint.screw if joint else ''}"


SCREW = Knob("screw", _other_lengths, _say)
CHECK = Check(NAME, "screw bottoms or strips", "part", "joint", lambda case: _joint(case) is not None, _evaluate,
              knobs=(SCREW,))
