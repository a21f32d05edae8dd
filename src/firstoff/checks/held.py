"""Work on a mill is clamped, never held by hand and never loose; what is to hold it touches it."""

from __future__ import annotations

from hashlib import blake2b

from ._contacts_left import gone_before, is_held, standing
from ._forces import MILLING
from ._touching import grip_said, missing, touching_key
from .base import Case, Rule


def _applies(case: Case) -> bool:
    if case.operation is None or case.op.tool is None or case.op.role in ("file", "measure", "saw", "lap"):
        return False
    return case.machine_kind == "mill" or case.tool.kind in MILLING


def _lacks(case: Case) -> str:
    """What is missing for the work to be held; empty where nothing is."""
    holding = case.setting.holding
    kind = case.shop.devices[holding.device].kind
    if kind == "hand":
        return "the work would be held by hand"
    if not holding.rest:
        return "nothing is said of what the work rests on"
    if not grip_said(case):
        return "no two faces and no height are named that the jaws grip"
    if kind != "carrier" and not holding.tightness:
        return "nothing is said of how it is tightened"
    return _missing(case) if is_held(case) else ""


def _missing(case: Case) -> str:
    """What should touch and does not when the operation begins; kept by all that tells it, between runs too."""
    key = blake2b(f"{touching_key(case)}|{sorted(gone_before(case))!r}".encode(), digest_size=12).hexdigest()
    if key not in told:
        told[key] = missing(case, standing(case))
    return told[key]


#: what was missing in each hold that was looked at: `dryrun.tables` keeps it between runs
told: dict[str, str] = {}


def _because(case: Case) -> str:
    lacks = _lacks(case)
    name = case.shop.devices[case.setting.holding.device].name
    return f"{lacks}: clamp it before the spindle turns" if lacks else f"held in the {name}; try it by hand first"


RULE = Rule("work is clamped", _applies, lambda case: not _lacks(case), _because)
