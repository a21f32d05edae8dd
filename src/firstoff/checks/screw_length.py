"""A screw that is too long bottoms in its hole and clamps nothing; one that is too short strips the thread."""

from __future__ import annotations

import numpy as np

from ..belief import Belief, Rows
from ..job.models import ScrewJoint
from ..units import tell
from ._chance import OPERATION_SCATTER, figure, middle, over, spread
from ._joints import p_bottoms, pull_of_screw, screw_joint
from ._screws import LENGTHS, hole_of, projection, screw_of, thread_depth
from ._threads import thread_named
from .base import Case, Check, Finding, Knob, Spread, cannot
from .si import value
from .stripping import strips_at

NAME = "screw length"


def _strips_at(case: Case, belief: Belief, joint: ScrewJoint, engaged: float) -> Rows:
    """Pull at which the threads strip, by row [N]."""
    into = hole_of(case, joint.into)
    nut = value(belief, f"material:{case.job.parts[into.part].material}", "tensile_strength")
    thread = thread_named(screw_of(joint.screw).size)
    full = max(engaged - thread.pitch, 0.0)                       # the first turn of a screw is not full
    return strips_at(thread, into.feature.size["diameter"], full, nut, joint.grade)


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint = screw_joint(case)
    assert joint is not None
    through, into = hole_of(case, joint.through), hole_of(case, joint.into)
    usable = thread_depth(case, into)
    if usable is None:
        return cannot(NAME, case, "part", f"no thread is written for {joint.into}",
                      f'write it under threads of {into.part}, like "M4 x 9 deep"')
    reach = projection(joint, through, screw_of(joint.screw).length)
    bottoms = p_bottoms(case, joint)
    engaged = max(min(reach, usable), 0.0)
    tight = pull_of_screw(joint, through.feature.size["diameter"])
    pull, strips = np.full(belief.rows, tight.middle), _strips_at(case, belief, joint, engaged)
    p_strips = over(pull, strips, spread(tight.sd, OPERATION_SCATTER["thread"]))
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
    joint = screw_joint(case)
    if joint is None:
        return []
    now = screw_of(joint.screw)
    others = sorted((length for length in LENGTHS if length != now.length), key=lambda item: abs(item - now.length))
    return [f"{now.size} x {length:g}" for length in others]


def _say(case: Case, value: object) -> str:
    joint = screw_joint(case)
    return f"{value}, not {joint.screw if joint else ''}"


SCREW = Knob("screw", _other_lengths, _say)
CHECK = Check(NAME, "screw bottoms or strips", "part", "joint", lambda case: screw_joint(case) is not None, _evaluate,
              knobs=(SCREW,))
