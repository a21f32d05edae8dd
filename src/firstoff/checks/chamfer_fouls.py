"""A chamfer that runs against a wall: the round cutter cannot follow it to its end, or cuts into the wall."""

from __future__ import annotations

import math
from typing import Final

from ..belief import Belief
from ..job.faces import dot
from ..part.shapes import Face, Feature
from ..units import tell
from ._chance import decided
from .base import Case, Check, Finding, Knob

NAME = "chamfer fouls"
#: what a stroke of a file at the end of a chamfer hides [mm]; judged
HIDDEN: Final = 0.2


def walls_at_ends(case: Case, feature: Feature) -> list[Face]:
    """Faces that a chamfer runs against: those that stand on it with a concave edge."""
    own = set(feature.faces)
    found: dict[int, Face] = {}
    for edge in case.part.edges:
        inside = own & set(edge.faces)
        if len(inside) == 1 and edge.convexity == "concave":
            other = edge.faces[0] if edge.faces[1] in inside else edge.faces[1]
            found[other] = case.part.faces[other]
    return list(found.values())


def left_over(case: Case, feature: Feature, wall: Face) -> float:
    """Length of chamfer that the cutter cannot reach before its body meets the wall [mm].

    The cutter's middle must stay off the wall by its radius at the height up to which the wall stands; what
    it cuts lies abreast of its middle.
    """
    tool, up = case.tool, case.setting.up
    half = (tool.point_angle or math.pi / 2.0) / 2.0
    top = max(_height(case.part.faces[number], up) for number in feature.faces)
    above = max(_height(wall, up) - top, 0.0)
    width = feature.size.get("width", 0.0)
    return min(tool.diameter / 2.0, tool.tip_diameter / 2.0 + (width + above) * math.tan(half))


def _height(face: Face, up: tuple[float, float, float]) -> float:
    return max(dot(corner, up) for corner in (
        (x, y, z) for x in (face.low[0], face.high[0]) for y in (face.low[1], face.high[1])
        for z in (face.low[2], face.high[2])))


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.tool.kind == "chamfer"
            and any(f.kind == "chamfer" for f in case.features))


def worst_end(case: Case) -> tuple[float, str]:
    """The most that remains at any end [mm], and of which chamfer."""
    ends = [(left_over(case, feature, wall), feature.id) for feature in case.features
            if feature.kind == "chamfer" for wall in walls_at_ends(case, feature)]
    return max(ends, default=(0.0, ""))


def _evaluate(case: Case, belief: Belief) -> Finding:
    left, name = worst_end(case)
    units = case.job.units
    because = "nothing stands at the ends of the chamfer"
    if name:
        because = (f"{name} runs against a wall: the cutter of {tell(case.tool.diameter, 'length', units)} leaves "
                   f"about {tell(left, 'length', units, 1)} at that end, or cuts as deep into the wall; stop short "
                   f"and file the end")
    return decided(NAME, case, belief, "finish", left, HIDDEN, unit="mm", because=because)


def _smaller(case: Case) -> list[object]:
    """Smaller chamfer cutters that the same collet grips, the largest first."""
    collet = case.shop.collets.get(case.op.collet or "")
    found = [(-tool.diameter, key) for key, tool in case.shop.tools.items()
             if tool.kind == "chamfer" and tool.diameter < case.tool.diameter
             and (collet is None or collet.grips[0] <= (tool.shank or tool.diameter) <= collet.grips[1])]
    return [key for _, key in sorted(found)]


def _finest_file(case: Case) -> str | None:
    found = [(tool.diameter, key) for key, tool in case.shop.tools.items() if tool.kind == "file"]
    return min(found)[1] if found else None


def _say_file(case: Case, value: object) -> str:
    return f"file it by hand: {case.shop.tools[_finest_file(case) or ''].name}"


_SMALLER: Final = Knob("tool", _smaller, lambda case, key: f"{case.shop.tools[str(key)].name}, not {case.tool.name}")
#: what is filed has no cutter to foul, and costs minutes
_BY_HAND: Final = Knob("role", lambda case: ["file"] if _finest_file(case) else [], _say_file,
                       also=lambda case, _value: (("tool", _finest_file(case) or ""),))

CHECK = Check(NAME, "chamfer runs against a wall", "finish", "operation", _applies, _evaluate,
              knobs=(_SMALLER, _BY_HAND))
