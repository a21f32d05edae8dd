"""The surface comes out rougher than wanted: marks of the feed, of runout, ridges of a ball nose."""

from __future__ import annotations

from math import radians
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.finish import (
    ball_scallop,
    mean_roughness,
    rounded_feed_mark,
    sharp_feed_mark,
    wall_cusp_with_runout,
)
from ._chance import OPERATION_SCATTER, discrepancy, middle, weighed
from ._forces import eccentricity, is_milling
from ._knobs import FEED_DOWN, WIDTH
from ._push import sides
from .base import Case, Check, Finding
from .si import metres, micrometres

NAME = "finish"
#: Dish of a flat end mill's end teeth; judged: 1 to 3 degrees.
DISH: Final = radians(2.0)


def _applies(case: Case) -> bool:
    return (is_milling(case) and case.op.leaves == 0.0 and case.wanted.roughness is not None
            and bool(case.op.cut.feed_per_tooth))


def heights(case: Case, belief: Belief) -> dict[str, Rows]:
    """Height of the marks by where they are [m], by row."""
    tool, cut = case.tool, case.op.cut
    feed = metres(cut.feed_per_tooth or 0.0)
    even, offset = np.ones(belief.rows), eccentricity(case, belief)
    found: dict[str, Rows] = {}
    if tool.kind == "ball":
        step = min(cut.width_of_cut or cut.depth_of_cut or 0.0, tool.diameter)
        return {"ridges between passes": ball_scallop(metres(step), metres(tool.diameter)) * even}
    if "wall" in sides(case):
        found["marks on the wall"] = wall_cusp_with_runout(feed, metres(tool.diameter), tool.flutes, offset) * even
    if "floor" in sides(case):
        turn = feed * tool.flutes                  # one end tooth stands lowest and makes the mark of a turn
        mark = (rounded_feed_mark(turn, metres(tool.corner_radius)) if tool.corner_radius > 0.0
                else sharp_feed_mark(turn, 0.0, DISH))
        found["marks on the floor"] = mark * even
    return found


def _evaluate(case: Case, belief: Belief) -> Finding:
    marks = heights(case, belief)
    where = max(marks, key=lambda name: float(np.median(marks[name])))
    rough = mean_roughness(marks[where]) * discrepancy(belief, "finish")
    wanted = np.full(belief.rows, metres(case.wanted.roughness or 0.0))
    because = (f"{where} come to about Ra {middle(micrometres(rough))} um; wanted {middle(micrometres(wanted))}")
    return weighed(NAME, case, "finish", micrometres(rough), micrometres(wanted), OPERATION_SCATTER["chip"],
                   unit="um", because=because, settle_by="cut a scrap so, and compare it with a roughness specimen")


CHECK = Check(NAME, "surface too rough", "finish", "operation", _applies, _evaluate, knobs=(FEED_DOWN, WIDTH))

