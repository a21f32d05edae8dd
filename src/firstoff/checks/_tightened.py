"""How hard a jaw, clamp or screw presses, from what a person does: words, a handle, a mallet, a torque wrench."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from ..belief import Belief, Rows
from ..holding.screw import finger_torque, handle_torque, jaw_force
from ..job.tightened import tightening
from ..shop.models import Device
from ._chance import known
from ._hands import GRIP, PINCH, SPREAD
from .base import Case
from .si import metres, value

#: Pull of a hand on a handle [N]: as hard as a man pulls at arm's length without his weight; judged, as `hand`.
PULL: Final = 200.0
#: What a few blows of a mallet on the handle give over an arm; judged, × and ÷ 2 with the hand.
MALLET: Final = 2.0
MALLET_SD: Final = math.log(2.0)
HAND_SD: Final = math.log(1.5)    #: of the library's `hand`: the spreads of other ways are told as shares of it
KNOB: Final = 30.0            #: diameter at which fingers hold a screw's head or handle [mm]; judged


class Turning(NamedTuple):
    """Torque on a screw [N m], and the share of `hand`'s spread that it has."""

    torque: float
    spread: float


def squeeze(case: Case, belief: Belief) -> Rows | None:
    """Force of each jaw, clamp or screw by row [N]; None where nothing is known of how it is tightened."""
    holding = case.setting.holding
    entity, word = f"device:{holding.device}", f"squeeze:{holding.tightness}"
    if belief.has(entity, word):
        return value(belief, entity, word)
    device = case.shop.devices[holding.device]
    turned = turning(holding.tightness)
    if turned is None or device.lead is None or not belief.has(entity, "efficiency"):
        return None
    hand = known(belief, entity, "hand", 1.0) ** turned.spread
    return jaw_force(turned.torque * hand, metres(device.lead), value(belief, entity, "efficiency"))


def book_force(device: Device, tightness: str) -> float | None:
    """Force of each jaw, clamp or screw by book figures [N]; None where nothing is known of it."""
    if tightness in device.squeeze:
        return device.squeeze[tightness].value
    turned = turning(tightness)
    if turned is None or device.lead is None or device.efficiency is None:
        return None
    return float(jaw_force(turned.torque, metres(device.lead), device.efficiency.value))


def turning(text: str) -> Turning | None:
    """The torque that words mean: "fingers", "arm on a 150 mm handle", "mallet on …", "torque wrench at 20 N m".

    Args:
        text: as the route has it.

    Returns:
        None where they mean none.
    """
    found = tightening(text)
    if found is None:
        return None
    if found.by == "fingers":
        return Turning(float(finger_torque(PINCH, metres(KNOB), GRIP)), SPREAD["fingers"] / HAND_SD)
    if found.by == "wrench":
        return Turning(found.size, SPREAD["wrench"] / HAND_SD)
    arm = float(handle_torque(PULL, metres(found.size)))
    return Turning(arm * MALLET, MALLET_SD / HAND_SD) if found.by == "mallet" else Turning(arm, 1.0)
