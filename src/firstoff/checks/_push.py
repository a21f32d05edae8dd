"""What a milling operation leaves on, or cuts too deep, since tool and machine give way, by row."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

import numpy as np

from ..belief import Belief, Rows
from ..cutting.engagement import engagement_angles
from ..cutting.force import Engagement, mean_axial_force
from ..cutting.push_off import WallError, floor_error
from ..cutting.wall import slice_heights, spring_passes, wall_by_slices
from ..cutting.wear import set_back
from ._blunt import flank_land
from ._chance import discrepancy
from ._forces import (
    MILLING,
    coefficients,
    eccentricity,
    edge_of,
    machine_entity,
    softer_base,
    stickout,
    tool_compliance,
    tool_give,
)
from .base import Case
from .si import metres, value, working_diameter

Side = Literal["wall", "floor"]
#: Relief of the flank behind the edge of an end mill [rad]: 10 to 13 degrees when it is small (machinery, recalled).
RELIEF: Final = np.radians(11.0)


def operation_case(case: Case, name: str) -> Case:
    """The same job and route, looked at through one operation of it."""
    op = case.route.operations[name]
    part = case.route.settings[op.setting].workpiece.split("+")[0]
    made = [past.operation for past in case.before]
    before = case.before[:made.index(name)] if name in made else case.before
    return replace(case, subject="operation", name=name, operation=op, setting_name=op.setting, part_name=part,
                   before=before)


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
    if side == "floor":
        law, feed = coefficients(case, belief), metres(case.op.cut.feed_per_tooth or 0.0)
        lift = mean_axial_force(law, edge_of(case, engagement), feed, eccentricity(case, belief))
        stiff = value(belief, machine_entity(case), "stiffness_z")
        return floor_error(-lift, stiff) * discrepancy(belief, "push_off")
    return wall_left(case, belief, engagement).mean


def wall_left(case: Case, belief: Belief, engagement: Engagement) -> WallError:
    """What a cut leaves on the wall along its height, by row [m], square to the machine's softer axis."""
    load, height = slice_heights(engagement.depth_of_cut)
    out = metres(stickout(case))
    tool = tool_compliance(case, belief, np.minimum(load, out)[:, None], np.minimum(height, out)[None, :])
    give = tool + softer_base(case, belief)[:, None, None]
    found = wall_by_slices(coefficients(case, belief), engagement, metres(case.op.cut.feed_per_tooth or 0.0), give,
                           _wall(case))
    off, back = discrepancy(belief, "push_off"), stands_back(case, belief)
    return WallError(found.height, found.left_on * off[:, None] + back[:, None], found.most * off + back,
                     found.least * off + back, found.mean * off + back)


def stands_back(case: Case, belief: Belief) -> Rows:
    """How much smaller the cutter cuts than when it was new, since its flank has worn, by row [m]."""
    land = flank_land(case, belief)
    return np.zeros(belief.rows) if land is None else set_back(land, RELIEF)


def corner_left(case: Case, belief: Belief) -> Rows | None:
    """What is left on in a corner where the cutter is suddenly held by more metal, by row [m]; None without one."""
    engagement, windows = engagement_of(case), case.windows
    if engagement is None or windows is None or not np.any(windows.corner):
        return None
    i = int(np.flatnonzero(windows.corner)[0])
    there = engagement._replace(entry=float(windows.entry[i]), exit=float(windows.exit[i]))
    return wall_left(case, belief, there).mean


def after_passes(case: Case, belief: Belief, passes: int) -> Rows | None:
    """What each pass at the same setting leaves on the wall, by row [m], shape (N, passes)."""
    engagement = engagement_of(case)
    if engagement is None or case.op.cut.direction == "slot":
        return None
    stiff = 1.0 / (1.0 / tool_give(case, belief) + softer_base(case, belief))
    feed = metres(case.op.cut.feed_per_tooth or 0.0)
    return spring_passes(coefficients(case, belief), engagement, feed, stiff, _wall(case), passes)


def _wall(case: Case) -> Literal["climb", "conventional"]:
    return "conventional" if case.op.cut.direction == "conventional" else "climb"
