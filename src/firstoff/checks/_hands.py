"""How tight people make a screw, by what they turn it with."""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

from ..cutting.thread import metric_profile
from ..errors import InputError
from ..holding.screw import finger_torque, handle_torque, preload_limit, tightening_torque
from ._threads import Thread
from .si import metres, pascal

By = Literal["fingers", "thumbscrew", "key", "wrench"]

#: Pinch of thumb and finger [N] (pinch1985: 50 of women, 80 of men at the tips), knob over thread diameter and grip
#: of skin on a knurl; judged.
PINCH: Final = 60.0
KNOB: Final = 2.0
GRIP: Final = 0.6
#: What wings give over a knob; judged.
WINGS: Final = 1.5
#: A key is pulled until it feels right: this share of what a screw of class 8.8 bears; nobody feels the class.
#: At most a hand's pull at the long arm of a hexagon key [N]; judged.
FEEL: Final = 0.7
PULL: Final = 200.0
#: Long arm of a hexagon key over the thread's diameter, with the hand on its end (iso2936): 70 mm for M5.
ARM: Final = 13.0
FRICTION: Final = 0.14        #: at which tables of torques are made (vdi2230)
#: One standard deviation of the log of the torque. A practised hand by feel comes within 35 % (preloadscatter);
#: of all hands nine in ten are within × and ÷ 2. Fingers stop where it feels firm, which is more alike than their
#: strength (full pinches spread × and ÷ 1.35, pinch1985); with the friction of the thread, a spread of its own, the
#: force comes out within × and ÷ 1.4; judged. A wrench within 4 % at its best (iso6789), here with its reading and
#: its jerk.
SPREAD: Final[dict[By, float]] = {
    "fingers": math.log(1.25), "thumbscrew": math.log(1.25), "key": math.log(1.5), "wrench": 0.06,
}


class Turned(NamedTuple):
    """Torque on a screw [N m], and one standard deviation of its log."""

    torque: float
    sd: float


def turned(by: By, thread: Thread) -> Turned:
    """How tight a screw gets by hand.

    Raises:
        InputError: for a wrench, of which only the person knows how it is set.
    """
    nominal = thread.sizes.nominal
    if by == "wrench":
        raise InputError("a torque wrench is set to a torque", right='say which, like "1.5 N m"')
    if by == "key":
        return Turned(min(FEEL * full_torque(thread), float(handle_torque(PULL, ARM * nominal))), SPREAD[by])
    pinch = float(finger_torque(PINCH, KNOB * nominal, GRIP))
    return Turned(pinch * (WINGS if by == "thumbscrew" else 1.0), SPREAD[by])


def full_torque(thread: Thread) -> float:
    """Torque that tightens a screw of class 8.8 as far as tables have it [N m]."""
    profile = metric_profile(thread.sizes.nominal, thread.sizes.pitch)
    pull = preload_limit(pascal(640.0), profile.pitch, profile.pitch_diameter, profile.root_diameter, FRICTION)
    rubs = metres(head_rubs(thread))
    return float(tightening_torque(pull, profile.pitch, profile.pitch_diameter, rubs, FRICTION, FRICTION))


def head_rubs(thread: Thread) -> float:
    """Mean diameter at which a usual head rubs [mm]: some 1.3 diameters."""
    return 1.3 * thread.nominal
