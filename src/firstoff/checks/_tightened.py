"""How hard a jaw, clamp or screw presses, from what a person does: words, a handle, a mallet, a torque wrench."""

from __future__ import annotations

import math
import re
from typing import Final, NamedTuple

from ..belief import Belief, Rows
from ..errors import UnitError
from ..holding.screw import finger_torque, handle_torque, jaw_force
from ..units import parse
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
_BY_HANDLE: Final = re.compile(r"^(arm|mallet) on an? (.+?) (?:handle|key|spanner)$")
_BY_WRENCH: Final = re.compile(r"^torque wrench (?:at |set to )?(.+)$")


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


def turning(text: str) -> Turning | None:
    """The torque that words mean: "fingers", "arm on a 150 mm handle", "mallet on …", "torque wrench at 20 N m".

    Args:
        text: as the route has it.

    Returns:
        None where they mean none.
    """
    said = text.strip()
    if said == "fingers":
        return Turning(float(finger_torque(PINCH, metres(KNOB), GRIP)), SPREAD["fingers"] / HAND_SD)
    try:
        if found := _BY_HANDLE.match(said):
            arm = float(handle_torque(PULL, metres(parse(found[2], "length"))))
            return Turning(arm * MALLET, MALLET_SD / HAND_SD) if found[1] == "mallet" else Turning(arm, 1.0)
        if found := _BY_WRENCH.match(said):
            return Turning(parse(found[1], "torque"), SPREAD["wrench"] / HAND_SD)
    except UnitError:
        return None
    return None


