"""A drill stalls the spindle, stalls the feed, or is twisted off: its torque and thrust against each."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.chisel import CHISEL, DrillLoad, drill_load, land_of_lips
from ..cutting.force import specific_force
from ..cutting.hole import drill_chip
from ..cutting.power import spindle_torque
from ..cutting.strength import breaking_torque
from ..job.route import Operation
from ..medians import median
from ..units import tell
from ._blunt import STICKING, flank_land
from ._chance import OPERATION_SCATTER, discrepancy, known, lasting, middle, spread, weighed
from ._drills import BY_ARM, BY_HAND, CORE, POINT, PUSH, REFERENCE_AREA, REFERENCE_CHIP, SHEAR, STALL, TWIST
from ._forces import machine_entity, material_entity
from ._knobs import FEED_DOWN, SPEED_DOWN
from .base import Case, Check, Finding, Knob, cannot
from .power import rated_power, spindle_base
from .si import metres, square_metres, value

NAME: Final = "drilling"
#: Depth for which the time of a feed by arm is told [mm].
ARM_DEPTH: Final = 10.0


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.op.role == "drill"
            and case.tool.kind == "drill" and bool(case.op.cut.feed_per_tooth))


def before(case: Case) -> list[Operation]:
    """What was done to the same part before this operation, in order."""
    return [op for _, op in case.route.in_order() if op.number < case.op.number
            and case.route.settings[op.setting].workpiece.split("+")[0] == case.part_name]


def pilot_of(case: Case) -> float:
    """The widest hole that earlier drills have left in every hole of the operation [mm]; 0 where they are solid."""
    own = case.shop.tools[case.op.tool or ""].diameter
    drills = [(op, case.shop.tools[op.tool].diameter) for op in before(case) if op.role == "drill" and op.tool]
    return min((max((size for op, size in drills if feature in op.features and size < own), default=0.0)
                for feature in case.op.features), default=0.0)


def lip_force(case: Case, belief: Belief) -> Rows:
    """Specific force of the lips at their chip, by row [N/m2]."""
    feed, angle = metres((case.op.cut.feed_per_tooth or 0.0) * case.tool.flutes), case.tool.point_angle or POINT
    k11 = value(belief, material_entity(case), "drilling_force")
    chip = drill_chip(feed, angle)
    return specific_force(k11, case.material.drilling_exponent, chip, metres(REFERENCE_CHIP))


def load(case: Case, belief: Belief) -> DrillLoad:
    """Torque and thrust of the operation's drill by row."""
    feed = metres((case.op.cut.feed_per_tooth or 0.0) * case.tool.flutes)
    force = lip_force(case, belief) * discrepancy(belief, "drilling")
    return drill_load(force, metres(case.tool.diameter), feed, metres(pilot_of(case)), CHISEL,
                      square_metres(REFERENCE_AREA))


def blunt_load(case: Case, belief: Belief) -> DrillLoad:
    """The same of the drill as it stands in the chuck: what it has drilled before in this job has worn its lips."""
    sharp, entity = load(case, belief), material_entity(case)
    land = flank_land(case, belief) if belief.has(entity, "yield_strength") else None
    if land is None:
        return sharp
    size = metres(case.tool.diameter)
    more = land_of_lips(land, value(belief, entity, "yield_strength"), STICKING, size,
                        max(metres(pilot_of(case)), CHISEL * size), case.tool.point_angle or POINT)
    return DrillLoad(sharp.torque + more.torque, sharp.thrust + more.thrust)


def twists_at(case: Case, belief: Belief) -> Rows:
    """Torque that twists the drill off, by row [N m]."""
    strength, _ = lasting(belief, f"tool_material:{case.tool.material}", "rupture_strength")
    return breaking_torque(SHEAR * strength, CORE * metres(case.tool.diameter))


def _evaluate(case: Case, belief: Belief) -> Finding:
    turn, spindle = case.op.cut.spindle_speed, case.machine.spindle
    if turn is None or spindle is None:
        return cannot(NAME, case, "tool", "nothing is known of the spindle's speed or power here",
                      "read power and speeds on the nameplate and write them under the machine's spindle")
    torque, thrust = blunt_load(case, belief)
    power, _ = rated_power(case, belief)
    by_arm = case.machine_kind == "drill_press"
    pushes = known(belief, machine_entity(case), "axis_thrust", float("inf"))
    uses = {STALL: torque / spindle_torque(power, spindle_base(spindle), turn),
            TWIST: torque / twists_at(case, belief), BY_HAND if by_arm else PUSH: thrust / pushes}
    first = max(uses, key=lambda name: median(uses[name]))
    worst = np.asarray(np.max(list(uses.values()), axis=0))
    demand, unit = (thrust, "N") if first in (PUSH, BY_HAND) else (torque, "N m")
    scatter = spread(OPERATION_SCATTER["force"], OPERATION_SCATTER["strength"], BY_ARM if by_arm else 0.0)
    return weighed(NAME, case, "tool", demand, demand / worst, scatter, unit=unit,
                   because=_because(case, turn, torque, thrust, f"{middle(demand / worst)} {unit} would {first}"),
                   settle_by="drill one hole in a scrap of the same bar, and listen to the spindle")


def _because(case: Case, turn: float, torque: Rows, thrust: Rows, would: str) -> str:
    units, pilot = case.job.units, pilot_of(case)
    over = f" over a pilot of {tell(pilot, 'length', units)}" if pilot else ""
    return (f"a {tell(case.tool.diameter, 'length', units)} drill{over} at {tell(turn, 'rotation')} takes about "
            f"{middle(torque)} N m and {middle(thrust)} N of thrust; about {would}")


def _feeds(case: Case) -> list[object]:
    return FEED_DOWN.values(case)


def _say_feed(case: Case, value_: object) -> str:
    """A lighter feed: by arm as the time that a depth takes, else a turn."""
    assert isinstance(value_, int | float)
    turn, units = case.op.cut.spindle_speed or 0.0, case.job.units
    feeds = [float(feed) * case.tool.flutes for feed in (value_, case.op.cut.feed_per_tooth or 0.0)]
    if case.machine_kind != "drill_press" or turn <= 0.0:
        new, old = (tell(feed, "length", units) for feed in feeds)
        return f"{new} a turn, not {old}"
    new, old = (f"{math.ceil(ARM_DEPTH * 2.0 * math.pi / (feed * turn))} s" for feed in feeds)
    return f"lean lighter: {tell(ARM_DEPTH, 'length', units)} in about {new}, not {old}"


FEED = Knob(FEED_DOWN.path, _feeds, _say_feed)
CHECK = Check(NAME, "drill stalls or breaks", "tool", "operation", _applies, _evaluate,
              knobs=(FEED, SPEED_DOWN), feels_wear=True)
