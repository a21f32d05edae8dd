"""A drill grabs as it breaks through: what was pressed springs out, and the lips bite more than they bear."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.breakthrough import feed_of_breaking_through, point_length
from ..cutting.chisel import CHISEL, drill_load
from ..cutting.force import specific_force
from ..cutting.hole import drill_chip
from ..medians import median
from ..shop.models import Material
from ..units import tell
from ._chance import OPERATION_SCATTER, discrepancy, middle, spread, weighed
from ._drills import BY_ARM, POINT, REFERENCE_AREA, REFERENCE_CHIP
from ._forces import machine_entity, material_entity
from ._told import middling
from .base import Case, Check, Finding, cannot
from .drilling import FEED, load, twists_at
from .si import metres, millimetres, square_metres, value

NAME: Final = "breakthrough"

#: Play along the spindle that a drill takes up where it pulls itself in: rack and pinion of a press, screw of a
#: mill's axis [mm]; judged, × and ÷ 2.
PLAY: Final = {"drill_press": 0.2, "mill": 0.05, "hand": 0.2}
PLAY_FACTOR: Final = 2.0
#: Share of the way out over which an arm still gives way as the thrust falls: it eases off; judged, × and ÷ 2.
EASES: Final = 0.5


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.op.role == "drill"
            and case.tool.kind == "drill" and bool(case.op.cut.feed_per_tooth)
            and any(feature.through for feature in case.features))


def thickness(case: Case) -> float:
    """Of the thinnest metal that a drill of the operation goes through [mm]."""
    return min((f.size["depth"] for f in case.features if f.through and f.size.get("depth")), default=math.inf)


def play_of(material: Material, kind: str) -> float:
    """Play that a drill takes up when it comes through [mm]: only where its rake pulls it in."""
    return PLAY[kind] if material.grabs else 0.0


def bitten(
    feed: float, thrust: Rows | float, stiffness: Rows | float, play: float, diameter: float, point: float,
    thick: float,
) -> Rows:
    """Feed a turn as the drill comes out, by row [m].

    Args:
        feed: a turn before [mm].
        thrust: that falls away [N].
        stiffness: along the spindle [N/m].
        play: that is taken up [mm].
        diameter: of the drill [mm].
        point: its included angle [rad].
        thick: what is drilled through [mm].
    """
    length = np.minimum(point_length(metres(diameter), point), metres(min(thick, 100.0 * diameter)))
    return feed_of_breaking_through(metres(feed), thrust, stiffness, metres(play), length)


def torque_of_coming_out(case: Case, belief: Belief) -> Rows:
    """Torque of a drill as it comes through, by row [N m]."""
    return _torque(case, belief, _out(case, belief))


def _out(case: Case, belief: Belief) -> Rows:
    """Feed a turn as it comes out, by row [m]."""
    tool = case.tool
    feed, point = (case.op.cut.feed_per_tooth or 0.0) * tool.flutes, tool.point_angle or POINT
    thrust = load(case, belief).thrust * (EASES if case.machine_kind == "drill_press" else 1.0)
    stiff = value(belief, machine_entity(case), "stiffness_z")
    return bitten(feed, thrust, stiff, play_of(case.material, case.machine_kind), tool.diameter, point,
                  thickness(case))


def _evaluate(case: Case, belief: Belief) -> Finding:
    tool, machine = case.tool, machine_entity(case)
    if not belief.has(machine, "stiffness_z"):
        return cannot(NAME, case, "tool", "nothing is known of how far the machine gives along its spindle",
                      "write its stiffness, or the class that it is like")
    play, out = play_of(case.material, case.machine_kind), _out(case, belief)
    torque, bears = _torque(case, belief, out), twists_at(case, belief)
    scatter = spread(OPERATION_SCATTER["force"], OPERATION_SCATTER["strength"], BY_ARM,
                     math.log(PLAY_FACTOR) if play else 0.0)
    because = (f"as it comes out, a {tell(tool.diameter, 'length', case.job.units)} drill bites about "
               f"{middling(millimetres(median(out)), case.job.units)} a turn"
               f"{_why(case)}: about {middle(torque)} N m, and {middle(bears)} N m twist it off")
    return weighed(NAME, case, "tool", torque, bears, scatter, unit="N m", because=because,
                   settle_by="drill through a scrap of the same thickness, clamped")


def _why(case: Case) -> str:
    if case.material.grabs:
        return ", because this metal pulls it in"
    point = point_length(metres(case.tool.diameter), case.tool.point_angle or POINT)
    thin = metres(thickness(case)) < float(point)
    return ", because the sheet is thinner than its point" if thin else ""


def _torque(case: Case, belief: Belief, feed: Rows) -> Rows:
    """Torque of the lips at the feed that is bitten, by row [N m]."""
    chip = drill_chip(feed, case.tool.point_angle or POINT)
    k11 = value(belief, material_entity(case), "drilling_force") * discrepancy(belief, "drilling")
    lips = specific_force(k11, case.material.drilling_exponent, chip, metres(REFERENCE_CHIP))
    size = metres(case.tool.diameter)
    return drill_load(lips, size, feed, CHISEL * size, CHISEL, square_metres(REFERENCE_AREA)).torque


CHECK = Check(NAME, "drill grabs as it breaks through", "tool", "operation", _applies, _evaluate, knobs=(FEED,))
