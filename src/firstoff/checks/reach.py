"""The tool does not reach: its shank rubs on a wall, or the collet nut meets the work."""

from __future__ import annotations

from typing import Final

from ..belief import Belief
from ..job.faces import dot
from ..part.shapes import Face, Vector
from ..units import tell
from ._chance import decided
from ._forces import MILLING, shank, stickout
from .base import Case, Check, Finding, Knob

NAME = "reach"
#: room that the collet's nut needs above the work [mm]; chips lie there
CLEARANCE: Final = 1.0
_HOLES: Final = frozenset({"drill", "tap", "reamer"})


def _heights(face: Face, up: Vector) -> tuple[float, float]:
    """From where to where a face reaches along a direction: by its outline, else by its box."""
    points = [point for line in face.outlines for point in line] or [
        (x, y, z) for x in (face.low[0], face.high[0]) for y in (face.low[1], face.high[1])
        for z in (face.low[2], face.high[2])]
    along = [dot(point, up) for point in points]
    return min(along), max(along)


def depth_of(case: Case) -> float:
    """How deep the operation goes below the upper edge of what it cuts [mm]."""
    if case.op.role.startswith("face"):
        return 0.0
    if case.tool.kind in _HOLES:
        return max((f.size.get("depth", 0.0) for f in case.features), default=0.0)
    spans = [_heights(case.part.faces[n], case.setting.up) for f in case.features for n in f.faces]
    depth = max((high for _, high in spans), default=0.0) - min((low for low, _ in spans), default=0.0)
    above = case.setting.holding.stick_up
    return min(depth, above) if above > 0.0 else depth


def reaches(case: Case) -> float:
    """How deep the tool can go [mm]: to its shank where that is thicker than flutes or neck, else to the collet."""
    free = stickout(case) - CLEARANCE
    if case.tool.neck_length is not None:
        return min(case.tool.neck_length, free)
    if case.tool.kind == "chamfer":
        return free
    if case.tool.kind in _HOLES or shank(case) > case.tool.diameter:
        return min(case.tool.flute_length, free)
    return free


def _applies(case: Case) -> bool:
    if case.operation is None or case.op.tool is None or case.op.role in ("file", "saw", "lap", "measure", "spot"):
        return False
    return case.tool.kind in MILLING | _HOLES


def _evaluate(case: Case, belief: Belief) -> Finding:
    deep, can = depth_of(case), reaches(case)
    units = case.job.units
    what = "its flutes end" if case.tool.flute_length < stickout(case) - CLEARANCE else "the collet is there"
    if case.tool.neck_length is not None and case.tool.neck_length < stickout(case) - CLEARANCE:
        what = "its neck ends"
    elif case.tool.kind in MILLING and shank(case) <= case.tool.diameter:
        what = "the collet is there"
    because = f"the cut goes {tell(deep, 'length', units, 2)} deep; {what} after {tell(can, 'length', units, 2)}"
    because += f": {tell(deep - can, 'length', units, 2)} short" if deep > can else ""
    return decided(NAME, case, belief, "part", deep, can, unit="mm", because=because)


def _longer(case: Case) -> list[object]:
    """Stickouts that would do, as far as the tool is long: a fifth or twelve millimetres stay in the collet."""
    need, tool = depth_of(case) + CLEARANCE, case.tool
    most = tool.overall_length - max(tool.overall_length / 5.0, 12.0)
    return [float(round(need + more)) for more in (1.0, 3.0) if stickout(case) < round(need + more) <= most]


def _other_tools(case: Case) -> list[object]:
    """Tools of the same kind and size that reach deeper."""
    now = case.tool
    collet = case.shop.collets.get(case.op.collet or "")
    return [key for key, tool in case.shop.tools.items()
            if key != case.op.tool and tool.kind == now.kind and tool.diameter <= now.diameter
            and tool.diameter >= 0.6 * now.diameter and (tool.neck_length or tool.flute_length) >= depth_of(case)
            and (collet is None or collet.grips[0] <= (tool.shank or tool.diameter) <= collet.grips[1])]


def _say_out(case: Case, value: object) -> str:
    assert isinstance(value, float)
    units = case.job.units
    return f"{tell(value, 'length', units)} out of the collet, not {tell(stickout(case), 'length', units)}"


CHECK = Check(
    NAME, "shank rubs or collet meets the work", "part", "operation", _applies, _evaluate,
    knobs=(Knob("stickout", _longer, _say_out),
           Knob("tool", _other_tools, lambda case, key: f"{case.shop.tools[str(key)].name}, not {case.tool.name}")))
