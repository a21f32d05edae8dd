"""What would make a size come right more often: an error that does not come, or another way to make it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..belief import Belief
from ..checks._chance import discrepancy
from ..checks._makers import Broken, Made, maker
from ..checks._sizes import Sized, sized, spreads
from ..checks._surfaces import Line, Surfaces
from ..checks.base import Case
from ..checks.size import Expected, bounds, chance_by_row, expected, too_coarse
from ..job.faces import Place, dot, locate
from ..units import tell
from .times import MEASURE_MINUTES

THIN: Final = 8               #: each so many rows are looked at for what would help
CURES: Final = 3              #: errors named whose end would help most
WORTH: Final = 0.8            #: a cure is told if the chance falls to this share of what it was, or lower
LEFT: Final = 0.2             #: what is left for a last cut that is set by a measurement [mm]


@dataclass(frozen=True)
class Cure:
    """What would become of a size if it were made otherwise.

    Fields:
        text: what would be otherwise.
        p_after: chance that it is out then [1].
        saves: minutes that this saves, less what it takes, at the price of the part made anew [min]; None where it
            is no change that anybody can make.
    """

    text: str
    p_after: float
    saves: float | None = None


def cures_of(case: Case, belief: Belief, p: float, remake: float) -> tuple[Cure, ...]:
    """What helps most: an error that does not come, or another way to make its faces.

    Args:
        case: of the limit.
        belief: what is believed.
        p: chance that it is out as planned [1].
        remake: minutes that the part costs when it is lost [min].
    """
    belief = belief.thinned(range(0, belief.rows, THIN))
    came = expected(case, belief)
    kinds = dict.fromkeys(came.found.sources[name].label for name in came.found.names())
    found = [Cure(f"without {label}", _without(case, belief, came, label)) for label in kinds]
    changes = [replace(cure, saves=(p - cure.p_after) * remake - (cure.saves or 0.0))
               for cure in _otherwise(case, belief, came)]
    paying = [cure for cure in changes if (cure.saves or 0.0) > 0.0 or remake == 0.0]
    worth = [cure for cure in (*found, *paying) if cure.p_after < WORTH * p]
    least = sorted(worth, key=lambda cure: cure.p_after)[:CURES]
    # a change that can be made is told even where three errors would, without them, do more
    best = min((cure for cure in worth if cure.saves is not None), key=lambda cure: cure.p_after, default=None)
    return tuple(least if best is None or best in least else [*least, best])


def chance_of(case: Case, belief: Belief, found: Sized) -> float:
    """The chance that a limit is out when it is made of these errors."""
    limit = case.limit
    assert limit is not None
    made = spreads(found, belief, (found.middle, *found.corners))
    low, high = bounds(limit)
    aimed = (low + high) / 2.0 if found.measured else 0.0
    made = replace(made, offset=aimed + made.offset)
    sd = np.sqrt(made.variance[:, 0]) * discrepancy(belief, "size")
    return float(chance_by_row(Expected(made.offset[:, 0], sd, made, found), belief, low, high).mean())


def _without(case: Case, belief: Belief, came: Expected, label: str) -> float:
    """The chance if no error of this kind came."""
    found = came.found

    def left(line: Line) -> Line:
        return {name: size for name, size in line.items() if found.sources[name].label != label}

    less = replace(found, middle=left(found.middle), corners=tuple(left(line) for line in found.corners))
    return chance_of(case, belief, less)


def _otherwise(case: Case, belief: Belief, came: Expected) -> Iterator[Cure]:
    """Other ways to make it; `saves` holds the minutes that each takes more."""
    for way in (_together, _one_cutter, _through_both):
        if cure := way(case, belief):
            yield cure
    if cure := _to_suit(case, belief, came):
        yield cure


def _together(case: Case, belief: Belief) -> Cure | None:
    """Both faces cut in the later one's setting with its cutter, where a tool gets at both from there."""
    limit = case.limit
    assert limit is not None
    if limit.kind != "distance":
        return None
    one, two = (_made(case, name) for name in limit.between)
    if one is None or two is None or one.setting_name == two.setting_name or one.part != two.part:
        return None
    early, late = sorted((one, two), key=lambda item: item.op.number)
    if not _reached(case, early, late):
        return None
    moved = replace(early, setting_name=late.setting_name, setting=late.setting,
                    op=early.op.model_copy(update={"tool": late.op.tool, "setting": late.op.setting}))
    found = sized(case, limit, belief, Surfaces(case, belief), instead={early.op_name: moved})
    return Cure(f"both faces cut in setting {late.setting_name} with one cutter", chance_of(case, belief, found))


def _one_cutter(case: Case, belief: Belief) -> Cure | None:
    """Both faces cut in one setting with one cutter, whose length is found once."""
    limit = case.limit
    assert limit is not None
    if limit.kind != "distance":
        return None
    one, two = (_made(case, name) for name in limit.between)
    if one is None or two is None or one.setting_name != two.setting_name or one.op.tool == two.op.tool:
        return None
    if one.is_hole or two.is_hole or one.op.tool is None or two.op.tool is None or one.part != two.part:
        return None
    early, late = sorted((one, two), key=lambda item: item.op.number)
    moved = replace(early, op=early.op.model_copy(update={"tool": late.op.tool}))
    found = sized(case, limit, belief, Surfaces(case, belief), instead={early.op_name: moved})
    tool = case.shop.tools[late.op.tool or ""].name
    return Cure(f"both faces cut with one cutter, the {tool}, not set anew between them",
                chance_of(case, belief, found))


def _place(case: Case, name: str) -> Place:
    limit = case.limit
    assert limit is not None
    return locate(name, case.job, case.parts, limit.part)


def _made(case: Case, name: str) -> Made | None:
    place = _place(case, name)
    return maker(case, place.part, place.faces[0])


def _reached(case: Case, early: Made, late: Made) -> bool:
    """Whether a tool gets at the early face from above in the late one's setting, and nothing rests on it there."""
    feature = next((f for f in case.parts[early.part].features if early.face.number in f.faces), None)
    return feature is not None and any(dot(way, late.setting.up) > 1.0 - 1e-6 for way in feature.access)


def _through_both(case: Case, belief: Belief) -> Cure | None:
    """Two holes of a chain, one in each of two parts, drilled and reamed in one go with the parts together."""
    limit = case.limit
    assert limit is not None
    if limit.kind != "chain":
        return None
    holes = [made for name in limit.between if (made := _made(case, name)) is not None and made.is_hole]
    first = holes[0] if holes else None
    other = next((hole for hole in holes if first is not None and hole.part != first.part), None)
    if first is None or other is None or other.lead is not None or first.lead is not None:
        return None
    names = [next(f.id for f in case.parts[hole.part].features if hole.face.number in f.faces)
             for hole in (first, other)]
    setting = first.setting.model_copy(update={"workpiece": f"{first.part}+{other.part}"})
    op = first.op.model_copy(update={"features": (names[0],), "through": (f"{other.part}.{names[1]}",)})
    moved = Made(other.part, other.face, first.op_name, op, first.setting_name, setting, first.face)
    found = sized(case, limit, belief, Surfaces(case, belief), instead={other.op_name: moved})
    return Cure(f"the {first.part} and the {other.part} put together, {names[0]} and {names[1]} drilled and reamed "
                "through both in one go", chance_of(case, belief, found))


def _to_suit(case: Case, belief: Belief, came: Expected) -> Cure | None:
    """Its last cut set by what is measured before it, a chain with the parts together."""
    limit = case.limit
    assert limit is not None
    instrument = case.shop.instruments.get(limit.instrument or "")
    late = case.route.operations.get(came.found.late)
    if instrument is None or too_coarse(limit, instrument):
        return None
    if came.found.measured or late is None or late.tool is None:
        return None
    rough = late.model_copy(update={"number": max(late.number - 1, 1), "leaves": LEFT, "measure": (case.name,)})
    operations = {**case.route.operations, f"{came.found.late}-first": rough}
    stopped = replace(case, route=case.route.model_copy(update={"operations": operations}))
    try:
        found = sized(stopped, limit, belief, Surfaces(stopped, belief)) if limit.links else None
    except Broken:
        return None
    if found is None or not found.measured:
        return None
    parts = list(dict.fromkeys(_place(case, name).part for name in limit.between))
    how = f"put the {' and the '.join(parts)} together, " if len(parts) > 1 else ""
    left = tell(LEFT, "length", case.job.units)
    return Cure(f"leave {left} at {came.found.late}, {how}measure with the {instrument.name}, and set the last "
                "cut by it", chance_of(stopped, belief, found), MEASURE_MINUTES * len(parts))
