"""On the drill press work may be held by hand only against a stop, or a drill that grabs turns it into a blade."""

from __future__ import annotations

from .base import Case, Rule


def _applies(case: Case) -> bool:
    return (case.operation is not None and case.machine_kind == "drill_press"
            and case.shop.devices[case.setting.holding.device].kind == "hand")


def _because(case: Case) -> str:
    stop = case.setting.holding.stop
    if stop:
        return f"its {stop} lies against a stop, on the side towards which the drill turns it"
    return "held by hand without a stop: put it against a stop or in a vise; no gloves near a spindle"


RULE = Rule("by hand only against a stop", _applies, lambda case: bool(case.setting.holding.stop), _because)
