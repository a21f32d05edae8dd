"""A drill stalls the spindle, stalls the feed, or is twisted off: its torque and thrust against each."""

from __future__ import annotations

import math
from math import radians
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.force import specific_force
from ..cutting.hole import drill_chip, drill_torque, lip_thrust
from ..cutting.power import spindle_torque
from ..cutting.strength import breaking_torque
from ..normal import normal_cdf
from ..shop.models import Figure, Machine, Material, Shop, Tool
from ..units import tell
from ._chance import OPERATION_SCATTER, discrepancy, known, lasting, middle, spread, weighed
from ._forces import machine_entity, material_entity
from ._knobs import FEED_DOWN, SPEED_DOWN
from .base import Case, Check, Finding, cannot
from .power import rated_power, spindle_base
from .si import metres, value

NAME = "drilling"

#: Core that bears the twist over diameter of a drill, and shear over rupture strength; judged.
CORE: Final = 0.55
SHEAR: Final = 0.5
#: Thrust over main force of the lips: a plain point in the solid; judged, between 0.5 and 1.3.
THRUST: Final = 1.0
POINT: Final = radians(118.0)
REFERENCE_CHIP: Final = 1.0      #: thickness of chip that k_c1.1 refers to [mm]


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.op.role == "drill"
            and case.tool.kind == "drill" and bool(case.op.cut.feed_per_tooth))


def lip_force(case: Case, belief: Belief) -> Rows:
    """Specific force of the lips at their chip, by row [N/m2]."""
    feed, angle = metres((case.op.cut.feed_per_tooth or 0.0) * case.tool.flutes), case.tool.point_angle or POINT
    k11 = value(belief, material_entity(case), "drilling_force")
    chip = drill_chip(feed, angle)
    return specific_force(k11, case.material.drilling_exponent, chip, metres(REFERENCE_CHIP))


def book_chance(shop: Shop, machine: Machine, tool: Tool, material: Material, feed: float, turn: float) -> float:
    """The chance that a drill stalls or breaks by book figures alone, for planning.

    Args:
        shop: with the figures of tool materials and of how wrong drilling forces are.
        machine: the machine.
        tool: the drill.
        material: the workpiece.
        feed: a revolution [mm].
        turn: spindle speed [rad/s].

    Returns:
        Chance [1]; 0 where the figures are missing.
    """
    book, spindle = shop.classes.get(machine.like), machine.spindle
    kinds, strengths = shop.discrepancies, shop.tool_materials
    force, thrust = material.drilling_force, machine.axis_thrust or (book.axis_thrust if book else None)
    if spindle is None or force is None or "drilling" not in kinds or tool.material not in strengths:
        return 0.0
    angle, size, by_turn = tool.point_angle or POINT, metres(tool.diameter), metres(feed)
    lips = specific_force(force.value, material.drilling_exponent, drill_chip(by_turn, angle), metres(REFERENCE_CHIP))
    strength = strengths[tool.material].rupture_strength
    torque = float(drill_torque(lips, size, by_turn, 0.0))
    uses = [(torque / float(spindle_torque(spindle.power.value, spindle_base(spindle), turn)), spindle.power),
            (torque / float(breaking_torque(SHEAR * strength.value, CORE * size)), strength)]
    if thrust is not None:
        uses.append((float(lip_thrust(lips, THRUST, size, by_turn, angle)) / thrust.value, thrust))
    shared = [force, kinds["drilling"].factor, *([material.batch] if material.batch else [])]
    scatter = spread(OPERATION_SCATTER["force"], OPERATION_SCATTER["strength"])
    wide = [math.sqrt(scatter**2 + sum(_log_sd(figure) ** 2 for figure in (*shared, own))) for _, own in uses]
    return max(float(normal_cdf(math.log(use) / sd)) for (use, _), sd in zip(uses, wide, strict=True))


def _log_sd(figure: Figure) -> float:
    """One standard deviation of the log of a figure."""
    if figure.factor is not None:
        return math.log(figure.factor)
    return math.log1p((figure.sd or 0.0) / abs(figure.value))


def _evaluate(case: Case, belief: Belief) -> Finding:
    tool, turn, spindle = case.tool, case.op.cut.spindle_speed, case.machine.spindle
    if turn is None or spindle is None:
        return cannot(NAME, case, "tool", "nothing is known of the spindle's speed or power here",
                      "read power and speeds on the nameplate and write them under the machine's spindle")
    feed = metres((case.op.cut.feed_per_tooth or 0.0) * tool.flutes)
    force, off = lip_force(case, belief), discrepancy(belief, "drilling")
    torque = drill_torque(force, metres(tool.diameter), feed, 0.0) * off
    thrust = lip_thrust(force, THRUST, metres(tool.diameter), feed, tool.point_angle or POINT) * off
    power, _ = rated_power(case, belief)
    strength, _ = lasting(belief, f"tool_material:{tool.material}", "rupture_strength")
    stalls = spindle_torque(power, spindle_base(spindle), turn)
    twists = breaking_torque(SHEAR * strength, CORE * metres(tool.diameter))
    pushes = known(belief, machine_entity(case), "axis_thrust", float("inf"))
    scatter = spread(OPERATION_SCATTER["force"], OPERATION_SCATTER["strength"])
    uses = {"stall the spindle": torque / stalls, "twist the drill off": torque / twists,
            "stall the feed": thrust / pushes}
    first = max(uses, key=lambda name: float(np.median(uses[name])))
    worst = np.asarray(np.max(list(uses.values()), axis=0))
    by_thrust = first == "stall the feed"
    demand, unit = (thrust, "N") if by_thrust else (torque, "N m")
    because = (f"a {tell(tool.diameter, 'length', case.job.units)} drill at {tell(turn, 'rotation')} takes about "
               f"{middle(torque)} N m and {middle(thrust)} N of thrust; about {middle(demand / worst)} {unit} "
               f"would {first}")
    return weighed(NAME, case, "tool", demand, demand / worst, scatter, unit=unit, because=because,
                   settle_by="drill one hole in a scrap of the same bar, and listen to the spindle")


CHECK = Check(NAME, "drill stalls or breaks", "tool", "operation", _applies, _evaluate,
              knobs=(FEED_DOWN, SPEED_DOWN))
