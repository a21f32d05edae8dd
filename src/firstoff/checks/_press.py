"""What a wedge or a lever presses with when a screw is turned, by medians with a spread of their logarithm."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from ..cutting.thread import metric_profile
from ..holding.bending import bending_stress, moment_between_supports
from ..holding.wedge import wedge_gain, wedge_slip_out_use
from ._chance import spread
from ._clamped import FACES, FRICTION, Wide, arm_of
from ._hands import Turned, head_rubs
from ._threads import Thread
from .si import metres


class Drawn(NamedTuple):
    """A wedge that a screw draws in: force of the screw, and what the wedge presses with [N]."""

    screw: Wide
    out: Wide


def faces_of_wedge(lubricated: bool) -> Wide:
    """Friction of a wedge on what it touches: metal, machined, dry or greased [1]."""
    return Wide.between(*(FRICTION[True] if lubricated else FACES["P"]))


def point_pushes(thread: Thread, turn: Turned, lubricated: bool = False) -> Wide:
    """Force of a screw whose point turns on what it presses without rubbing much [N]."""
    return _force(thread, 0.0, turn, lubricated)


def draws_wedge(thread: Thread, angle: float, turn: Turned, lubricated: bool = False) -> Drawn:
    """A wedge drawn in by a screw whose head rubs.

    Args:
        thread: of the screw.
        angle: of the wedge [rad].
        turn: how tight.
        lubricated: whether all is greased.
    """
    screw = _force(thread, head_rubs(thread), turn, lubricated)
    mu = faces_of_wedge(lubricated)
    gain = _spread_over(lambda *each: float(wedge_gain(angle, *each)), mu, 3)
    return Drawn(screw, screw.times(gain.middle, gain.sd))


def slides_out(angle: float, lubricated: bool = False) -> float:
    """Chance that a wedge slides out by itself once nothing pushes it [1]."""
    use = _spread_over(lambda *each: float(wedge_slip_out_use(angle, *each)), faces_of_wedge(lubricated), 2)
    return use.above(Wide(1.0, 0.0))


def bar_bears(strength: Wide, arms: tuple[float, float], width: float, thick: float) -> Wide:
    """Force of the screw at which a lever yields over its fulcrum [N].

    Args:
        strength: yield strength [N/m2].
        arms: fulcrum to screw, fulcrum to where it presses [mm].
        width: that bears over the fulcrum, holes taken off [mm].
        thick: of the bar [mm].
    """
    held = 1.0 + arms[0] / arms[1]
    moment = moment_between_supports(held, metres(arms[0]), metres(arms[1]))
    return strength.times(1.0 / float(bending_stress(moment, metres(width), metres(thick))))


def _force(thread: Thread, rubs: float, turn: Turned, lubricated: bool) -> Wide:
    arm = arm_of(metric_profile(thread.sizes.nominal, thread.sizes.pitch), metres(rubs), lubricated)
    return Wide(turn.torque, turn.sd).times(1.0 / arm.middle, arm.sd)


def _spread_over(law: Callable[..., float], friction: Wide, number: int) -> Wide:
    """A law of several frictions of a kind, each for itself: its middle, and the spread that each brings."""
    middle = law(*([friction.middle] * number))
    high = friction.middle * math.exp(friction.sd)
    moved = [law(*(high if i == j else friction.middle for j in range(number))) for i in range(number)]
    return Wide(middle, spread(*(abs(math.log(each / middle)) for each in moved)))
