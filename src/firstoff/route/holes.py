"""How a hole is made: spot, drill, then ream or tap, countersink; what tool each stage needs."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from ..dryrun.seen import point_length
from ..job.route import Role
from ..part.shapes import Feature
from ..shop.models import ToolKind
from .tools import MILLS, Need

#: coarse pitch by thread diameter [mm], ISO 261; the tap drill is diameter - pitch, ISO 2306
COARSE: Final = {"M1.6": 0.35, "M2": 0.4, "M2.5": 0.45, "M3": 0.5, "M4": 0.7, "M5": 0.8, "M6": 1.0, "M8": 1.25,
                 "M10": 1.5, "M12": 1.75, "M16": 2.0}
REAM_LEAVES: Final = 0.2               #: [mm] on the diameter; a drill between half and one and a half of it does
TAP_RUNOUT: Final = 2.0                #: pitches of a blind hole below the thread: the lead of a plug tap
SPOT: Final[tuple[ToolKind, ...]] = ("spot_drill", "chamfer")


@dataclass(frozen=True)
class Wish:
    """What the job says of a hole: its thread with the depth wanted, or that it is reamed."""

    thread: str = ""
    thread_depth: float = 0.0
    ream: str = ""


@dataclass(frozen=True)
class Stage:
    """One stage of a hole [mm]."""

    key: str
    role: Role
    need: Need
    depth: float
    leaves: float
    lacking: str
    width: float = 0.0
    notes: tuple[str, ...] = ()
    pitch: float = 0.0


@dataclass(frozen=True)
class Plan:
    """The stages of a hole, in order."""

    stages: tuple[Stage, ...]


def wish_of(thread: str, ream: str) -> Wish:
    """Read "M4 x 9 deep", "M5" and "H7"."""
    found = re.match(r"^\s*(M\d+(?:\.\d+)?)\s*(?:[x×]\s*(\d+(?:\.\d+)?))?", thread)
    if not found:
        return Wish(ream=ream)
    return Wish(found[1], float(found[2] or 0.0), ream)


def plan_hole(
    feature: Feature, wish: Wish, reach: float, more: float = 0.0, ream_leaves: float = REAM_LEAVES,
) -> Plan:
    """The stages for a hole.

    `reach` is from the top of the part to its bottom, `more` is what is still below a through hole, `ream_leaves` is
    what the drill before a reamer leaves on the diameter [mm].
    """
    size = feature.size
    depth, diameter = size.get("depth", 0.0), size.get("diameter", 0.0)
    below = point_length(diameter, None) + more if feature.through else 0.0
    goes = depth + below
    stages = [_spot(depth)]
    if wish.ream:
        stages += _reamed(diameter, goes, reach + below, wish, ream_leaves)
    elif wish.thread:
        stages += _tapped(feature, wish, goes, reach + below)
    else:
        stages.append(_drill(diameter, goes, reach + below, 0.0))
    stages += _wider(size, reach - depth)
    return Plan(tuple(sorted(stages, key=lambda s: ORDER[s.role])))


ORDER: Final[dict[str, int]] = {"spot": 0, "drill": 1, "pocket_rough": 2, "countersink": 3, "ream": 4, "tap": 5}


def _spot(depth: float) -> Stage:
    need = Need(SPOT, centre=True, tip=0.3, angle=math.radians(90.0))
    return Stage("spot", "spot", need, 1.0, depth, "no spot drill: one keeps the drill from wandering")


def _drill(diameter: float, goes: float, reach: float, leaves: float, notes: tuple[str, ...] = (),
           within: float = 0.011) -> Stage:
    kinds: tuple[ToolKind, ...] = ("drill",)
    need = Need(kinds, diameter=diameter, within=within, cuts=goes, reach=reach)
    lacking = f"no {diameter:g} mm drill that reaches {goes:.1f} mm: one would do"
    return Stage("drill", "drill", need, goes, leaves, lacking, diameter / 2.0, notes)


def _reamed(diameter: float, goes: float, reach: float, wish: Wish, leaves: float) -> list[Stage]:
    """A drill a little under, then the reamer."""
    under = round(diameter - leaves, 3)
    kinds: tuple[ToolKind, ...] = ("reamer",)
    need = Need(kinds, diameter=diameter, cuts=goes, reach=reach)
    return [
        _drill(under, goes, reach, leaves / 2.0, (f"{leaves:g} mm left for the reamer",), REAM_LEAVES / 2.0),
        Stage("ream", "ream", need, goes, 0.0, f"no {diameter:g} mm reamer: one would do", leaves / 2.0,
              (f"{diameter:g} {wish.ream}; never turn a reamer backwards",)),
    ]


def _tapped(feature: Feature, wish: Wish, goes: float, reach: float) -> list[Stage]:
    """The tap drill of ISO 2306, then the tap by hand, guided by the spindle or a square block."""
    if wish.thread not in COARSE:
        return [Stage("tap", "tap", Need(("tap",), thread=wish.thread), 0.0, 0.0,
                      f"the pitch of {wish.thread} is not known here")]
    pitch = COARSE[wish.thread]
    drill = round(float(wish.thread[1:]) - pitch, 2)
    deep = wish.thread_depth or feature.size.get("depth", goes)
    notes = ["by hand, started square: guided by a centre in the spindle"]
    if not feature.through and feature.size.get("depth", 0.0) < deep + TAP_RUNOUT * pitch:
        notes.append("little room below the thread: finish with the bottoming tap")
    need = Need(("tap",), thread=wish.thread, reach=0.0)
    return [
        _drill(drill, goes, reach, pitch / 2.0, (f"tap drill for {wish.thread}",)),
        Stage("tap", "tap", need, deep, 0.0, f"no {wish.thread} tap: one would do", pitch / 2.0, tuple(notes), pitch),
    ]


def _wider(size: dict[str, float], above: float) -> list[Stage]:
    """Countersink and counterbore, as far as the hole has them."""
    out = []
    wide = size.get("countersink_diameter")
    if wide:
        angle = math.radians(size.get("countersink_angle", 90.0))
        deep = (wide - size["diameter"]) / 2.0 / math.tan(angle / 2.0)
        kinds: tuple[ToolKind, ...] = ("countersink",)
        out.append(Stage("countersink", "countersink", Need(kinds, narrowest=wide, angle=angle), deep, 0.0,
                         f"no countersink of {math.degrees(angle):.0f}° and {wide:.1f} mm: one would do", wide / 2.0,
                         (f"to Ø{wide:.1f} mm; try the head of a screw in it",)))
    bore = size.get("counterbore_diameter")
    if bore:
        deep = size.get("counterbore_depth", 0.0)
        need = Need(MILLS, widest=bore, cuts=deep, reach=above + deep, centre=True, square=True)
        out.append(Stage("counterbore", "pocket_rough", need, deep, 0.0,
                         f"no end mill of at most {bore:g} mm: one would do", bore / 2.0))
    return out
