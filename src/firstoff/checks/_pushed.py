"""How far the cutter is pushed off the wall, window by window, where a program makes finished faces."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import pi
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..belief import Belief, Rows
from ..cutting.force import Engagement
from ..medians import median
from ..part.shapes import Face
from ..removal.windows import Flag
from ._push import AT_WALL, wall_left
from .base import Case
from .si import metres, working_diameter

Floats = NDArray[np.float64]

NEAR: Final = 0.05          #: [mm] a cutter that comes so near to a face makes it
ALONG: Final = 0.7          #: [1] cosine between the wall and what is square to the path on the wall's side
UPRIGHT: Final = 1e-6       #: [1]
LEVEL: Final = 0.5          #: [1]
ROUGHLY: Final = 2          #: figures in which engagements are told apart
FOR_WORST: Final = 12       #: of them among which the worst is looked for
MOST: Final = 40            #: of them that are computed, those with the thickest layer of chips first


def touching(case: Case) -> NDArray[np.bool_]:
    """The windows that make a wall which the operation finishes: beside it, along it, on its side.

    Shape (W,).
    """
    windows = case.windows
    assert windows is not None
    made = np.zeros(len(windows), dtype=np.bool_)
    if case.op.leaves > 0.0:
        return made
    walls, finished = _walls(case), {number for feature in case.features for number in feature.faces}
    for face in case.part.faces:
        if face.number in finished:
            made |= _along(case, face, walls)
    cuts = (windows.depth > 0.0) & (windows.feed_per_tooth > 0.0) & (windows.exit > windows.entry)
    return np.asarray(made & cuts & (walls != 0))


def _along(case: Case, face: Face, walls: NDArray[np.int64]) -> NDArray[np.bool_]:
    """The windows that go along one face, if it is a wall."""
    windows, setting = case.windows, case.setting
    assert windows is not None
    axes = np.array([setting.across, np.cross(setting.up, setting.across)])
    from_face = windows.point - np.array(face.centroid)
    radius = 0.5 * case.tool.diameter
    if face.kind == "plane" and abs(float(np.dot(face.normal, setting.up))) < UPRIGHT:
        out = np.broadcast_to(np.array(face.normal), from_face.shape)
        away = from_face @ np.array(face.normal)
        room = radius + NEAR
        low, high = np.array(face.low) - room, np.array(face.high) + room
        flat = np.abs(np.array(setting.up)) < LEVEL          # heights do not count: a tip may be deeper than its wall
        beside = ((windows.point >= low) & (windows.point <= high))[:, flat].all(axis=1)
    elif (face.kind == "cylinder" and face.axis is not None and face.axis_point is not None and face.radius
          and abs(float(np.dot(face.axis, setting.up))) > 1.0 - UPRIGHT):
        from_axis = (windows.point - np.array(face.axis_point)) @ axes.T @ axes
        distance = np.linalg.norm(from_axis, axis=1, keepdims=True)
        sense = -1.0 if face.hollow else 1.0
        out = sense * np.divide(from_axis, distance, out=np.zeros_like(from_axis), where=distance > 0.0)
        away = sense * (distance[:, 0] - face.radius)
        beside = np.ones(len(windows), dtype=np.bool_)
    else:
        return np.zeros(len(windows), dtype=np.bool_)
    level = out @ axes.T
    right = np.stack([windows.direction[:, 1], -windows.direction[:, 0]], axis=1)
    leaves = walls * (right * level).sum(axis=1) < -ALONG
    return np.asarray(beside & leaves & (np.abs(away - radius) < NEAR))


def _walls(case: Case) -> NDArray[np.int64]:
    """Which wall each window makes: 1 for that of a climb cut, -1 for that of a conventional one, 0 for none."""
    windows = case.windows
    assert windows is not None
    climb, other = windows.exit >= pi - AT_WALL, windows.entry <= AT_WALL
    return np.where(climb, 1, np.where(other, -1, 0))


def pushed(case: Case, belief: Belief, most: int = MOST) -> Floats:
    """What each window leaves on the wall that it makes, as a middle of the rows.

    Args:
        case: an operation whose program was run.
        belief: few rows are enough.
        most: engagements that are computed.

    Returns:
        Left on, negative where it is cut too deep; nan where no finished wall is made [m], shape (W,).
    """
    windows = case.windows
    assert windows is not None
    found = np.full(len(windows), np.nan)
    kinds: dict[tuple[float, ...], list[int]] = {}
    walls = _walls(case)
    for i in np.flatnonzero(touching(case)).tolist():
        sizes = (windows.depth[i], windows.exit[i] - windows.entry[i], windows.feed_per_tooth[i],
                 *np.abs(windows.direction[i, :2]))
        key = (float(walls[i]), *(float(f"{size:.{ROUGHLY}g}") for size in sizes))
        kinds.setdefault(key, []).append(i)
    thick = sorted(kinds.values(), key=lambda own: -float(windows.depth[own[0]] * windows.feed_per_tooth[own[0]]))
    for own in thick[:most]:
        found[own] = median(left_in(case, belief, own[0]))
    return found


def left_in(case: Case, belief: Belief, window: int) -> Rows:
    """What one window leaves on its wall, by row [m]."""
    windows = case.windows
    assert windows is not None
    climb = _walls(case)[window] > 0
    entry, leave = float(windows.entry[window]), float(windows.exit[window])
    depth = float(windows.depth[window])
    engagement = Engagement(working_diameter(case, depth), case.tool.flutes, case.tool.helix, metres(depth),
                            entry if climb else 0.0, pi if climb else leave)
    cut = case.op.cut.model_copy(update={"feed_per_tooth": float(windows.feed_per_tooth[window]),
                                         "direction": "climb" if climb else "conventional"})
    there = replace(case, operation=case.op.model_copy(update={"cut": cut}))
    x, y, z = (float(item) for item in windows.direction[window])
    return wall_left(there, belief, engagement, (x, y, z)).mean


def worst_window(case: Case, belief: Belief) -> int | None:
    """The window that leaves a finished wall furthest off; None where no window makes one."""
    if case.run is None or case.windows is None or not len(case.windows):
        return None
    off = np.abs(pushed(case, belief, FOR_WORST))
    return None if np.isnan(off).all() else int(np.nanargmax(off))


def fastest_at_wall(case: Case) -> tuple[float, int] | None:
    """The greatest feed per tooth [mm] along a wall that is finished then, and its line; None without a program."""
    return _fastest(case, touching)


def fastest_on_floor(case: Case) -> tuple[float, int] | None:
    """The greatest feed per tooth [mm] over a floor that is finished then, and its line; None without a program."""
    return _fastest(case, on_floors)


def _fastest(case: Case, where: Callable[[Case], NDArray[np.bool_]]) -> tuple[float, int] | None:
    if case.run is None or case.windows is None or not len(case.windows):
        return None
    feed = np.where(where(case), case.windows.feed_per_tooth, 0.0)
    at = int(feed.argmax())
    return (float(feed[at]), int(case.windows.line[at])) if feed[at] > 0.0 else None


def on_floors(case: Case) -> NDArray[np.bool_]:
    """The windows whose tip goes over a level face which the operation finishes, at its height.

    Shape (W,).
    """
    windows, up = case.windows, np.array(case.setting.up)
    assert windows is not None
    over = np.zeros(len(windows), dtype=np.bool_)
    if case.op.leaves > 0.0:
        return over
    finished, flat = {number for feature in case.features for number in feature.faces}, np.abs(up) < LEVEL
    for face in case.part.faces:
        if face.number not in finished or face.kind != "plane" or float(np.dot(face.normal, up)) < 1.0 - UPRIGHT:
            continue
        at_height = np.abs((windows.point - np.array(face.centroid)) @ up) < NEAR
        inside = (windows.point >= np.array(face.low)) & (windows.point <= np.array(face.high))
        over |= at_height & inside[:, flat].all(axis=1)
    return over & ((windows.flags & Flag.RAPID) == 0 if len(windows.flags) else True)
