"""Where a drill grabs a stop does not hold the work: in metals that pull it in, and in sheet, it is clamped."""

from __future__ import annotations

from ..cutting.breakthrough import point_length
from ._drills import POINT
from .base import Case, Rule
from .breakthrough import thickness
from .si import metres


def _grabs(case: Case) -> bool:
    thin = metres(thickness(case)) < float(point_length(metres(case.tool.diameter), case.tool.point_angle or POINT))
    return case.material.grabs or thin


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.role == "drill" and case.op.tool is not None
            and case.tool.kind == "drill" and case.machine_kind == "drill_press" and _grabs(case))


def _met(case: Case) -> bool:
    return case.shop.devices[case.setting.holding.device].kind != "hand"


def _because(case: Case) -> str:
    pulls = f"{case.material.name} pulls a drill in"
    why = pulls if case.material.grabs else "sheet climbs the drill as it comes out"
    if _met(case):
        return f"{why}: it is clamped"
    return f"{why}: clamp the work down on wood or hold it in a vise, never by hand, stop or no stop"


RULE = Rule("clamped where a drill grabs", _applies, _met, _because)
