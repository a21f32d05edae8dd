"""What a milling operation leaves on, or cuts too deep, since tool and machine give way, by row."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

import numpy as np

from ..belief import Belief, Rows
from ..cutting.chatter import Mode
from ..cutting.engagement import engagement_angles
from ..cutting.force import Engagement, mean_axial_force
from ..cutting.process_damping import mean_flank_damping
from ..cutting.push_off import WallError, floor_error
from ..cutting.wall import slice_heights, spring_passes, wall_by_slices
from ..cutting.wall_swing import swung_off
from ..cutting.wear import set_back
from ._blunt import flank_land
from ._chance import discrepancy
from ._forces import (
    MILLING,
    base_give,
    coefficients,
    eccentricity,
    edge_of,
    machine_entity,
    speed,
    stickout,
    tool_compliance,
    tool_give,
)
from ._tip import flank, tip
from .base import Case
from .si import metres, value, working_diameter

Side = Literal["wall", "floor"]
Heading = tuple[float, float, float]
#: Along X and along Y: a wall may stand square to either.
WAYS: Final[tuple[Heading, ...]] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
AT_WALL: Final = 0.1        #: [rad] a tooth that enters or leaves so near to the wall makes it
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


def left_on(case: Case, belief: Belief, side: Side, heading: Heading | None = None) -> Rows | None:
    """Material left on a wall or floor, by row [m]; negative is cut too deep; None where it is not computed.

    A wall is taken at its mean over the height, square to the direction of feed, or to the machine's softer axis
    where the way round the part is not told.
    """
    engagement = engagement_of(case)
    if engagement is None:
        return None
    if side == "floor":
        law, feed = coefficients(case, belief), metres(case.op.cut.feed_per_tooth or 0.0)
        lift = mean_axial_force(law, edge_of(case, engagement), feed, eccentricity(case, belief))
        stiff = value(belief, machine_entity(case), "stiffness_z")
        return floor_error(-lift, stiff) * discrepancy(belief, "push_off")
    return wall_left(case, belief, engagement, heading).mean


def wall_left(case: Case, belief: Belief, engagement: Engagement, heading: Heading | None = None) -> WallError:
    """What a cut leaves on the wall along its height, by row [m], where the tool is as its tooth makes it.

    Square to the direction of feed, or to the machine's softer axis where none is told.
    """
    load, height = slice_heights(engagement.depth_of_cut)
    out = metres(stickout(case))
    tool = tool_compliance(case, belief, np.minimum(load, out)[:, None], np.minimum(height, out)[None, :])
    ways = WAYS if heading is None else (heading,)
    give = tool + base_give(case, belief, ways)[:, None, None]
    found = wall_by_slices(coefficients(case, belief), engagement, metres(case.op.cut.feed_per_tooth or 0.0), give,
                           _wall(case))
    off, back = discrepancy(belief, "push_off"), stands_back(case, belief)
    left = (found.left_on + _swing(case, belief, engagement, ways)) * off[:, None] + back[:, None]
    return WallError(found.height, left, left.max(axis=-1), left.min(axis=-1), left.mean(axis=-1))


def _swing(case: Case, belief: Belief, engagement: Engagement, ways: tuple[Heading, ...]) -> Rows:
    """What swinging adds to it, by row and height [m]; nothing where speed or modes are not told."""
    machine = machine_entity(case)
    if case.op.cut.spindle_speed is None or not belief.has(machine, "mode_frequency"):
        return np.zeros((belief.rows, 1))
    rubs = mean_flank_damping(flank(case, belief), engagement.diameter, engagement.teeth, engagement.entry,
                              engagement.exit).square * engagement.depth_of_cut / speed(case)
    return swung_off(coefficients(case, belief), engagement, metres(case.op.cut.feed_per_tooth or 0.0),
                     eccentricity(case, belief), _square_modes(case, belief, ways), speed(case), _wall(case), rubs)


def _square_modes(case: Case, belief: Belief, ways: tuple[Heading, ...]) -> tuple[Mode, ...]:
    """The modes square to a wall: in each row those of the way in which the tip gives most."""
    each = [tip(case, belief, way).square for way in ways]
    if len(each) == 1:
        return each[0]
    gives = np.sum([[1.0 / np.asarray(mode.stiffness) for mode in modes] for modes in each], axis=1)
    first = gives[0] >= gives[1]
    return tuple(Mode(*(np.where(first, one, other) for one, other in zip(*both, strict=True)))
                 for both in zip(*each, strict=True))


def stands_back(case: Case, belief: Belief) -> Rows:
    """How much smaller the cutter cuts than when it was new, since its flank has worn, by row [m]."""
    land = flank_land(case, belief)
    return np.zeros(belief.rows) if land is None else set_back(land, RELIEF)


def corner_left(case: Case, belief: Belief) -> Rows | None:
    """What is left on in a corner where the cutter is suddenly held by more metal, by row [m]; None without one."""
    engagement, windows = engagement_of(case), case.windows
    if engagement is None or windows is None:
        return None
    # a program turns in the air, too, and where it leaves no wall
    makes = windows.entry <= AT_WALL if _wall(case) == "conventional" else windows.exit >= np.pi - AT_WALL
    corners = np.flatnonzero(windows.corner & (windows.depth > 0.0) & (windows.exit > windows.entry) & makes)
    if not len(corners):
        return None
    i = int(corners[np.argmax(windows.exit[corners] - windows.entry[corners])])
    there = engagement._replace(entry=float(windows.entry[i]), exit=float(windows.exit[i]))
    there = there._replace(entry=0.0) if _wall(case) == "conventional" else there._replace(exit=float(np.pi))
    return wall_left(case, belief, there).mean


def after_passes(case: Case, belief: Belief, passes: int) -> Rows | None:
    """What each pass at the same setting leaves on the wall, by row [m], shape (N, passes)."""
    engagement = engagement_of(case)
    if engagement is None or case.op.cut.direction == "slot":
        return None
    stiff = 1.0 / (1.0 / tool_give(case, belief) + base_give(case, belief, WAYS))
    feed = metres(case.op.cut.feed_per_tooth or 0.0)
    return spring_passes(coefficients(case, belief), engagement, feed, stiff, _wall(case), passes)


def _wall(case: Case) -> Literal["climb", "conventional"]:
    return "conventional" if case.op.cut.direction == "conventional" else "climb"
