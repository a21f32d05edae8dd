"""Other ways to make a size, as edits of its route: in one setting, with one cutter, set by a reading, lapped.

What takes two parts at once is in assembled.py.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from typing import Any, Final

from ..checks._makers import Made, cuts_of, maker
from ..checks._tails import typical_sd
from ..checks.base import Case
from ..checks.si import millimetres
from ..checks.size import Expected, too_coarse
from ..job.by_hand import by_hand
from ..job.edits import apply_edits, as_text, in_one_line
from ..job.faces import Place, dot, locate
from ..job.models import Limit
from ..job.route import Operation, Route
from ..part.shapes import Face, Part
from ..shop.models import Instrument
from ..units import tell
from .choosing import Chooser
from .quick import Quick
from .remedies import Edits, cut_changes
from .walk import walk

LEFT: Final = 0.2             #: what is left for a last cut that is set by a measurement [mm]
#: what is left for the lap: so many standard deviations, and within what a hand takes off [mm]; judged
LAP_SDS: Final = 2.5
LEAST_LAP: Final = 0.02
MOST_LAP: Final = 0.1
#: what a last cut before the lap must still take to cut and not to rub [mm]; judged
LEAST_CUT: Final = 0.05
#: what may stand out over a face that is lapped, as a model is exact [mm]
PROUD: Final = 0.01
#: cosine from which a tool looks along a direction
_SAME: Final = 1.0 - 1e-6
#: roles whose thickness to take off is the depth of the cut; of others it is the width
_DOWN: Final = frozenset({"face_rough", "face_finish", "ramp_rough", "ramp_finish", "form"})


@dataclass(frozen=True)
class Otherwise:
    """Another way: what a person reads, and the edits of `route.toml` that make it so."""

    text: str
    edits: Edits


def in_its_part(case: Case, came: Expected, thin: Quick) -> Iterator[Otherwise]:
    """Other ways to make a size, each within the settings of one part.

    Args:
        case: of the limit.
        came: the limit as it will come out.
        thin: few rows, to choose the numbers of a cut that moves.
    """
    for way in (in_one_setting, with_one_cutter):
        if found := way(case, thin):
            yield found
    for other in (set_by_reading, lapped):
        if found := other(case, came):
            yield found


def limit_of(case: Case) -> Limit:
    """The limit of a case."""
    assert case.limit is not None
    return case.limit


def place(case: Case, name: str) -> Place:
    """Where a face of the limit is."""
    return locate(name, case.job, case.parts, limit_of(case).part)


def makers(case: Case) -> list[Made]:
    """What makes each face of the limit; a face that nothing makes is left out."""
    places = [place(case, name) for name in limit_of(case).between]
    found = (maker(case, at.part, at.faces[0]) for at in places)
    return [made for made in found if made is not None]


def fine_enough(case: Case) -> Instrument | None:
    """The instrument of a limit, where there is one and it can confirm it."""
    instrument = case.shop.instruments.get(limit_of(case).instrument or "")
    return instrument if instrument is not None and not too_coarse(limit_of(case), instrument) else None


def changed(name: str, **values: Any) -> Edits:
    """Edits of one operation: its fields, with those of its cut after `cut_`."""
    out = []
    for key, value in values.items():
        path = f"operations.{name}.{key.replace('cut_', 'cut.', 1) if key.startswith('cut_') else key}"
        out.append((path, in_one_line(value) if isinstance(value, tuple) else as_text(path, value)))
    return tuple(out)


def numbers_after(route: Route, number: int, count: int) -> tuple[int, ...]:
    """Free numbers right after one; none where the next operation stands too near."""
    later = [op.number for op in route.operations.values() if op.number > number]
    return tuple(range(number + 1, number + 1 + count)) if min(later, default=number + 10**6) > number + count else ()


def numbers_before(route: Route, number: int, count: int) -> tuple[int, ...]:
    """Free numbers right before one; none where the operation before stands too near."""
    early = [op.number for op in route.operations.values() if op.number < number]
    return tuple(range(number - count, number)) if max(early, default=0) < number - count else ()


# --- both faces in one setting, or with one cutter ------------------------------------------------------------------


def _pair(case: Case) -> tuple[Made, Made] | None:
    """What makes the two faces of a distance within one part, the earlier first."""
    if limit_of(case).kind != "distance":
        return None
    made = makers(case)
    if len(made) != 2 or made[0].part != made[1].part or any(m.op.tool is None or m.lead for m in made):
        return None
    early, late = sorted(made, key=lambda item: item.op.number)
    return early, late


def in_one_setting(case: Case, thin: Quick) -> Otherwise | None:
    """Both faces cut in the later one's setting, where a tool gets at both from there."""
    pair = _pair(case)
    if pair is None or pair[0].setting_name == pair[1].setting_name or not _reached(case, *pair):
        return None
    early, late = pair
    free = numbers_before(case.route, late.op.number, 1)
    if not free:
        return None
    if early.is_hole or late.is_hole:
        edits = _hole_moved(case, early, late, free[0]) if early.is_hole else changed(
            early.op_name, setting=late.setting_name, number=free[0])
        return Otherwise(f"both cut in setting {late.setting_name}, with one zero", edits)
    role = "side_finish" if abs(dot(early.face.normal, late.setting.up)) < 0.5 else "face_finish"
    edits = changed(early.op_name, setting=late.setting_name, number=free[0], tool=late.op.tool, role=role,
                    **_held_as(late.op))
    edits += _numbers_for(case, edits, early.op_name, thin)
    return Otherwise(f"both faces cut in setting {late.setting_name} with one cutter", edits)


def with_one_cutter(case: Case, thin: Quick) -> Otherwise | None:
    """Both faces cut in one setting with one cutter, whose length is found once."""
    pair = _pair(case)
    if pair is None or pair[0].setting_name != pair[1].setting_name or any(m.is_hole for m in pair):
        return None
    early, late = pair
    if early.op.tool == late.op.tool:
        return None
    edits = changed(early.op_name, tool=late.op.tool, **_held_as(late.op))
    edits += _numbers_for(case, edits, early.op_name, thin)
    tool = case.shop.tools[late.op.tool or ""].name
    return Otherwise(f"both faces cut with one cutter, the {tool}, not set anew between them", edits)


def _reached(case: Case, early: Made, late: Made) -> bool:
    """Whether a tool gets at the early face from above in the late one's setting."""
    features = [f for f in case.parts[early.part].features if early.face.number in f.faces]
    return any(dot(way, late.setting.up) > _SAME for feature in features for way in feature.access)


def _held_as(op: Operation) -> dict[str, Any]:
    """Collet and stickout of the other cut."""
    return {key: value for key in ("collet", "stickout") if (value := getattr(op, key)) is not None}


def _hole_moved(case: Case, early: Made, late: Made, number: int) -> Edits:
    """A hole stands where its spot is: that is made in the later setting."""
    features = tuple(f.id for f in case.parts[early.part].features if early.face.number in f.faces)
    return only_those(case, early.op_name, features, setting=late.setting_name, number=number)


def only_those(case: Case, name: str, features: tuple[str, ...], key: str = "", **values: Any) -> Edits:
    """An operation done otherwise for some of its features, as before for the rest.

    Args:
        case: of the route.
        name: of the operation.
        features: that it is done otherwise for.
        key: name of the new operation where it keeps others.
        values: what is otherwise.
    """
    op = case.route.operations[name]
    rest = tuple(f for f in op.features if f not in features)
    if not rest:
        return changed(name, features=tuple(f for f in op.features if f in features), **values)
    made = op.model_copy(update={**values, "features": tuple(f for f in op.features if f in features)})
    return ((f"operations.{key or f'{name}-{features[0]}'}", in_one_line(made)), *changed(name, features=rest))


def _numbers_for(case: Case, edits: Edits, name: str, thin: Quick) -> Edits:
    """The numbers of a cut that is made elsewhere or with another cutter, chosen anew."""
    op = apply_edits(case.route, edits).operations[name]
    tool = case.shop.tools[op.tool or ""]
    width = min(op.cut.width_of_cut or tool.diameter, tool.diameter)
    start = edits + changed(name, cut_width_of_cut=width)
    cases = walk(case.job, case.shop, apply_edits(case.route, start), case.parts)
    moved = next(c for c in cases if c.subject == "operation" and c.name == name)
    return (*start[len(edits):], *cut_changes(moved, Chooser(moved, thin).best(case.shop.good).case.op)[0])


# --- set by a reading, or lapped to it ------------------------------------------------------------------------------


def thinner(op: Operation, left: float) -> dict[str, Any]:
    """The fields of a last cut that takes no more than this."""
    key = "depth_of_cut" if op.role in _DOWN else "width_of_cut"
    now = getattr(op.cut, key)
    return {"removes": left, **({f"cut_{key}": left} if now is not None and now > left else {})}


def rough_before(case: Case, late: Made, *, clamped: bool) -> Made | None:
    """The cut that leaves stock for a last one; `clamped`: in its own setting."""
    cuts = [made for made in cuts_of(case, late.part, late.face.number) if made.op.number < late.op.number
            and made.op.leaves > 0.0 and (made.setting_name == late.setting_name or not clamped)]
    return cuts[-1] if cuts else None


def room_for_last(case: Case, late: Made, *, clamped: bool) -> tuple[Edits, float] | None:
    """The edits that leave stock for a last cut, and how much it is; no edits where a cut before it leaves some.

    Args:
        case: of the limit.
        late: its last cut.
        clamped: whether it stays clamped between them.

    Returns:
        None where there is not enough to leave some.
    """
    rough = rough_before(case, late, clamped=clamped)
    if rough is not None:
        return (), rough.op.leaves
    free, left = numbers_before(case.route, late.op.number, 1), min(LEFT, late.op.removes / 2.0)
    if not free or left < LEAST_CUT:
        return None
    took = thinner(late.op, late.op.removes - left)
    cut = late.op.cut.model_copy(update={key.removeprefix("cut_"): took[key] for key in took if key != "removes"})
    first = late.op.model_copy(update={"number": free[0], "leaves": left, "removes": took["removes"], "cut": cut,
                                       "measure": ()})
    name = f"{late.op_name}-first"
    return ((f"operations.{name}", in_one_line(first)), *changed(late.op_name, **thinner(late.op, left))), left


def set_by_reading(case: Case, came: Expected) -> Otherwise | None:
    """The last cut set by what is measured before it, the part still clamped."""
    limit, instrument, made = limit_of(case), fine_enough(case), makers(case)
    late = next((m for m in made if m.op_name == came.found.late), None)
    if instrument is None or late is None or came.found.aimed or not limit.links or late.op.tool is None:
        return None
    if late.is_hole or len({m.part for m in made}) > 1:
        return None
    others = max((m.op.number for m in made if m.op_name != late.op_name), default=0)
    room = room_for_last(case, late, clamped=True)
    if room is None:
        return None
    edits, left = room
    told = f"leave {tell(left, 'length', case.job.units)} at {late.op_name}, measure with the {instrument.name}"
    if edits:
        (path, text), *rest = edits
        first = apply_edits(case.route, ((path, text),)).operations[f"{late.op_name}-first"]
        return Otherwise(f"{told}, and set the last cut by it",
                         ((path, in_one_line(first.model_copy(update={"measure": (case.name,)}))), *rest))
    rough = rough_before(case, late, clamped=True)
    assert rough is not None
    at = next(name for name, op in case.route.in_order() if op.number == max(rough.op.number, others))
    measure = (*case.route.operations[at].measure, case.name)
    return Otherwise(f"measure with the {instrument.name} after {at}, and set the last cut by it",
                     changed(at, measure=measure))


def lapped(case: Case, came: Expected) -> Otherwise | None:
    """So much left for the lap: by hand, where it is thick more, until it is flat or reads right all over."""
    instrument, late = fine_enough(case), _to_lap(case, came)
    if late is None or (instrument is None and limit_of(case).kind == "distance"):
        return None
    allowance = math.ceil(100.0 * LAP_SDS * millimetres(widest(came))) / 100.0
    if late.op.role == "lap" or not LEAST_LAP <= allowance <= MOST_LAP or late.op.removes - allowance < LEAST_CUT:
        return None
    number = before_assembly(case, late.part, late.op.number)
    setting = by_hand(case.shop, late.setting, late.part, on_a_plate(case, late.part), "not needed: it is lapped")
    if number is None or setting is None:
        return None
    name, where = f"{late.op_name}-lap", f"{late.setting_name}-lap"
    until = f"the {instrument.name} reads right all over" if instrument is not None else "blue shows all over"
    op = {"number": number, "setting": where, "features": late.op.features, "role": "lap",
          "removes": as_text("removes", allowance), "measure": _ends_there(case, late),
          "notes": (f"press where it is thick; until {until}",)}
    took = thinner(late.op, late.op.removes - allowance)
    told = tell(allowance, "length", case.job.units)
    return Otherwise(
        f"leave {told} for the lap at {late.op_name}, and lap it until {until}",
        ((f"settings.{where}", in_one_line(setting)), (f"operations.{name}", in_one_line(op)),
         *changed(late.op_name, leaves=allowance, **took)))


def _to_lap(case: Case, came: Expected) -> Made | None:
    """The face that is lapped: the later one of a distance between flat faces, or the one that is to be flat."""
    pair, made = _pair(case), makers(case)
    if limit_of(case).kind == "flatness":
        late = made[0] if made and made[0].op.tool is not None else None
    elif pair is not None and all(m.face.kind == "plane" for m in pair) and came.found.corners:
        late = pair[1]
    else:
        return None
    return late if late is not None and lies_on_a_plate(case.parts[late.part], late.face) else None


def lies_on_a_plate(part: Part, face: Face) -> bool:
    """Whether nothing of the part stands out over a face."""
    out = dot(face.centroid, face.normal) + PROUD
    edges = [p for edge in part.edges for p in edge.points]
    boxes = [(x, y, z) for other in part.faces for x, y, z in product(*zip(other.low, other.high, strict=True))]
    return all(dot(point, face.normal) <= out for point in edges or boxes)


def _ends_there(case: Case, late: Made) -> tuple[str, ...]:
    """The limits of a part that end at a face, itself first: what is lapped is measured for all of them."""
    found = [case.name]
    for name, limit in case.job.limits.items():
        if limit.kind in ("distance", "flatness") and name != case.name:
            places = [locate(face, case.job, case.parts, limit.part) for face in limit.between]
            if any(at.part == late.part and late.face.number in at.faces for at in places):
                found.append(name)
    return tuple(found)


def on_a_plate(case: Case, part: str) -> str:
    """Loose grit beds itself in soft metal, and goes on cutting what it runs on."""
    soft = case.shop.materials[case.job.parts[part].material].group == "N"
    on = "abrasive paper on a flat plate, wet: loose grit beds itself in soft metal" if soft else "a lapping plate"
    return f"face down on {on}; figures of eight, turned a quarter each time; wiped before it is measured"


def widest(came: Expected) -> float:
    """Standard deviation of the size at its worst corner, of what lasts and what comes anew together [m]."""
    at, made = came.spreads.worst, came.spreads
    return math.hypot(typical_sd(made.offset[:, at]), float(made.variance[:, at].mean()) ** 0.5)


def before_assembly(case: Case, part: str, number: int) -> int | None:
    """A free number after a part's own cuts, and before it is put to another one or to its last cut to suit."""
    route: Mapping[str, Operation] = case.route.operations
    own = [op for op in route.values() if part in case.route.settings[op.setting].workpiece.split("+")]
    assembled = [op.number for op in own if op.number > number and "+" in case.route.settings[op.setting].workpiece]
    last = _last(own, min(assembled, default=10**9))
    free = numbers_after(case.route, last, 1)
    return free[0] if free and last >= number else None


def _last(ops: Iterable[Operation], before: int) -> int:
    return max((op.number for op in ops if op.number < before and op.role not in ("file", "measure")), default=0)
