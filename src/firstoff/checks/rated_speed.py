"""No cutter turns faster than its maker allows."""

from __future__ import annotations

from ..units import tell
from .base import Case, Rule


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.op.tool is not None and case.tool.rated_speed is not None
            and case.op.cut.spindle_speed is not None)


def _met(case: Case) -> bool:
    return (case.op.cut.spindle_speed or 0.0) <= (case.tool.rated_speed or 0.0)


def _because(case: Case) -> str:
    turn, most = (tell(speed or 0.0, "rotation") for speed in (case.op.cut.spindle_speed, case.tool.rated_speed))
    word = "within" if _met(case) else "above"
    return f"{turn} is {word} the {most} for which its maker rates the {case.tool.name}"


RULE = Rule("speed within the maker's rating", _applies, _met, _because)
