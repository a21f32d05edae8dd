"""What an operation does to its tool and to the heat of its part, in few numbers, for those that come after it."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Final

import numpy as np

from ..belief import Rows
from ..cutting.edge import Profile, slice_outline
from ..cutting.engagement import cutting_speed
from ..cutting.thread import COARSE
from ..kept import kept
from ._contacts_left import gone_by
from ._forces import is_milling, profile_of, speed
from ._life import BOOK_ARC
from .base import Case, Past
from .scale import raw_faces
from .si import cubic_metres, metres, working_diameter

#: A tap wrench, half a turn a second [rad/s]; judged.
BY_HAND: Final = np.pi
#: Pieces of a leaning edge: a ball's is then as long as its arc within 1 in 500.
_PIECES: Final = 12


def _stands_on(case: Case) -> tuple[object, ...]:
    """All that it does to its tool and part is told by; a program also by what was milled away before it."""
    if case.run is not None:
        return (case,)
    return (case.name, case.operation, case.setting, case.windows, case.state, case.parts, case.job, case.shop)


@kept(1024, by=_stands_on)
def past_of(case: Case) -> Past:
    """An operation as those after it see it; also as its own checks of heat and wear do."""
    return replace(_past_of(case), gone=gone_by(case))


def _past_of(case: Case) -> Past:
    op, windows = case.op, case.windows
    seconds = float(windows.seconds.sum()) if windows is not None else 0.0
    bare = (op.setting, op.tool, case.tool.material if op.tool else "", case.material_name, op.cut.coolant)
    if is_drilling(case):
        edge = float(cutting_speed(metres(case.tool.diameter), speed(case)))
        return Past(*bare, False, op.fresh, seconds, op.cooling, edge_time=BOOK_ARC * time_drilling(case), speed=edge,
                    operation=case.name)                         # its lips cut all the time
    own = _with_its_own_law(case)
    if own is not None:
        law, spent, edge = own
        return Past(*bare, False, op.fresh, seconds, op.cooling, edge_time=BOOK_ARC * spent, speed=edge,
                    operation=case.name, law=law)
    if not is_milling(case):
        return Past(*bare, False, op.fresh, seconds, op.cooling, operation=case.name)
    thick = chips(case)
    at = int(thick.argmax())
    assert windows is not None
    depth = float(windows.depth[at])
    arcs = np.maximum(windows.exit - windows.entry, 0.0)
    return Past(
        *bare, raw_faces(case), op.fresh, seconds, op.cooling, volume=cubic_metres(float(windows.volume.sum())),
        edge_time=float((time_in_cut(case) * arcs).sum()), chip=metres(float(thick[at])), depth=metres(depth),
        speed=float(cutting_speed(working_diameter(case, depth), speed(case))), operation=case.name,
        deep=depth / case.tool.diameter)


def is_drilling(case: Case) -> bool:
    """Whether the operation drills, with windows, a speed and a feed to compute from."""
    if case.operation is None or case.op.tool is None or case.windows is None:
        return False
    return (case.tool.kind == "drill" and case.op.role == "drill" and bool(case.op.cut.spindle_speed)
            and bool(case.op.cut.feed_per_tooth))


def _with_its_own_law(case: Case) -> tuple[str, float, float] | None:
    """Of a tap or reamer: which law of life it has, time in the cut [s] and speed of its edge [m/s]; None of others.

    A tap goes in and comes out; one that is turned by hand does so half a turn a second.
    """
    if case.operation is None or case.op.tool is None:
        return None
    kind, cut, size = case.tool.kind, case.op.cut, metres(case.tool.diameter)
    deep = sum(feature.size.get("depth", 0.0) for feature in case.features) or case.op.removes
    thread = COARSE.get(case.tool.thread or "")
    if kind == "tap" and case.op.role == "tap" and thread is not None:
        turn = cut.spindle_speed or BY_HAND
        return "tap", 2.0 * metres(deep) / thread.pitch * 2.0 * np.pi / turn, float(cutting_speed(size, turn))
    feed = metres((cut.feed_per_tooth or 0.0) * case.tool.flutes)
    if kind == "reamer" and case.op.role == "ream" and cut.spindle_speed and feed > 0.0:
        turn = cut.spindle_speed
        return "ream", metres(deep) / feed * 2.0 * np.pi / turn, float(cutting_speed(size, turn))
    return None


def time_drilling(case: Case) -> float:
    """Time that a drill is really in the metal, without ways back for its chips [s]."""
    windows = case.windows
    assert windows is not None
    feed = (case.op.cut.feed_per_tooth or 0.0) * case.tool.flutes * speed(case) / (2.0 * np.pi)
    return float(windows.volume.sum()) / (np.pi / 4.0 * case.tool.diameter**2 * feed)


def chips(case: Case) -> Rows:
    """Mean thickness of the chip in each window, 0 where nothing is cut [mm], shape (W,).

    Over all of the edge: as much longer as it is where it leans, the chip is thinner.
    """
    windows = case.windows
    assert windows is not None
    arc = windows.exit - windows.entry
    swept = windows.feed_per_tooth * (np.cos(windows.entry) - np.cos(windows.exit)) * _leaning(case)
    mean: Rows = np.divide(swept, arc, out=np.zeros_like(arc), where=(arc > 0.0) & (windows.depth > 0.0))
    return mean


def _leaning(case: Case) -> Rows:
    """Depth of each window over the length of edge that cuts it [1], shape (W,)."""
    assert case.windows is not None
    outline, depth = profile_of(case), case.windows.depth
    if outline.corner_radius == 0.0 and outline.half_angle == 0.0:
        return np.ones(len(depth))
    deep, of = np.unique(depth[depth > 0.0], return_inverse=True)
    share = np.ones(len(depth))
    share[depth > 0.0] = (_leaning_in(outline, tuple(deep.tolist())) if len(deep) else deep)[of]
    return share


@lru_cache(maxsize=256)
def _leaning_in(outline: Profile, depths: tuple[float, ...]) -> Rows:
    """The same of an outline at some depths [mm]: candidates of one cut are often as deep as each other."""
    deep = np.asarray(metres(np.array(depths)))[:, None]
    marks = deep * (1.0 - np.cos(np.linspace(0.0, np.pi / 2.0, _PIECES + 1)))      # closer to the tip, where it turns
    length = slice_outline(outline, marks[:, :-1], marks[:, 1:]).length.sum(axis=1)
    return np.asarray(deep[:, 0] / length)


def time_in_cut(case: Case) -> Rows:
    """Time that the tool is really in the metal, by window, without approaches and ways back [s], shape (W,)."""
    windows = case.windows
    assert windows is not None
    feed = windows.feed_per_tooth * case.tool.flutes * speed(case) / (2.0 * np.pi)
    swept = windows.depth * windows.width * feed
    spent: Rows = np.divide(windows.volume, swept, out=np.zeros_like(swept), where=swept > 0.0)
    return spent
