"""The surface comes out rougher than wanted: marks of the feed, of runout, ridges of a ball nose."""

from __future__ import annotations

from math import radians
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.finish import (
    height_for_roughness,
    mean_roughness,
    ridge_height,
    rounded_feed_mark,
    sharp_feed_mark,
    step_over_for_ridge,
    wall_cusp_with_runout,
)
from ..medians import median
from ..units import tell
from ._chance import OPERATION_SCATTER, discrepancy, weighed
from ._forces import eccentricity, is_milling
from ._knobs import FEED_DOWN
from ._push import sides
from ._pushed import fastest_at_wall, fastest_on_floor
from ._told import roughness
from .base import Case, Check, Finding, Knob
from .si import metres, micrometres, millimetres

NAME = "finish"
#: Dish of a flat end mill's end teeth; judged: 1 to 3 degrees.
DISH: Final = radians(2.0)
PLACES: Final = {"marks on the wall": fastest_at_wall, "marks on the floor": fastest_on_floor}
RIDGES: Final = "ridges between passes"
#: Spreads of real over reckoned roughness that a step-over leaves room for.
ROOM: Final = (1.0, 2.0, 3.0)
LEAST_STEP: Final = 0.02    #: [mm] nobody sets passes closer


def _applies(case: Case) -> bool:
    return (is_milling(case) and case.op.leaves == 0.0 and case.wanted.roughness is not None
            and bool(case.op.cut.feed_per_tooth))


def heights(case: Case, belief: Belief) -> dict[str, Rows]:
    """Height of the marks by where they are [m], by row."""
    tool, cut = case.tool, case.op.cut
    feed = metres(cut.feed_per_tooth or 0.0)
    even, offset = np.ones(belief.rows), eccentricity(case, belief)
    found: dict[str, Rows] = {}
    if ridged(case):
        found[RIDGES] = ridge_height(metres(step_over(case)), metres(tool.diameter), corner(case)) * even
    if tool.kind == "ball":
        # one tooth stands out and makes the mark of a turn
        found["marks along the pass"] = rounded_feed_mark(feed * tool.flutes, metres(tool.diameter) / 2.0) * even
        return found
    if "wall" in sides(case):
        program = fastest_at_wall(case)
        along = feed if program is None else metres(program[0])
        found["marks on the wall"] = wall_cusp_with_runout(along, metres(tool.diameter), tool.flutes, offset) * even
    if "floor" in sides(case):
        program = fastest_on_floor(case)
        along = feed if program is None else metres(program[0])
        turn = along * tool.flutes                 # one end tooth stands lowest and makes the mark of a turn
        mark = (rounded_feed_mark(turn, metres(tool.corner_radius)) if tool.corner_radius > 0.0
                else sharp_feed_mark(turn, 0.0, DISH))
        found["marks on the floor"] = mark * even
    return found


def corner(case: Case) -> float:
    """Radius of the cutter's corner; of a ball half its diameter [m]."""
    tool = case.tool
    return metres(tool.diameter) / 2.0 if tool.kind == "ball" else metres(tool.corner_radius)


def step_over(case: Case) -> float:
    """From pass to pass, at most the cutter's diameter [mm]."""
    cut = case.op.cut
    return min(cut.width_of_cut or cut.depth_of_cut or 0.0, case.tool.diameter)


def ridged(case: Case) -> bool:
    """Whether passes leave ridges between them: a ball always, a corner radius where the passes hardly overlap."""
    tool, rows = case.tool, case.op.role in ("face_finish", "ramp_finish", "form")
    return tool.kind == "ball" or (rows and tool.corner_radius > 0.0
                                   and step_over(case) > tool.diameter - 2.0 * tool.corner_radius)


def _evaluate(case: Case, belief: Belief) -> Finding:
    marks = heights(case, belief)
    where = max(marks, key=lambda name: median(marks[name]))
    rough = mean_roughness(marks[where]) * discrepancy(belief, "finish")
    wanted = np.full(belief.rows, metres(case.wanted.roughness or 0.0))
    program = PLACES[where](case) if where in PLACES else None
    there = where if program is None else f"{where} in line {program[1]}"
    units = case.job.units
    asked = roughness(wanted, units).partition(" ")[0]
    because = f"{there} come to about Ra {roughness(rough, units)}; wanted {asked}"
    return weighed(NAME, case, "finish", micrometres(rough), micrometres(wanted), OPERATION_SCATTER["chip"],
                   unit="um", because=because, settle_by="cut a scrap so, and compare it with a roughness specimen")


def steps_for_finish(case: Case) -> list[float]:
    """Steps from pass to pass that leave the wanted finish: as reckoned, and with room for what comes on top [mm].

    None where no finish is wanted, no ridges are left, or the passes lie closer already.
    """
    if case.wanted.roughness is None or not ridged(case):
        return []
    book, now, found = case.shop.discrepancies.get("finish"), step_over(case), list[float]()
    worse, wide = (book.factor.value, book.factor.factor or 1.0) if book else (1.0, 1.0)
    for above in ROOM:
        height = float(height_for_roughness(metres(case.wanted.roughness or 0.0) / (worse * wide**above)))
        if height < corner(case):
            step = millimetres(float(step_over_for_ridge(height, metres(case.tool.diameter), corner(case))))
            step = round(step - 0.005, 2)
            if LEAST_STEP <= step < now:
                found.append(step)
    return found


def _steps(case: Case) -> list[object]:
    return [*steps_for_finish(case)]


def _say_step(case: Case, value: object) -> str:
    assert isinstance(value, int | float)
    units = case.job.units
    return f"passes {tell(float(value), 'length', units)} apart, not {tell(step_over(case), 'length', units)}"


STEP_OVER = Knob("cut.width_of_cut", _steps, _say_step)
CHECK = Check(NAME, "surface too rough", "finish", "operation", _applies, _evaluate, knobs=(STEP_OVER, FEED_DOWN))

