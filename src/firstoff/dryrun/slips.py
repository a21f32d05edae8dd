"""Errors that are no part of a plan and yet happen: an axis that loses steps, a part that is measured warm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..checks._surfaces import Line, Source
from ..checks.base import Case
from ..checks.si import metres
from ..job.faces import dot
from ..job.route import Setting
from ..part.shapes import Vector

STEPS, WARM = "steps", "warm"
#: What an axis is off by when it has lost steps, over the FAR of stack/causes.py [mm]: then some 0.1, from a few
#: motor steps of 0.01 to 0.03 up to a stall of half a millimetre; judged.
LOST: Final = 0.02
#: how much warmer than the shop a part is when it is measured, one standard deviation [K]; judged
WARMER: Final = 2.0
#: how a person looks at an error itself, by the kind of its source
LOOK: Final = {
    "radius": "measure the cutter itself with a micrometer",
    "lost": "move the axis to and fro against an indicator: what it does not follow is lost motion",
    "touch": "touch the face again that zero was set by",
    "pushed": "run the last pass once more at the same setting, and measure again: what comes off was pushed off",
    "scale": "move the axis along a gauge block or a length that is known, and read it with an indicator",
    "tram": "sweep an indicator round in the spindle",
    STEPS: "go back to zero and touch again: what it is off by was lost",
    WARM: "let the part get as cold as the shop, and measure it again",
}
_AXES: Final = ("x", "y", "z")


def lost_steps(case: Case, lines: Iterable[Line]) -> dict[str, Source]:
    """Steps that an axis may have lost between two cuts of a setting: what was cut later stands aside.

    Args:
        case: of the job.
        lines: sums of errors that say which cuts matter.

    Returns:
        Sources, by setting, axis and the first cut after the loss. A loss before the first cut that matters is an
        error of zero, and has its source there.
    """
    cuts = {name.split(":")[1] for line in lines for name in line if name.startswith("repeat:")}
    found: dict[str, Source] = {}
    for setting in case.route.settings:
        own = [name for name, _ in case.route.of_setting(setting) if name in cuts]
        for axis in _AXES:
            for op in own[1:]:
                found[f"{STEPS}:{setting}:{axis}:{op}"] = Source(
                    f"steps lost in {axis}", setting, lambda _: np.atleast_1d(metres(LOST)))
    return found


def stepped(case: Case, line: Line, names: Iterable[str]) -> Line:
    """What steps lost do to a sum of errors: they move each later cut, and all that stands on it, along the axis."""
    moved: Line = {}
    for name in names:
        _, setting_name, axis, first = name.split(":")
        ops = case.route.operations
        total = 0.0
        for own, size in line.items():
            if not own.startswith("repeat:"):
                continue
            at = own.split(":")
            op = ops.get(at[1])
            if op is None or op.setting != setting_name or op.number < ops[first].number:
                continue
            if axis == "z" and op.tool != ops[first].tool:       # each cutter's length is found anew
                continue
            setting = case.route.settings[setting_name]
            total += size * dot(_way(case, setting, at), _axis(setting, axis))
        if total:
            moved[name] = total
    return moved


def _way(case: Case, setting: Setting, at: list[str]) -> Vector:
    """The direction of a repeat: square to the face that was milled, or one of the axes of a hole."""
    if len(at) > 3:
        return _axis(setting, at[3])
    part = case.parts[setting.workpiece.split("+")[0]]
    return part.faces[int(at[2])].normal


def _axis(setting: Setting, axis: str) -> Vector:
    """A machine axis in the part's own."""
    x, z = setting.across, setting.up
    if axis == "x":
        return x
    y = (z[1] * x[2] - z[2] * x[1], z[2] * x[0] - z[0] * x[2], z[0] * x[1] - z[1] * x[0])
    return y if axis == "y" else z


def warm(case: Case, belief: Belief, nominal: float | None) -> Iterator[tuple[str, float, Source]]:
    """How a part that is warm when it is measured reads: so much for each metre.

    Args:
        case: of the limit.
        belief: what is believed.
        nominal: what it should measure [mm]; None where nothing tells.

    Yields:
        The source, what a unit of it does to the reading [m], and what it is: growth of a unit of length [1].
    """
    limit, part = case.limit, case.part_name
    assert limit is not None
    if limit.kind not in ("distance", "size") or not nominal or part is None:
        return
    entity = f"material:{case.job.parts[part].material}"
    if belief.has(entity, "expansion"):
        grows: Rows = WARMER * belief.value(entity, "expansion")
        yield f"{WARM}:{part}", float(metres(nominal)), Source("a part measured warm", part, lambda _: grows)
