"""So much left for the lap, as edits of a route: a bore lapped out to a gauge or to its pin, a face with the parts
put together until what they add up to reads right. A face by itself is in otherwise.py.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from ..checks._drills import oversize
from ..checks._lapped_together import grows
from ..checks._makers import Broken, Made, cuts_of
from ..checks._sizes import links_of
from ..checks.base import Case
from ..checks.si import millimetres
from ..checks.size import Expected
from ..errors import NameUnknown
from ..job.by_hand import TOGETHER, by_hand
from ..job.edits import as_text, in_one_line
from ..job.faces import dot, locate
from ..job.route import Operation
from ..units import tell
from .otherwise import (
    LAP_SDS,
    LEAST_CUT,
    LEAST_LAP,
    MOST_LAP,
    Otherwise,
    before_assembly,
    changed,
    fine_enough,
    lies_on_a_plate,
    limit_of,
    makers,
    numbers_after,
    on_a_plate,
    thinner,
    widest,
)
from .remedies import Edits

#: one that a person finds in any drawer: what is left for the lap is told to this [mm]
STEP: Final = 0.01
#: cosine from which two faces of a chain look at each other
_FACING: Final = 0.99


def by_lapping(case: Case, came: Expected) -> Iterator[Otherwise]:
    """Ways to lap what a limit is made of: its bore, or a face of an assembly.

    Args:
        case: of the limit.
        came: the limit as it will come out.
    """
    way = None
    if limit_of(case).kind in ("size", "clearance"):
        way = bore_lapped(case, came)
    elif limit_of(case).kind == "chain":
        way = lapped_together(case, came)
    if way is not None:
        yield way


def _left(sd: float) -> float:
    """What is left for the lap [mm], for a size of this standard deviation [m]: so much that it always has some."""
    return STEP * math.ceil(LAP_SDS * millimetres(sd) / STEP - 1e-9)


# --- a bore ---------------------------------------------------------------------------------------------------------


def bore_lapped(case: Case, came: Expected) -> Otherwise | None:
    """A bore cut smaller, and lapped out until a gauge tells, or until its piece goes in."""
    limit = limit_of(case)
    instrument = fine_enough(case)
    late = _bore(case)
    if late is None or (instrument is None and not limit.piece):
        return None
    smaller = _smaller(case, came, late)
    if smaller is None:
        return None
    edits, left = smaller
    assembled = "+" in late.setting.workpiece
    free = numbers_after(case.route, late.op.number, 1) if assembled else ()
    number = (free[0] if free else None) if assembled else before_assembly(case, late.part, late.op.number)
    setting = by_hand(case.shop, late.setting, late.setting.workpiece, _split_lap(case, late.part),
                      "not needed: it is lapped")
    if number is None or setting is None:
        return None
    until = f"the {case.job.bought[limit.piece].name} goes in as it should" if limit.piece else (
        f"the {instrument.name} reads right all the way" if instrument else "")
    name, where = f"{late.op_name}-lap", f"{late.setting_name}-lap"
    lap = Operation.model_validate({
        "number": number, "setting": where, "features": late.op.features, "through": late.op.through, "role": "lap",
        "removes": as_text("removes", left / 2.0), "measure": _on_these(case, late),
        "notes": (f"try it often; until {until}",)})
    told = tell(left, "length", case.job.units)
    return Otherwise(f"leave {told} of its diameter for the lap at {late.op_name}, and lap it out until {until}", (
        (f"settings.{where}", in_one_line(setting)), (f"operations.{name}", in_one_line(lap)), *edits))


def _bore(case: Case) -> Made | None:
    """The last cut of the hole that a limit is about; none where it is lapped already."""
    limit = limit_of(case)
    at = locate(limit.between[0], case.job, case.parts, limit.part)
    cuts = [m for m in cuts_of(case, at.part, at.faces[0]) if m.op.role not in ("spot", "tap", "countersink")]
    late = cuts[-1] if cuts and cuts[-1].face.hollow and cuts[-1].face.kind == "cylinder" else None
    return late if late is not None and late.op.tool in case.shop.tools and late.op.program is None else None


def _smaller(case: Case, came: Expected, late: Made) -> tuple[Edits, float] | None:
    """The edits by which a bore comes out smaller, and by how much [mm]; None where nothing does that."""
    tool = case.shop.tools[late.op.tool or ""]
    if tool.kind not in ("drill", "reamer"):
        left = _left(widest(came))
        if not LEAST_LAP <= left <= MOST_LAP or late.op.removes - left / 2.0 < LEAST_CUT:
            return None
        return changed(late.op_name, leaves=left / 2.0, **thinner(late.op, late.op.removes - left / 2.0)), left
    size = limit_of(case).size or (late.face.radius or 0.0) * 2.0
    found = []
    for name, other in case.shop.tools.items():
        usual, most = oversize(other.diameter) if other.kind == "drill" else (0.0, _left(widest(came)))
        left = size - other.diameter - usual
        if other.kind == tool.kind and max(LEAST_LAP, most - usual) <= left <= MOST_LAP:
            found.append((left, name))
    if not found or size == 0.0:
        return None
    left, name = min(found)
    return changed(late.op_name, tool=name, leaves=left / 2.0), left


def _on_these(case: Case, late: Made) -> tuple[str, ...]:
    """The limits of the holes that are lapped in one operation, the one that asks first."""
    faces = {f for feature in case.parts[late.part].features if feature.id in late.op.features for f in feature.faces}
    found = [case.name]
    for name, limit in case.job.limits.items():
        if limit.kind in ("size", "clearance") and name != case.name:
            at = locate(limit.between[0], case.job, case.parts, limit.part)
            if at.part == late.part and faces & set(at.faces):
                found.append(name)
    return tuple(found)


def _split_lap(case: Case, part: str) -> str:
    soft = case.shop.materials[case.job.parts[part].material].group == "N"
    grit = "; wash it well, grit beds itself in soft metal" if soft else ""
    return f"a split lap of brass or wood in a tap wrench, fine paste, turned and drawn to and fro{grit}"


# --- a face with the parts put together -----------------------------------------------------------------------------


def lapped_together(case: Case, came: Expected) -> Otherwise | None:
    """Stock left on a face of a chain, the parts put together, and that face lapped until the chain reads right.

    Not where a last cut is set by a reading already: it would take up what is left for the lap.
    """
    instrument = fine_enough(case)
    if instrument is None or came.found.aimed:
        return None
    able = sorted(_faces(case, came), key=lambda item: item[0])
    if not able:
        return None
    left, made = able[0]
    parts = list(dict.fromkeys((made.part, *(m.part for m in makers(case)))))
    of_both = [op.number for op in case.route.operations.values()
               if set(parts) & set(case.route.settings[op.setting].workpiece.split("+"))]
    free = numbers_after(case.route, max(of_both), 1)
    note = f"{TOGETHER}, if nothing of the other part stands out over what is lapped; {on_a_plate(case, made.part)}"
    setting = by_hand(case.shop, made.setting, "+".join(parts), note, "not needed: it is lapped")
    if not free or setting is None:
        return None
    name, where = f"{made.op_name}-lap", f"{made.setting_name}-lap-together"
    lap = Operation.model_validate({
        "number": free[0], "setting": where, "features": made.op.features, "role": "lap",
        "removes": as_text("removes", left), "measure": (case.name,),
        "notes": (f"until the {instrument.name} tells {case.name} right; wash both parts of it",)})
    told = tell(left, "length", case.job.units)
    return Otherwise(
        f"leave {told} for the lap at {made.op_name}, put the {' and the '.join(parts)} together, and lap it until "
        f"the {instrument.name} reads right",
        ((f"settings.{where}", in_one_line(setting)), (f"operations.{name}", in_one_line(lap)),
         *changed(made.op_name, leaves=left, **thinner(made.op, made.op.removes - left))))


def _faces(case: Case, came: Expected) -> Iterator[tuple[float, Made]]:
    """Faces of a chain that lie on a plate, each with what must be left on it for the lap [mm]."""
    try:
        links = links_of(case, limit_of(case))
    except (Broken, NameUnknown):
        return
    made_by = makers(case)
    for made in made_by:
        if any(other.part != made.part and other.face.kind == "plane"
               and dot(other.face.normal, made.face.normal) < -_FACING for other in made_by):
            continue            # it lies on the other part, or against it: no plate gets there
        gain = abs(grows(links, made))
        if gain == 0.0 or made.is_hole or made.op.tool is None or made.lead or made.face.kind != "plane":
            continue
        left = max(LEAST_LAP, _left(widest(came) / gain))
        if left <= MOST_LAP and made.op.removes - left >= LEAST_CUT and lies_on_a_plate(
                case.parts[made.part], made.face):
            yield left, made
