"""First values for a cut: what a careful person would set before anything is known of this machine.

They are a start; the dry run judges them. Speeds come from the material's usual cutting speed;
feeds and depths from rules of thumb, which the machine's class makes smaller.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from ..dryrun.nominal import table_speed
from ..job.route import BY_HAND, Cut, Direction, Role
from ..shop.models import Machine, MachineFigures, Material, Spindle, Tool, ToolMaterial
from ..shop.rounding import round_speed
from ..tomlfile import own
from ..units import parse
from .pecks import pecks_of
from .way_round import Band, way_round

ROUGH: Final = frozenset({"face_rough", "side_rough", "pocket_rough", "slot", "ramp_rough"})
FINISH: Final = frozenset({"face_finish", "side_finish", "pocket_finish", "ramp_finish", "form"})
HOLES: Final = frozenset({"spot", "drill", "ream", "countersink"})

#: feed per tooth / diameter for end mills; judged from what tool makers print for small cutters, then halved
#: because the machine is light: 0.5-1 % in steel, 1-1.5 % in aluminium
FEED_RATIO: Final = {"P": 0.006, "M": 0.004, "K": 0.007, "N": 0.010, "S": 0.003, "H": 0.003,
                     "plastic": 0.015, "wood": 0.020}
#: feed a revolution / diameter for twist drills: the usual 1-2 % in steel, 2-3 % in light metal
DRILL_RATIO: Final = {"P": 0.012, "M": 0.010, "K": 0.018, "N": 0.020, "S": 0.008, "H": 0.006,
                      "plastic": 0.020, "wood": 0.030}
#: depth of a slot / diameter on a stiff machine; half to one diameter is the usual advice, halved to be careful
SLOT_RATIO: Final = {"P": 0.2, "M": 0.15, "K": 0.25, "N": 0.35, "S": 0.1, "H": 0.05, "plastic": 0.5, "wood": 0.5}
#: width of a pass / diameter on a stiff machine; a weak one sings in a wide cut long before it does in a deep one
WIDTH_RATIO: Final = {"face_rough": 0.6, "face_finish": 0.7, "side_rough": 0.25, "pocket_rough": 0.4,
                      "ramp_rough": 0.5, "ramp_finish": 0.4}
STIFF: Final = 20e6         #: [N/m] above this a machine takes the usual depths; below, in proportion
LEAST_CARE: Final = 0.1     #: never less than this of the usual depth: too timid rubs
LEAST_FEED: Final = 0.008   #: [mm] a tooth: below this most edges rub rather than cut
WALL: Final = 2.0           #: diameters that a finish of a wall goes down at once on a stiff machine
FORM_DEEP: Final = 0.5      #: [mm] a pass of a ball nose
UNDER_SCALE: Final = 0.25   #: [mm] beneath the lowest spot of the scale, so that the edge cuts metal
THICK_SCALE: Final = 0.4    #: [mm] first pass in scale, at least
DEFAULT_SPEED: Final = {"hss": "20 m/min", "carbide": "60 m/min", "carbon_steel": "10 m/min"}
THINNER: Final = 0.6        #: of the usual feed a tooth, before the spindle is slowed for a slow table
CUSP: Final = 0.010         #: [mm] height of the ridges that a ball nose leaves


@dataclass(frozen=True)
class Removal:
    """What is to be taken off.

    Fields:
        depth: along the tool's axis [mm].
        width: across it [mm]; 0 where the cutter's own width counts.
        scale: lowest spot of the rolling scale below the surface [mm]; 0 where there is none.
        slot: whether the cutter is buried at first (closed pockets, slots).
    """

    depth: float
    width: float = 0.0
    scale: float = 0.0
    slot: bool = False


def first_cut(
    machine: Machine, tool: Tool, material: Material, role: Role, removal: Removal,
    figures: MachineFigures | None = None, pitch: float = 0.0,
) -> Cut:
    """The first cut to try.

    `figures` are the book figures of the machine's class; `pitch` is of a thread [mm].
    """
    if role in BY_HAND:
        return _by_hand(role, tool, pitch)
    speed = spindle_speed(machine, tool, material, role)
    if machine.spindle is None:
        return Cut()                  # nothing is known of what it turns: a person writes it in
    if role in HOLES:
        return _hole(tool, material, role, removal, speed)
    if role == "chamfer":
        return _cut(spindle_speed=speed, feed_per_tooth=_feed(tool, material, role), direction="conventional",
                   depth_of_cut=removal.depth, width_of_cut=removal.depth, coolant=coolant(material, role))
    speed, feed = _held_to(table_speed(machine, figures), speed, _feed(tool, material, role), tool, machine)
    depth, width = _depth_width(machine, tool, material, role, removal, figures)
    return _cut(
        spindle_speed=speed, feed_per_tooth=feed, depth_of_cut=depth, width_of_cut=round(width, 3),
        direction=direction(role, machine, figures, tool, material, Band(feed, depth, width)),
        coolant=coolant(material, role),
    )


def _cut(**values: object) -> Cut:
    return own(Cut, **values)


def _by_hand(role: Role, tool: Tool, pitch: float) -> Cut:
    if role == "tap" and pitch > 0.0:
        return _cut(feed_per_tooth=round(pitch / tool.flutes, 4), coolant="brushed")
    return Cut()


def _held_to(fastest: float, speed: float, feed: float, tool: Tool, machine: Machine) -> tuple[float, float]:
    """Speed and feed a tooth that the table can follow: a somewhat thinner chip first, then a slower spindle."""
    asked = speed / (2.0 * math.pi) * tool.flutes * feed
    if asked <= fastest or machine.spindle is None:
        return speed, feed
    feed = max(round(max(feed * fastest / asked, THINNER * feed), 3), LEAST_FEED)
    most = 2.0 * math.pi * fastest / (tool.flutes * feed)
    return (speed_on(machine.spindle, most) if most < speed else speed), feed


def spindle_speed(machine: Machine, tool: Tool, material: Material, role: Role) -> float:
    """Speed from the usual cutting speed [rad/s], within the spindle's range, the next lower belt step.

    Reamers run at a third of a drill's speed, countersinks and chamfer cutters at half: usual advice against chatter.
    """
    if machine.spindle is None:
        return 0.0
    return speed_on(machine.spindle, wanted_speed(tool, material, role))


def wanted_speed(tool: Tool, material: Material, role: Role) -> float:
    """The speed that the tool would like [rad/s], whatever the machine can do."""
    slower = {"ream": 1.0 / 3.0, "countersink": 0.5, "chamfer": 0.5}.get(role, 1.0)
    wanted = slower * usual_speed(material, tool.material) / (_working_diameter(tool, role) / 2.0)
    return wanted if tool.rated_speed is None else min(wanted, tool.rated_speed)


def usual_speed(material: Material, tool_material: ToolMaterial) -> float:
    """The material's usual cutting speed [mm/s] for this tool material; a careful one where none is given."""
    figure = {"hss": material.cutting_speed.hss, "carbide": material.cutting_speed.carbide}.get(tool_material)
    metres = figure.value if figure is not None else parse(DEFAULT_SPEED[tool_material], "cutting_speed")
    return metres * parse("1 m", "length")


def _working_diameter(tool: Tool, role: Role) -> float:
    """The diameter that cuts; a ball nose touches a near flat surface well inside its diameter."""
    return tool.diameter * (0.5 if role == "form" else 1.0)


def speed_on(spindle: Spindle, wanted: float) -> float:
    """The speed that a spindle has nearest below what is wanted, within its range [rad/s]."""
    lower = [s for s in spindle.steps if s <= wanted]
    if spindle.steps:
        return max(lower) if lower else min(spindle.steps)
    speed = min(max(wanted, spindle.slowest), spindle.fastest)
    return round_speed(speed, spindle)


def _feed(tool: Tool, material: Material, role: Role) -> float:
    ratio = FEED_RATIO[material.group] * (0.8 if role in FINISH or role == "chamfer" else 1.0)
    diameter = tool.diameter if role != "chamfer" else max(tool.tip_diameter, tool.diameter / 2.0)
    return round(max(ratio * diameter, LEAST_FEED), 3)


def _hole(tool: Tool, material: Material, role: Role, removal: Removal, speed: float) -> Cut:
    """Feed of a drill by its diameter; a reamer two and a half times that; a spot or countersink half."""
    more = {"ream": 2.5, "spot": 0.5, "countersink": 0.5}.get(role, 1.0)
    a_turn = max(more * DRILL_RATIO[material.group] * tool.diameter, LEAST_FEED * tool.flutes)
    pecks = pecks_of(material, tool.diameter, removal.depth) if role == "drill" else None
    return _cut(
        spindle_speed=speed, feed_per_tooth=round(a_turn / tool.flutes, 4), depth_of_cut=round(removal.depth, 3),
        width_of_cut=round(removal.width or tool.diameter / 2.0, 3),
        peck_depth=pecks[1] if pecks else None, coolant=coolant(material, role),
    )


def care(machine: Machine, figures: MachineFigures | None) -> float:
    """What part of the usual depth a machine takes: 1 if stiff, in proportion to its stiffness below that."""
    known = machine.stiffness or (figures.stiffness if figures else None)
    if known is None:
        return LEAST_CARE
    weakest = min(known.x.value, known.y.value)
    return min(1.0, max(LEAST_CARE, weakest / STIFF))


def _depth_width(
    machine: Machine, tool: Tool, material: Material, role: Role, removal: Removal, figures: MachineFigures | None,
) -> tuple[float, float]:
    if role == "form":
        rows = removal.width or round(2.0 * math.sqrt(CUSP * (tool.diameter - CUSP)), 2)
        return _even(removal.depth, FORM_DEEP), rows
    if role in FINISH and role not in ("face_finish", "ramp_finish"):
        most = WALL * tool.diameter * care(machine, figures)
        return _even(removal.depth, min(tool.flute_length, most)), removal.width
    width = _width(tool, role, removal, care(machine, figures))
    opened = role == "slot" or removal.slot
    buried = 1.0 if opened else math.sqrt(tool.diameter / max(width, 1e-9))
    usual = SLOT_RATIO[material.group] * tool.diameter * care(machine, figures) * buried
    if role in ("face_rough", "face_finish"):
        usual = min(usual, 0.25 * tool.diameter)
    least = max(removal.scale + UNDER_SCALE, THICK_SCALE) if removal.scale > 0.0 else 0.0
    if least > 0.0 and role == "face_rough":
        return round(min(max(_even(removal.depth, usual), least), removal.depth), 2), width
    return _even(removal.depth, min(usual, tool.flute_length)), width


def _width(tool: Tool, role: Role, removal: Removal, careful: float) -> float:
    if role == "slot":
        return tool.diameter
    narrow = 1.0 if removal.slot else math.sqrt(careful)
    part = round(WIDTH_RATIO.get(role, 0.4) * tool.diameter * narrow, 2)
    return min(part, removal.width) if removal.width > 0.0 else part


def _even(whole: float, most: float) -> float:
    """Equal passes: the depth of each, none deeper than `most`, told to a hundredth."""
    if whole <= 0.0:
        return round(most, 2)
    passes = max(1, math.ceil(whole / most - 1e-9))
    return math.ceil(whole / passes * 100.0 - 1e-6) / 100.0


def direction(
    role: Role, machine: Machine, figures: MachineFigures | None, tool: Tool, material: Material, band: Band,
) -> Direction:
    """Which way round the cutter goes: a slot has no choice, all else is computed both ways."""
    return "slot" if role == "slot" else way_round(machine, figures, tool, material, band).direction


def direction_note(
    machine: Machine, figures: MachineFigures | None, tool: Tool, material: Material, cut: Cut, units: str = "mm",
) -> str:
    """Why this way round, for the route card; nothing where there was no choice."""
    if cut.direction not in ("climb", "conventional") or not cut.feed_per_tooth:
        return ""
    band = Band(cut.feed_per_tooth, cut.depth_of_cut or 0.0, cut.width_of_cut or tool.diameter)
    return way_round(machine, figures, tool, material, band, units).because


def coolant(material: Material, role: Role) -> str:
    """What goes on the cut: brass, cast iron, plastics and wood dry; aluminium and holes in steel brushed."""
    if material.group in ("K", "plastic", "wood"):
        return "dry"
    if role in ("drill", "ream", "tap", "countersink"):
        return "brushed"
    return "brushed" if material.welds_to_tool else "dry"
