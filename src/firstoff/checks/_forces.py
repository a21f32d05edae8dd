"""Forces of an operation by row, window by window: the same for every check that weighs them."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..cutting.edge import Beside, Edge, Profile, edge_in_cut, edge_of_slices, profile_radius
from ..cutting.force import Coefficients, Engagement, Forces, milling_forces
from ..cutting.force_law import ThinChips
from ..cutting.push_off import FLUTED_CORE, equivalent_diameter, series_stiffness, tapered_diameter, tool_stiffness
from ..cutting.rubbing import minimum_chip
from ..cutting.wall import beam_compliance
from ..errors import OutOfRange
from ..job.route import STRAIGHT_DOWN
from ..medians import median
from ..shop.fill import SPAN
from ..shop.models import UNDERCUT, Tool
from ._blunt import blunted
from ._chance import discrepancy, known
from ._worst_windows import worst_windows
from .base import Case
from .si import TAPERED, metres, value, working_diameter

MILLING = frozenset({"end_mill", "ball", "corner_radius", "face_mill", "chamfer"}) | UNDERCUT
_NOT_MILLING = frozenset({"file", "saw", "lap", "measure", "drill", "spot", "ream", "tap", "countersink"})
#: Roles in which most rows lie beside one that the same cutter has cut; an edge to be broken, or a wall that another
#: cutter has roughed, stands upright.
_IN_ROWS: Final = frozenset({"form", "face_rough", "face_finish", "ramp_rough", "ramp_finish", "side_rough",
                             "pocket_rough"})
#: Of a way down [rad]: a steeper one cuts with the end of the tool more than with its side; judged.
STEEP: Final = 0.2
#: By which the end teeth of a milling cutter rise towards the middle [rad]: 1 to 3 degrees (machinery; recalled).
DISH: Final = float(np.radians(2.0))
#: Pieces of a cone that bends: within 1 in 500 of many more.
_SECTIONS: Final = 64
#: Least chip of an end over that of a side: 0.6 to 0.68 of the edge radius where sides take 0.3 (cheng2018).
END_FLOOR: Final = 0.64 / 0.3


class Bite(NamedTuple):
    """One engagement of the operation."""

    depth: float                 # [mm]
    width: float                 # [mm]
    seconds: float               # spent in it [s]
    heading: tuple[float, float, float]
    engagement: Engagement       # SI, at the working diameter
    edge: Engagement | Edge      # what cuts: the same cylinder, or the slices of another outline, or a way down
    feed: float                  # per tooth [m]
    undercut: bool               # by a cutter wider than its neck


class Load(NamedTuple):
    """The same with its forces by row."""

    depth: float                 # [mm]
    width: float                 # [mm]
    seconds: float               # spent in it [s]
    heading: tuple[float, float, float]
    engagement: Engagement       # SI, at the working diameter
    edge: Engagement | Edge      # what cuts: the same cylinder, or the slices of another outline, or a way down
    feed: float                  # per tooth [m]
    undercut: bool               # by a cutter wider than its neck
    forces: Forces               # [N], [N m], by row


def is_milling(case: Case) -> bool:
    """Whether the operation mills, with windows and a speed to compute from."""
    if case.operation is None or case.op.tool is None or case.windows is None or not len(case.windows):
        return False
    return (case.tool.kind in MILLING and case.op.role not in _NOT_MILLING
            and case.op.cut.spindle_speed is not None)


def speed(case: Case) -> float:
    """Speed of the spindle [rad/s]."""
    assert case.op.cut.spindle_speed is not None
    return case.op.cut.spindle_speed


def stickout(case: Case) -> float:
    """How far the tool stands out of its collet [mm]: as planned, as usually held, or just clear of the flutes."""
    tool = case.tool
    return case.op.stickout or tool.stickout or min(tool.flute_length + shank(case), tool.overall_length)


def shank(case: Case) -> float:
    """Diameter of the tool's shank [mm]."""
    return case.tool.shank or case.tool.diameter


def material_entity(case: Case) -> str:
    """The material as columns name it."""
    return f"material:{case.material_name}"


def machine_entity(case: Case) -> str:
    """The machine as columns name it."""
    return f"machine:{case.machine_name}"


def coefficients(case: Case, belief: Belief) -> Coefficients:
    """The force law by row: material with its bar, how far the law itself is out, and how blunt the tool is."""
    return blunted(sharp_coefficients(case, belief), case, belief)


def sharp_coefficients(case: Case, belief: Belief) -> Coefficients:
    """The force law by row of an edge that is run in and no more, for what does not depend on its wear."""
    entity = material_entity(case)

    def found(by: Belief) -> Coefficients:
        off = discrepancy(by, "force")
        return Coefficients(*(value(by, entity, name) * off for name in Coefficients._fields))

    return belief.derived(("law", entity), found)


def eccentricity(case: Case, belief: Belief) -> Rows:
    """Offset of the tool's axis from the spindle's, by row [m]; 0 where no collet is named."""
    return np.abs(known(belief, f"collet:{case.op.collet}", "runout", 0.0))


def loads(case: Case, belief: Belief) -> tuple[Load, ...]:
    """Every different engagement of the operation, with its forces by row.

    Raises:
        OutOfRange: if the tool cuts nothing at all in this operation.
    """
    law, offset = coefficients(case, belief), eccentricity(case, belief)
    key = _digest(case, (*law, offset))
    if key not in _recent:
        while len(_recent) >= _KEPT:
            _recent.pop(next(iter(_recent)))
        _recent[key] = tuple(Load(*bite, milling_forces(law, bite.edge, bite.feed, offset))
                             for bite in bites(case, belief))
    return _recent[key]


def bites(case: Case, belief: Belief) -> tuple[Bite, ...]:
    """Every different engagement of the operation, of many those that can be the worst in some row.

    Raises:
        OutOfRange: if the tool cuts nothing at all in this operation.
    """
    law, floor = sharp_coefficients(case, belief), _floor(case, belief)
    key = _digest(case, (*law, floor))
    if key not in _bitten:
        while len(_bitten) >= _KEPT:
            _bitten.pop(next(iter(_bitten)))
        kinds = _different(case)
        if not kinds:
            raise OutOfRange("the tool takes nothing off here: depth, width or feed is nothing")
        assert case.windows is not None
        kinds = worst_windows(case.windows, kinds, law, profile_of(case), case.tool.flutes, case.tool.helix)
        thin = ThinChips(1.0, median(law.tangential), median(law.tangential_edge), floor, *SPAN)
        _bitten[key] = tuple(_bite(case, i, seconds, thin) for i, seconds in kinds)
    return _bitten[key]


#: the last few operations, since several checks ask for the same forces; the key holds all they depend on
_recent: dict[bytes, tuple[Load, ...]] = {}
_bitten: dict[bytes, tuple[Bite, ...]] = {}
_KEPT = 64


def _digest(case: Case, figures: Iterable[float | Rows]) -> bytes:
    assert case.windows is not None
    tool = case.tool
    profile = (tool.kind, tool.diameter, tool.flutes, tool.helix, profile_of(case), _beside(case))
    hasher = hashlib.blake2b(repr(profile).encode(), digest_size=16)
    hasher.update(case.windows.digest)
    for rows in figures:
        hasher.update(np.ascontiguousarray(rows).tobytes())
    return hasher.digest()


def _different(case: Case) -> list[tuple[int, float]]:
    """One window of each kind that cuts, and the seconds spent in all of its kind."""
    windows = case.windows
    assert windows is not None
    kinds: dict[tuple[float, ...], tuple[int, float]] = {}
    for i in range(len(windows)):
        if windows.depth[i] <= 0.0 or windows.exit[i] <= windows.entry[i] or windows.feed_per_tooth[i] <= 0.0:
            continue
        key = (round(float(windows.depth[i]), 4), round(float(windows.entry[i]), 4),
               round(float(windows.exit[i]), 4), round(float(windows.feed_per_tooth[i]), 6),
               *np.abs(np.round(windows.direction[i, :2], 2)), round(float(windows.direction[i, 2]), 2))
        index, seconds = kinds.get(key, (i, 0.0))
        kinds[key] = (index, seconds + float(windows.seconds[i]))
    return list(kinds.values())


def tool_edge(case: Case, belief: Belief) -> tuple[str, str]:
    """The column of the rounding of the edge: the tool's own figure, else that of its material."""
    own = f"tool:{case.op.tool}"
    return own if belief.has(own, "edge_radius") else f"tool_material:{case.tool.material}", "edge_radius"


def _floor(case: Case, belief: Belief) -> float:
    """Least chip that the end of the cutter takes off on a way down, in the middle row [m]; 0 where it is level."""
    assert case.windows is not None
    if not np.any(case.windows.direction[:, 2] < 0.0):
        return 0.0
    ratio = END_FLOOR * value(belief, "shop", "rubbing_ratio")
    return median(minimum_chip(value(belief, *tool_edge(case, belief)), ratio))


def _bite(case: Case, i: int, seconds: float, law: ThinChips) -> Bite:
    windows = case.windows
    assert windows is not None
    depth, feed = float(windows.depth[i]), metres(float(windows.feed_per_tooth[i]))
    engagement = Engagement(
        working_diameter(case, depth), case.tool.flutes, case.tool.helix, metres(depth),
        float(windows.entry[i]), float(windows.exit[i]))
    x, y, z = (float(item) for item in windows.direction[i])
    slope = float(np.arctan2(-z, np.hypot(x, y)))
    thin = law._replace(feed_per_tooth=feed)
    edge = _edge_of_window(case, i, slope, thin) or edge_of(case, engagement, slope, thin)
    return Bite(depth, float(windows.width[i]), seconds, (x, y, z), engagement, edge, feed,
                case.tool.neck is not None)


def _edge_of_window(case: Case, i: int, slope: float, thin: ThinChips) -> Edge | None:
    """The edge by the slices that were counted in a window; None where there are none, or on a steep way down."""
    assert case.windows is not None
    slices = case.windows.slices
    if not len(slices) or abs(slope) > STEEP:
        return None
    begin, end = slices.offsets[i:i + 2]
    if end == begin:
        return None
    low, high = slices.low[begin:end], slices.high[begin:end]
    return edge_of_slices(
        profile_of(case), case.tool.flutes, case.tool.helix, metres(0.5 * (low + high)), metres(high - low),
        slices.entry[begin:end], slices.exit[begin:end], slope, thin)


def edge_of(
    case: Case, engagement: Engagement, slope: float = 0.0, thin: ThinChips | None = None,
) -> Engagement | Edge:
    """What of the tool's edge cuts: a cylinder as it is, any other outline or a way down in slices.

    Args:
        case: an operation with a milling cutter.
        engagement: the cut at the working diameter, SI.
        slope: of the way down that the tool goes [rad].
        thin: by which its end has its share of the edge force there.
    """
    outline = profile_of(case)
    if slope == 0.0 and outline.corner_radius == 0.0 and outline.half_angle == 0.0:
        return engagement
    return _sliced(outline, engagement.teeth, engagement.helix, engagement.depth_of_cut, engagement.entry,
                   engagement.exit, slope, thin if slope > 0.0 else None, _beside(case))


def _beside(case: Case) -> Beside:
    return "row" if case.op.role in _IN_ROWS else "wall"


#: both ways of a pass, several checks and all feeds of a cut have one edge
_sliced = lru_cache(maxsize=256)(edge_in_cut)


def profile_of(case: Case) -> Profile:
    """Outline of the operation's cutter, SI, and the hole that it goes down into."""
    outline = outline_of(case.tool)
    return outline._replace(hole=metres(case.op.pilot)) if case.op.down > STRAIGHT_DOWN else outline


def outline_of(tool: Tool) -> Profile:
    """Outline of a cutter, SI: an included angle makes a taper, a neck an undercut."""
    size, tip = metres(tool.diameter), metres(tool.tip_diameter)
    if tool.neck is not None:
        leans = np.arctan2(tool.diameter - tool.neck, 2.0 * tool.flute_length) if tool.kind == "dovetail" else 0.0
        return Profile(size, 0.0, -float(leans), size, metres(tool.flute_length), metres(tool.neck))
    half = (tool.point_angle or 0.0) / 2.0
    corner = metres(tool.corner_radius) or (size / 2.0 if tool.kind == "ball" and half == 0.0 else 0.0)
    if half == 0.0:
        tip = size - 2.0 * corner
    return Profile(size, corner, half, tip, dish=DISH if half == 0.0 and tip > 0.0 else 0.0)


def worst(found: tuple[Load, ...], name: str) -> Rows:
    """The worst window by row of one of the fields of Forces."""
    return np.asarray(np.max([getattr(load.forces, name) for load in found], axis=0))


def mean_torque(found: tuple[Load, ...]) -> Rows:
    """Mean torque over the time in the cut, by row [N m]."""
    total = sum(load.seconds for load in found)
    share = [load.seconds / total if total > 0.0 else 1.0 / len(found) for load in found]
    return np.asarray(sum(part * load.forces.mean_torque for part, load in zip(share, found, strict=True)))


def slender(case: Case) -> tuple[float, float]:
    """Length from the tip, and the diameter that bends, of what is thinner than the shank: flutes, or a neck up to
    the shank. The short head below a neck counts as thin as that, on the careful side [m]."""
    tool = case.tool
    if tool.neck is not None:
        return metres(tool.neck_length or tool.flute_length), metres(tool.neck)
    return metres(tool.flute_length), bends_as(case)


def bends_as(case: Case) -> float:
    """Diameter of the plain bar that bends as the flutes do [m]; of a tapered cutter as its cone."""
    whole = metres(case.tool.diameter)
    if tapered(case):
        height, wide = sections_of(case)
        whole = float(tapered_diameter(height, wide))
    return float(equivalent_diameter(whole, FLUTED_CORE))


def tapered(case: Case) -> bool:
    """Whether the cutter's flutes are a cone."""
    return bool(case.tool.point_angle) and case.tool.kind in TAPERED


def sections_of(case: Case) -> tuple[Rows, Rows]:
    """Heights along the flutes from where they begin to cut, and how wide they are there [m]."""
    height = metres(case.tool.flute_length) * np.arange(1, _SECTIONS + 1) / _SECTIONS
    wide = 2.0 * profile_radius(profile_of(case), height)
    return np.concatenate([np.zeros(1), height]), np.concatenate([wide[:1], wide])


def tool_give(case: Case, belief: Belief) -> Rows:
    """Stiffness of the tool at its tip, by row [N/m]."""
    young = value(belief, f"tool_material:{case.tool.material}", "young")
    length, thin = slender(case)
    return tool_stiffness(young, metres(stickout(case)), length, metres(shank(case)), thin)


def tool_compliance(case: Case, belief: Belief, load_height: Rows, height: Rows) -> Rows:
    """Give of the tool at heights above its tip [m] for side forces at others, by row [m/N]: shape (N, ...)."""
    young, (length, thin) = value(belief, f"tool_material:{case.tool.material}", "young"), slender(case)
    one = beam_compliance(1.0, metres(stickout(case)), length, metres(shank(case)), thin, load_height, height)
    return np.asarray(one / young.reshape(-1, *np.ones(one.ndim, dtype=int)))


def side_stiffness(
    case: Case, belief: Belief, heading: tuple[float, float, float], machine_share: float = 1.0
) -> Rows:
    """Stiffness of tool, collet and machine square to the feed in the plane of the table, by row [N/m].

    Args:
        case: an operation with a tool.
        belief: what is believed.
        heading: direction of feed in the setting's axes [1].
        machine_share: share of the machine's give that counts [1].

    Returns:
        Stiffness [N/m], shape (N,).
    """
    give, collet = _give_across(case, belief, heading), known(belief, f"collet:{case.op.collet}", "stiffness", np.inf)
    return series_stiffness(tool_give(case, belief), collet, 1.0 / (machine_share * give))


def base_give(case: Case, belief: Belief, ways: tuple[tuple[float, float, float], ...]) -> Rows:
    """Give of collet and machine square to the worst of these directions of feed, by row [m/N]."""
    collet = known(belief, f"collet:{case.op.collet}", "stiffness", np.inf)
    return np.asarray(np.max([_give_across(case, belief, way) for way in ways], axis=0) + 1.0 / collet)


def _give_across(case: Case, belief: Belief, heading: tuple[float, float, float]) -> Rows:
    along = np.hypot(heading[0], heading[1])
    across_x, across_y = (heading[1] / along, heading[0] / along) if along > 0.0 else (0.0, 1.0)
    machine = machine_entity(case)
    return (across_x**2 / value(belief, machine, "stiffness_x")
            + across_y**2 / value(belief, machine, "stiffness_y"))
