"""What a milling operation leaves on, or cuts too deep, since tool and machine give way, by row."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from ..belief import Belief, Rows
from ..cutting.engagement import engagement_angles
from ..cutting.force import Engagement, milling_forces
from ..cutting.push_off import floor_error, wall_error
from ._chance import discrepancy
from ._forces import MILLING, coefficients, eccentricity, machine_entity, side_stiffness
from .base import Case
from .si import metres, value, working_diameter

Side = Literal["wall", "floor"]


def operation_case(case: Case, name: str) -> Case:
    """The same job and route, looked at through one operation of it."""
    op = case.route.operations[name]
    part = case.route.settings[op.setting].workpiece.split("+")[0]
    return replace(case, subject="operation", name=name, operation=op, setting_name=op.setting, part_name=part)


def sides(case: Case) -> tuple[Side, ...]:
    """Whether the operation makes walls, floors or both."""
    role = case.op.role
    if role.startswith(("face", "ramp")):
        return ("floor",)
    if role.startswith("side"):
        return ("wall",)
    return ("wall", "floor")


def engagement_of(case: Case) -> Engagement | None:
    """The cut of an operation as its numbers say it, without its path; None where they do not say it."""
    op, tool = case.op, case.tool
    depth = op.cut.depth_of_cut or op.removes
    width = tool.diameter if op.cut.direction == "slot" else op.cut.width_of_cut or op.removes
    if tool.kind not in MILLING or depth <= 0.0 or width <= 0.0 or not op.cut.feed_per_tooth:
        return None
    across = working_diameter(case, depth)
    angles = engagement_angles(min(metres(width), across), across, op.cut.direction or "climb")
    return Engagement(across, tool.flutes, tool.helix, metres(depth), float(angles.entry), float(angles.exit))


def left_on(case: Case, belief: Belief, side: Side) -> Rows | None:
    """Material left on a wall or floor, by row [m]; negative is cut too deep; None where it is not computed.

    A wall is taken at its mean over the height, square to the machine's softer axis.
    """
    engagement = engagement_of(case)
    if engagement is None:
        return None
    law, feed = coefficients(case, belief), metres(case.op.cut.feed_per_tooth or 0.0)
    off = discrepancy(belief, "push_off")
    if side == "floor":
        forces = milling_forces(law, engagement, feed, eccentricity(case, belief))
        return floor_error(-forces.mean_z, value(belief, machine_entity(case), "stiffness_z")) * off
    wall: Literal["climb", "conventional"] = (
        "conventional" if case.op.cut.direction == "conventional" else "climb")
    stiff = np.minimum(side_stiffness(case, belief, (1.0, 0.0, 0.0)), side_stiffness(case, belief, (0.0, 1.0, 0.0)))
    return wall_error(law, engagement, feed, stiff, wall).mean * off
