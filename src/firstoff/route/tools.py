"""Which tool of the shop fits: its width into corners, its reach to the bottom, its speed on the machine."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from ..job.route import Role
from ..shop.models import Machine, Material, Shop, Tool, ToolKind
from .cuts import spindle_speed, wanted_speed

CLEAR: Final = 3.0          #: [mm] between the collet's nut and the work
OFF_FLUTES: Final = 2.0     #: [mm] a collet never grips the flutes
GRIPPED: Final = 2.0        #: shank diameters that stay in the collet
TOO_FAST: Final = 1.25      #: a spindle that cannot go slower than this of the wanted speed is the wrong one
TOO_SLOW: Final = 2.0       #: wanted speed / what the spindle can do, beyond which another tool is better
SHORTEST: Final = 8.0       #: [mm] a tool that stands out less lets the nut touch
MILLS: Final[tuple[ToolKind, ...]] = ("end_mill", "corner_radius", "face_mill")


@dataclass(frozen=True)
class Need:
    """What an operation needs of its tool; 0 where it does not matter [mm].

    Fields:
        widest: largest diameter that goes in [mm].
        diameter: the diameter that it must have [mm].
        within: how far from that it may be [mm].
        narrowest: smallest diameter that does [mm].
        tip: widest flat that its point may have [mm].
        cuts: depth that the flutes must cut [mm].
        reach: from the top of the work to the deepest point [mm].
        centre: whether it must plunge.
        square: whether its corners must be sharp.
        whole: whether the flutes must be as long as the wall is deep.
    """

    kinds: tuple[ToolKind, ...]
    widest: float = math.inf
    diameter: float = 0.0
    within: float = 0.011
    narrowest: float = 0.0
    tip: float = math.inf
    cuts: float = 0.0
    reach: float = 0.0
    centre: bool = False
    square: bool = False
    whole: bool = False
    thread: str = ""
    angle: float = 0.0


@dataclass(frozen=True)
class Held:
    """A tool in its collet."""

    name: str
    tool: Tool
    collet: str | None
    stickout: float
    note: str = ""


def stickout(tool: Tool, reach: float) -> float:
    """As short as it reaches, and never gripped on its flutes [mm]."""
    return float(math.ceil(max(reach + CLEAR, tool.flute_length + OFF_FLUTES, SHORTEST)))


def _reaches(tool: Tool, reach: float) -> bool:
    shank = tool.shank or tool.diameter
    return stickout(tool, reach) <= tool.overall_length - GRIPPED * shank


def collet_for(shop: Shop, machine: Machine, tool: Tool) -> str | None:
    """The collet of the machine that grips the shank with the least runout; None where none does.

    Where nobody wrote down what fits the machine: a chuck on a drill press.
    """
    shank = tool.shank or tool.diameter
    press = machine.like in shop.classes and shop.classes[machine.like].kind == "drill_press"
    chucks = tuple(name for name, collet in shop.collets.items() if collet.kind == "chuck") if press else ()
    names = machine.collets or chucks or tuple(shop.collets)
    able = [n for n in names if n in shop.collets and shop.collets[n].grips[0] <= shank <= shop.collets[n].grips[1]]
    return min(able, key=lambda n: (shop.collets[n].runout.value, n), default=None)


def too_fast(machine: Machine, tool: Tool, material: Material, role: Role) -> bool:
    """Whether the machine's slowest speed would burn this tool in this material."""
    if machine.spindle is None:
        return False
    return spindle_speed(machine, tool, material, role) > TOO_FAST * wanted_speed(tool, material, role)


def find(shop: Shop, machine: Machine, material: Material, role: Role, need: Need) -> Held | None:
    """The best tool of the shop for a need on a machine; None where none fits."""
    held = [_held(shop, machine, name, need) for name, tool in shop.tools.items() if _fits(tool, need)]
    able = [h for h in held if h is not None]
    return min(able, key=lambda h: _rank(h, machine, material, role, need), default=None)


def _fits(tool: Tool, need: Need) -> bool:
    if tool.kind not in need.kinds or tool.diameter > need.widest + 1e-6:
        return False
    if need.thread and tool.thread != need.thread:
        return False
    if need.diameter and abs(tool.diameter - need.diameter) > need.within:
        return False
    if tool.diameter < need.narrowest or tool.tip_diameter > need.tip:
        return False
    if need.angle and (tool.point_angle is None or abs(tool.point_angle - need.angle) > 0.02):
        return False
    if (need.centre and not tool.centre_cutting) or (need.square and tool.corner_radius > 0.0):
        return False
    if need.whole and tool.flute_length < need.cuts:
        return False
    return _reaches(tool, need.reach)


def _held(shop: Shop, machine: Machine, name: str, need: Need) -> Held | None:
    tool = shop.tools[name]
    collet = collet_for(shop, machine, tool)
    if collet is None and tool.kind not in ("file", "saw", "tap"):
        return None
    note = ""
    if need.cuts > tool.flute_length + 1e-6 and (tool.shank or tool.diameter) >= tool.diameter:
        note = (f"flutes {tool.flute_length:g} of {need.cuts:g} deep: in steps, the lower ones 0.05 mm off the wall "
                f"above, so that the shank runs clear; a cutter with a relieved neck is better")
    return Held(name, tool, collet, stickout(tool, need.reach), note)


def _rank(held: Held, machine: Machine, material: Material, role: Role, need: Need) -> tuple[float, ...]:
    """The tool for which the spindle is right, whose flutes reach, then the widest (stiffest), then by flutes."""
    tool = held.tool
    burns = float(too_fast(machine, tool, material, role))
    slow = wanted_speed(tool, material, role) / max(spindle_speed(machine, tool, material, role), 1e-9)
    flutes = 3 if material.group in ("P", "M", "K", "S", "H") or role.endswith("finish") else 2
    plain = 0.0 if tool.kind in ("end_mill", "drill", "spot_drill") else 1.0
    size = -tool.diameter
    if need.diameter or need.narrowest:
        size = abs(tool.diameter - max(need.diameter, need.narrowest))
    return (burns, float(bool(held.note)), float(slow > TOO_SLOW), plain, size, float(tool.material != "carbide"),
            abs(tool.flutes - flutes))
