"""A wedge presses less than it should, slides out by itself, or its screw ends before it is tight."""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief
from ..holding.wedge import wedge_rise
from ..job.models import WedgeJoint
from ..units import tell
from ._chance import figure
from ._clamped import Wide
from ._joints import GREASE, HARDER, hand_turn, how, told
from ._press import draws_wedge, slides_out
from ._screws import size_of
from ._threads import thread_named
from .base import Case, Check, Finding, Spread

NAME: Final = "wedge"


def _evaluate(case: Case, belief: Belief) -> Finding:
    joint, units = case.joint, case.job.units
    assert isinstance(joint, WedgeJoint)
    turn = hand_turn(joint)
    out = draws_wedge(thread_named(size_of(joint.screw)), joint.angle, turn, joint.lubricated).out
    p_less = Wide(joint.wanted_force, 0.0).above(out) if joint.wanted_force else 0.0
    p_slides = slides_out(joint.angle, joint.lubricated)
    rise = float(wedge_rise(joint.way, joint.angle)) if joint.way is not None else None
    if rise is not None and joint.gap is not None and rise <= joint.gap:
        because = (f"{tell(joint.way or 0.0, 'length', units)} of way lift {tell(rise, 'length', units, 2)}, and "
                   f"{tell(joint.gap, 'length', units)} are to be closed: it feels tight and clamps nothing")
        return Finding(NAME, "joint", case.name, "finish", np.ones(belief.rows), Spread.of(joint.gap),
                       Spread.of(rise), "mm", because)
    p = 1.0 - (1.0 - p_less) * (1.0 - p_slides)
    wanted = f", wanted {tell(joint.wanted_force, 'force', units)}" if joint.wanted_force else ""
    stays = "stays" if p_slides < 0.5 else "slides out"
    because = (f"{how(joint, units)} it presses with about {figure(out.middle)} N, and with {figure(out.low)} N or "
               f"more 19 times in 20{wanted}; with the screw slack it {stays}")
    return Finding(NAME, "joint", case.name, "finish", np.full(belief.rows, p), Spread.of(joint.wanted_force or 0.0),
                   told(out), "N", because, "pull with a luggage scale on what it clamps")


CHECK = Check(NAME, "wedge does not hold", "finish", "joint", lambda case: isinstance(case.joint, WedgeJoint),
              _evaluate, knobs=(HARDER, GREASE))
