"""Drawings behind the route card: the way of a size, the contacts of a setting, what sings, notes on a program."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .belief import Belief
from .errors import NameUnknown
from .shop.library import find_shop
from .work import believed, records_folder

if TYPE_CHECKING:
    from .checks.base import Case
    from .dryrun.result import Result
    from .part.shapes import View


def figures(checked: Result, folder: Path, shop: Path | None = None) -> Belief:
    """What is believed in the shop of a job: own figures where there are some.

    Args:
        checked: what a check of the job found.
        folder: of the job.
        shop: another shop than the job names.
    """
    belief, _ = believed(checked.shop, records_folder(folder, find_shop(folder, checked.job.shop, shop)))
    return belief


def size_way(checked: Result, limit: str, belief: Belief) -> str | None:
    """The way of a size through the settings, as SVG; None where it has none.

    Raises:
        NameUnknown: if the job has no such limit.
    """
    from .dryrun.sizes import sizes_of
    from .dryrun.way import way_of
    from .sheets.chain_drawing import chain_drawing

    case = _case(checked, "limit", limit)
    size = next(iter(sizes_of([case], belief, cures=False)), None)
    way = way_of(size, belief) if size is not None else None
    return None if size is None or way is None else chain_drawing(size, way).svg


def contacts(checked: Result, setting: str, views: Sequence[View], belief: Belief) -> tuple[str | None, list[str]]:
    """Where a setting touches its part in the operation that is likeliest to move it, as SVG; and why, in words.

    Args:
        checked: what a check of the job found.
        setting: its name.
        views: of the part in that setting.
        belief: for how hard jaws or clamps press.

    Raises:
        NameUnknown: if the route has no such setting.
    """
    from .dryrun.placing import Placed
    from .sheets.contacts_drawing import contacts_drawing, touches

    if setting not in checked.route.settings:
        raise NameUnknown(f"there is no setting {setting!r}", right=", ".join(checked.route.settings))
    found = [c for c in checked.checks if c.setting == setting and c.finding.check == "holding"]
    found.sort(key=lambda c: -(c.finding.p_fail or 0.0))
    if not found:
        return None, ["Nothing is cut in this setting whose push on the hold is computed."]
    case = _case(checked, "operation", found[0].operation)
    placed = Placed(case.part, case.wanted, case.setting, checked.shop.devices.get(case.setting.holding.device))
    touched = touches(case, belief)
    words = [f"{c.number}: {c.finding.because}" for c in found]
    if not touched:
        return None, words
    heading = f"{case.setting.workpiece}, {setting}: what touches it when {case.op.number} begins"
    return contacts_drawing(placed, {view.name: view for view in views}, touched, heading), words


def singing(checked: Result, operation: str, belief: Belief) -> str | None:
    """The map of what sings over speed and depth of an operation, as SVG; None where nothing can.

    Raises:
        NameUnknown: if the route has no such operation.
    """
    from .sheets.singing_map import can_sing, singing_map, sung

    case = _case(checked, "operation", operation)
    return singing_map(case, sung(case, belief)) if can_sing(case) else None


def program_notes(checked: Result, operation: str) -> list[dict[str, Any]]:
    """Lines of the NC program of an operation with pencil notes beside them; none where nothing is to note."""
    from .sheets.listings import listing

    return listing(_case(checked, "operation", operation), checked)


def _case(checked: Result, subject: str, name: str) -> Case:
    found = next((case for case in checked.cases if case.subject == subject and case.name == name), None)
    if found is None:
        names = [case.name for case in checked.cases if case.subject == subject]
        raise NameUnknown(f"there is no {subject} {name!r}", right=", ".join(names))
    return found
