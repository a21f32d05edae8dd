"""Other ways to make a size that goes through two parts, as edits of the route: holes through both in one go, parts
put together and measured before the last cut, a last cut made to suit the other part as it was measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from ..checks._makers import Made, cuts_of
from ..checks._sizes import axis_place
from ..checks.base import Case
from ..checks.size import Expected
from ..job.by_hand import TOGETHER, by_hand
from ..job.edits import in_one_line
from ..job.route import Operation
from ..part.shapes import Feature
from ..units import tell
from .otherwise import Otherwise, changed, fine_enough, limit_of, makers, numbers_after, room_for_last
from .remedies import Edits

#: holes of two parts belong to each other if they stand apart as the first two do, within this [mm]
SAME_PLACE: Final = 0.1
_HOLES: Final = ("spot", "drill", "ream")


def across_parts(case: Case, came: Expected) -> Iterator[Otherwise]:
    """Other ways to make a size that several parts add up to.

    Args:
        case: of the limit.
        came: the limit as it will come out.
    """
    if limit_of(case).kind != "chain" or len({made.part for made in makers(case)}) < 2:
        return
    for way in (through_both(case), measured_together(case, came), to_suit(case, came)):
        if way:
            yield way


# --- holes through both ---------------------------------------------------------------------------------------------


def through_both(case: Case) -> Otherwise | None:
    """Holes that face each other in two parts, drilled and reamed in one go with the parts put together."""
    holes = [made for made in makers(case) if made.is_hole]
    first = holes[0] if holes else None
    other = next((hole for hole in holes if first is not None and hole.part != first.part), None)
    if first is None or other is None or other.lead is not None or first.lead is not None:
        return None
    pairs = _facing(case, first, other)
    ours, theirs = tuple(a.id for a, _ in pairs), tuple(b.id for _, b in pairs)
    steps = [(made.op_name, made.op) for made in cuts_of(case, first.part, first.face.number)
             if made.op.role in _HOLES]
    gone = [made for made in cuts_of(case, other.part, other.face.number) if made.op.role in _HOLES]
    numbers = numbers_after(case.route, _when(case, first.part, other.part), len(steps))
    if not numbers:
        return None
    where = f"{first.part}-{other.part}-through"
    edits = _together(first, other.part, where)
    deeper = max((made.op.removes for made in gone), default=0.0)
    for number, (name, op) in zip(numbers, steps, strict=True):
        edits += _through(case, name, op, (ours, tuple(f"{other.part}.{b}" for b in theirs)), (where, number, deeper))
    for made in gone:
        edits += _less(case, made.op_name, theirs)
    told = " and ".join(dict.fromkeys(f"{a} with {b}" for a, b in zip(ours, theirs, strict=True)))
    made_by = " and ".join({"spot": "spotted", "drill": "drilled", "ream": "reamed"}[op.role] for _, op in steps[-2:])
    return Otherwise(f"the {first.part} and the {other.part} put together, {told} {made_by} through both in one go",
                     edits)


def _facing(case: Case, first: Made, other: Made) -> list[tuple[Feature, Feature]]:
    """The two holes, and those that are made with them and stand apart as they do."""
    one, two = case.parts[first.part], case.parts[other.part]
    pair = (_feature(case, first), _feature(case, other))
    apart = np.subtract(axis_place(first.face), axis_place(other.face)) * _across(first)
    out = [pair]
    last = cuts_of(case, first.part, first.face.number)[-1].op
    for a in (f for f in one.features if f.id in last.features and f.id != pair[0].id):
        for b in (f for f in two.features if f.kind == "hole" and f.id != pair[1].id):
            here, there = (axis_place(part.faces[f.faces[0]]) for part, f in ((one, a), (two, b)))
            if np.abs(np.subtract(here, there) * _across(first) - apart).max() < SAME_PLACE:
                out.append((a, b))
    return out


def _across(made: Made) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """One along the axes that are square to the hole, nought along its own."""
    return np.asarray(1.0 - np.abs(np.round(made.setting.up)), dtype=np.float64)


def _feature(case: Case, made: Made) -> Feature:
    return next(f for f in case.parts[made.part].features if made.face.number in f.faces)


def _when(case: Case, one: str, other: str) -> int:
    """After which operation both parts can be put together: their own are done, but for what is cut to suit."""
    settings = case.route.settings
    of_both = [op for _, op in case.route.in_order()
               if {one, other} & set(settings[op.setting].workpiece.split("+"))]
    assembled = [op.number for op in of_both if "+" in settings[op.setting].workpiece]
    return max(op.number for op in of_both if op.number < min(assembled, default=10**9))


def _together(first: Made, other: str, where: str) -> Edits:
    """The first part's setting with the other part laid to it."""
    flush = ", ".join(name for name in first.setting.datums[1:])
    setting = first.setting.model_copy(update={
        "workpiece": f"{first.part}+{other}", "stock_left": {}, "program": None,
        "notes": (f"the {other} laid on it, flush at {flush}, clamped with it; nothing slips between the holes",)})
    return ((f"settings.{where}", in_one_line(setting)),)


def _through(
    case: Case, name: str, op: Operation, features: tuple[tuple[str, ...], tuple[str, ...]],
    at: tuple[str, int, float],
) -> Edits:
    """One step of a hole in the assembly: so much deeper as the other part is, but for the spot."""
    (ours, theirs), (where, number, deeper) = features, at
    deep = 0.0 if op.role == "spot" else deeper
    cut = op.cut.model_copy(update={"depth_of_cut": op.cut.depth_of_cut + deep}) if op.cut.depth_of_cut else op.cut
    made = op.model_copy(update={
        "number": number, "setting": where, "features": ours, "through": theirs, "removes": op.removes + deep,
        "cut": cut, "program": None, "program_tool": None})
    return ((f"operations.{where}-{op.role}", in_one_line(made)), *_less(case, name, ours))


def _less(case: Case, name: str, features: tuple[str, ...]) -> Edits:
    """An operation without some of its features; none of it where it has no others."""
    rest = tuple(f for f in case.route.operations[name].features if f not in features)
    return changed(name, features=rest) if rest else ((f"operations.{name}", ""),)


# --- put together and measured, or measured part by part ------------------------------------------------------------


def _late(case: Case, came: Expected) -> Made | None:
    """The last cut of a chain, where it is milled and not set by a reading yet."""
    late = next((m for m in makers(case) if m.op_name == came.found.late), None)
    if late is None or late.is_hole or came.found.aimed or late.op.tool is None or late.lead is not None:
        return None
    return late


def measured_together(case: Case, came: Expected) -> Otherwise | None:
    """Stock left at the last cut, the parts put together and measured, and that cut set by it."""
    instrument, late, limit = fine_enough(case), _late(case, came), limit_of(case)
    if instrument is None or late is None:
        return None
    parts = list(dict.fromkeys((late.part, *(m.part for m in makers(case)))))
    number = max(m.op.number for m in (*makers(case), *_of_setting(case, late)))
    free, room = numbers_after(case.route, number, 2), room_for_last(case, late, clamped=False)
    together = by_hand(case.shop, late.setting, "+".join(parts), TOGETHER, "not needed: nothing is cut")
    if not free or room is None or together is None:
        return None
    edits, left = room
    where, last = f"{late.op_name}-together", f"{late.setting_name}-last"
    note = f"note what is missing to {limit.size:g} mm: the next cut takes it off" if limit.size else ""
    look = Operation(number=free[0], setting=where, features=late.op.features, role="measure", measure=(case.name,),
                     notes=(note,) if note else ())
    again = late.setting.model_copy(update={"notes": (*late.setting.notes, "last, to suit: clamped as before")})
    edits = ((f"settings.{where}", in_one_line(together)), (f"settings.{last}", in_one_line(again)),
             (f"operations.{late.op_name}-measure", in_one_line(look)), *edits,
             *changed(late.op_name, setting=last, number=free[1]))
    return Otherwise(f"leave {tell(left, 'length', case.job.units)} at {late.op_name}, put the "
                     f"{' and the '.join(parts)} together, measure with the {instrument.name}, and set the last cut "
                     "by it", edits)


def _of_setting(case: Case, made: Made) -> list[Made]:
    """What is made in a setting, as far as the order goes."""
    return [Made(made.part, made.face, name, op, made.setting_name, made.setting)
            for name, op in case.route.of_setting(made.setting_name)]


def to_suit(case: Case, came: Expected) -> Otherwise | None:
    """The finished parts measured, and their partner's last cut set to that."""
    late = _late(case, came)
    if late is None or case.name in late.op.suits:
        return None
    others = [m for m in makers(case) if m.part != late.part]
    if not others or any(m.op.number >= late.op.number for m in others):
        return None
    parts = " and the ".join(dict.fromkeys(m.part for m in others))
    note = f"to suit: measure the {parts}, and set this cut by what is missing in {case.name}"
    return Otherwise(f"measure the finished {parts}, and cut {late.op_name} to suit it",
                     changed(late.op_name, suits=(*late.op.suits, case.name), notes=(*late.op.notes, note)))
