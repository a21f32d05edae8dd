"""Which operation and setting make a face, and in what order it was cut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ..job.faces import dot
from ..job.route import Operation, Route, Setting
from ..part.shapes import Face, Part
from .base import Case

ROUTES: Final = 3            #: of late: as it is, with a change, with all changes
_ALONG: Final = 0.9          #: cosine from which a face counts as looking along a direction


class Broken(Exception):
    """A size cannot be followed to what makes it; the text says where."""


@dataclass(frozen=True)
class Made:
    """A face, and the operation and setting that make it."""

    part: str
    face: Face
    op_name: str
    op: Operation
    setting_name: str
    setting: Setting
    lead: Face | None = None     # cut through both with the parts together: the face of the setting's first part

    @property
    def is_hole(self) -> bool:
        """Whether it is where a hole stands, which its spot decides."""
        return self.op.role in ("spot", "drill", "ream")


def is_wall(made: Made) -> bool:
    """Whether a face stands upright in its setting, and so is made by the side of the cutter."""
    return made.is_hole or abs(dot(made.face.normal, made.setting.up)) < 1.0 - _ALONG


def maker(case: Case, part: str, number: int) -> Made | None:
    """The last operation that finishes a face; None where none does.

    A file goes over what a machine has made (corners, burrs) and counts only where no machine does; where a
    hole stands was settled when it was spotted, and no lap moves it; a wall cut from both sides stands by its first
    half.
    """
    made = cuts_of(case, part, number)
    done = [m for m in made if m.op.leaves == 0.0 and m.op.role != "spot"]
    if together := [m for m in done if m.lead is not None]:
        return together[-1]
    cut = [m for m in done if m.op.role != "lap"] or [m for m in made if m.op.role not in ("lap", "spot")]
    if done and cut and cut[-1].is_hole:
        return made[0]
    by_machine = [m for m in done if m.op.role != "file"]
    if by_machine and by_machine[-1].op.height > 0.0:       # half a wall is cut to meet the first half
        return by_machine[0]
    return by_machine[-1] if by_machine else done[-1] if done else None


def cuts_of(case: Case, part: str, number: int) -> list[Made]:
    """All operations on the feature of a face, in order; those too that cut through it with the parts together."""
    known = next((cuts for route, parts, cuts in _recent if route is case.route and parts is case.parts), None)
    if known is None:
        known = {}
        _recent[:] = [(case.route, case.parts, known), *_recent[:ROUTES - 1]]
    if (part, number) not in known:
        known[part, number] = _cuts_of(case, part, number)
    return known[part, number]


#: of the routes and parts that were asked for last: all limits of a walk ask the same
_recent: list[tuple[Route, dict[str, Part], dict[tuple[str, int], list[Made]]]] = []


def _cuts_of(case: Case, part: str, number: int) -> list[Made]:
    features = {f.id for f in case.parts[part].features if number in f.faces}
    out = []
    for name, op in case.route.in_order():
        setting = case.route.settings.get(op.setting)
        if setting is None or op.role == "measure":
            continue
        first, *others = setting.workpiece.split("+")
        face = case.parts[part].faces[number]
        if part == first and features & set(op.features):
            out.append(Made(part, face, name, op, op.setting, setting))
        elif part in others and (lead := _lead(case, first, op, {f"{part}.{f}" for f in features})) is not None:
            out.append(Made(part, face, name, op, op.setting, setting, lead))
    return out


def _lead(case: Case, first: str, op: Operation, names: set[str]) -> Face | None:
    """The face of an assembly's first part that is cut with a feature of another; None where that is not cut."""
    for own, other in zip(op.features, op.through, strict=False):
        if other in names:
            return case.parts[first].faces[case.parts[first].feature(own).faces[0]]
    return None


def last_before(case: Case, part: str, number: int, order: int) -> Made | None:
    """The last cut of a face before an operation of this number; None where it is still raw.

    A hole that is there already stands where it was spotted.
    """
    cuts = [m for m in cuts_of(case, part, number) if m.op.number < order and m.op.role not in ("file", "saw")]
    if cuts and cuts[-1].is_hole:
        return cuts[0]
    return cuts[-1] if cuts else None
