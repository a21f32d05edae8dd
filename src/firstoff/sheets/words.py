"""How the sheets say things: operations, directions, burrs, and what to do when it sings or slows.

Advice that is not computed for this cut is marked "rule of thumb".
"""

from __future__ import annotations

import math
from typing import Final

from ..checks.drilling import ARM_DEPTH
from ..job.faces import DIRECTIONS, dot
from ..job.route import Cut, Operation
from ..part.shapes import Vector
from ..shop.models import Machine, Tool
from ..units import tell

ROLES: Final[dict[str, str]] = {
    "face_rough": "face, roughing", "face_finish": "face, finishing", "side_rough": "side, roughing",
    "side_finish": "side, finishing", "pocket_rough": "pocket, roughing", "pocket_finish": "pocket, finishing",
    "slot": "slot", "ramp_rough": "ramp, roughing", "ramp_finish": "ramp, finishing",
    "spot": "spot", "drill": "drill",
    "ream": "ream", "tap": "tap", "countersink": "countersink", "chamfer": "chamfer", "form": "form",
    "file": "file", "saw": "saw", "lap": "lap", "measure": "measure",
}
DIRECTION: Final[dict[str, str]] = {
    "climb": "climb, work on the right of the travel",
    "conventional": "conventional, work on the left of the travel",
    "slot": "slot, both walls at once",
}
HOLES: Final = frozenset({"spot", "drill", "ream", "tap", "countersink"})
BY_HAND: Final = frozenset({"file", "saw", "lap", "measure"})
THUMB: Final = "rule of thumb"


def roughly(mm: float, system: str) -> str:
    """A length that is set by eye or rule: tenths of a mm, hundredths of an inch."""
    return tell(mm, "length", system, 1 if system == "mm" else 2)


def exactly(mm: float, system: str) -> str:
    """A size to be measured, with all its digits, so that sizes stand under each other."""
    return f"{mm:.3f} mm" if system == "mm" else f"{mm / 25.4:.4f} in"


def table_feed(cut: Cut, tool: Tool) -> float | None:
    """Feed of the table, or of the quill [mm/s]."""
    if cut.spindle_speed is None or cut.feed_per_tooth is None:
        return None
    return cut.spindle_speed / (2 * math.pi) * tool.flutes * cut.feed_per_tooth


def settings_of_cut(op: Operation, tool: Tool | None, system: str, by_arm: bool = False) -> list[tuple[str, str]]:
    """The numbers that go on the machine, each with its label; what is not used is left out.

    Args:
        op: the operation.
        tool: its tool.
        system: mm or in.
        by_arm: whether an arm gives the feed, as at a drill press: then it is told as the time that a depth takes.
    """
    if op.role in HOLES:
        return _settings_of_hole(op, tool, system, by_arm)
    cut = op.cut
    told: list[tuple[str, float | None, str]] = [("speed", cut.spindle_speed, "rotation")]
    if tool is not None:
        told += [("feed", table_feed(cut, tool), "table_feed"), ("per tooth", cut.feed_per_tooth, "length")]
    told += [("deep", cut.depth_of_cut, "length"), ("wide", cut.width_of_cut, "length"),
             ("takes off", op.removes or None, "length"), ("leaves", op.leaves or None, "length")]
    return [(label, tell(value, quantity, system)) for label, value, quantity in told if value is not None]


def _settings_of_hole(op: Operation, tool: Tool | None, system: str, by_arm: bool) -> list[tuple[str, str]]:
    """The numbers of a hole: depths as a stop or a scale is set, a feed by arm as the time that it takes."""
    cut = op.cut
    found = [("speed", tell(cut.spindle_speed, "rotation", system))] if cut.spindle_speed is not None else []
    down = table_feed(cut, tool) if tool is not None else None
    if by_arm and down:
        found.append(("feed by arm", f"{roughly(ARM_DEPTH, system)} in about {math.ceil(ARM_DEPTH / down)} s"))
    elif tool is not None and cut.feed_per_tooth is not None:
        found += [("feed", tell(down, "table_feed", system))] if down is not None else []
        found.append(("per turn", tell(cut.feed_per_tooth * tool.flutes, "length", system)))
    depths = (("deep", cut.depth_of_cut), ("peck", cut.peck_depth))
    return found + [(label, tell(depth, "length", system, 1 if system == "mm" else 3))
                    for label, depth in depths if depth is not None]


def axis_name(way: Vector) -> str:
    """A direction of the model: "+Z", or the angle from the axis that is nearest."""
    name = max(DIRECTIONS, key=lambda n: dot(DIRECTIONS[n], way))
    angle = math.degrees(math.acos(min(1.0, dot(DIRECTIONS[name], way) / math.sqrt(dot(way, way)))))
    return name if angle < 0.05 else f"{angle:.1f}° from {name}"


def burr(op: Operation, through: bool) -> str:
    """Where a burr will stand: an edge forms it where the cutter leaves the work."""
    if op.role in ("drill", "ream") and through:
        return "far side, where the drill comes out" if op.role == "drill" else "far side, where the reamer comes out"
    if op.role in HOLES:
        return "round the mouth of the hole"
    if op.role in BY_HAND:
        return "all edges touched" if op.role not in ("measure", "lap") else ""
    if op.role.startswith("face"):
        return "far edge, where the cutter runs out"
    return "far end, where the cutter leaves, and along the top edge"


def half_depth(op: Operation, system: str) -> str:
    """Half of what an operation takes at once, in words; a hole that is not pecked has no half."""
    if op.role in HOLES and not op.cut.peck_depth:
        return ""
    if op.cut.peck_depth:
        return f"peck {tell(op.cut.peck_depth / 2, 'length', system)}"
    if op.cut.depth_of_cut:
        return f"half the depth, {tell(op.cut.depth_of_cut / 2, 'length', system)}"
    return ""


def slower(op: Operation, machine: Machine) -> str:
    """The next lower speed that the spindle has: a step of the belt, or four fifths."""
    speed, spindle = op.cut.spindle_speed, machine.spindle
    if speed is None or spindle is None:
        return ""
    if spindle.steps:
        lower = max((s for s in spindle.steps if s < 0.99 * speed), default=None)
    else:
        lower = max(0.8 * speed, spindle.slowest) if speed > 1.01 * spindle.slowest else None
    return "" if lower is None else f"down to {tell(lower, 'rotation')}"


def if_it_sings(op: Operation, machine: Machine, computed: list[str], system: str, to_try: str = "") -> str:
    """What to do when the cut sings or chatters: what was computed and checked, what the check knows, else a rule.

    Args:
        op: the operation.
        machine: that it runs on.
        computed: changes that were checked in full.
        system: mm or in.
        to_try: what the check itself would try: other speeds, a depth.
    """
    if op.role in BY_HAND or op.cut.spindle_speed is None:
        return ""
    if computed or to_try:
        return "; or ".join([*computed, *([to_try] if to_try else [])])
    depth = "" if op.role in HOLES else half_depth(op, system)
    ways = [way for way in (depth, slower(op, machine)) if way]
    return f"{', then '.join(ways) or 'stop, shorten the stickout'} ({THUMB})"


def if_it_slows(op: Operation, computed: list[str], system: str) -> str:
    """What to do when the spindle slows, or an axis or the drill stalls."""
    if op.role in BY_HAND or op.cut.spindle_speed is None:
        return ""
    first = "draw out, clear the chips" if op.role in HOLES else "stop the feed, back out"
    if computed:
        return f"{first}; " + "; or ".join(computed)
    then = half_depth(op, system) or "look whether the edge is dull"
    return f"{first}, {then} ({THUMB})"
