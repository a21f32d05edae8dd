"""How flat a face comes out: what lifts or hollows it, added up.

The skin of rolled, drawn or extruded stock is in tension; where it is cut off one side, the bar springs when it is
let go. A spindle out of tram leaves each row of a face slanting; the z axis repeats only so well from row to row; the
tool pushes off differently where it runs out.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..job.faces import dot
from ..job.models import Limit
from ..stack.spring import bow_after_skin
from ._chance import known
from ._lapped import LAPPED_SD
from ._left_by import digest_of_cut, left_by
from ._makers import Broken, Made, cuts_of, is_wall
from ._push import operation_case
from ._sizes import Sized, face_of, needs
from ._surfaces import Source
from .base import Case
from .si import metres, value

#: cosine beyond which two faces are the two sides of a plate
_OPPOSITE: Final = -0.999
#: how deep the stressed skin of a bar reaches, at most [mm]; judged
SKIN: Final = 1.0
#: of what a floor is pushed off, so much differs between the middle of a row and its ends; judged
UNEVEN: Final = 0.5


def flat(case: Case, limit: Limit, belief: Belief) -> Sized:
    """What each source of error does to a flatness.

    Raises:
        Broken: if no operation makes the face, or it is no flat face.
        NameUnknown: if it does not exist.
    """
    part, face = face_of(case, limit.between[0], limit.part)
    if face.kind != "plane":
        raise Broken(f"{limit.between[0]} is no flat face")
    made = needs(case, part, face.number)
    if made.op.role in ("file", "saw"):
        raise Broken(f"{made.op_name} is done by hand, to what is measured")
    if made.op.role == "lap":
        flatter = {f"flat_lap:{made.op_name}": Source("how true it is lapped", made.op_name,
                                                      lambda belief: np.full(belief.rows, metres(LAPPED_SD)))}
        return Sized(dict.fromkeys(flatter, 1.0), (), flatter, "", made.op_name)
    reads = made.op_name, digest_of_cut(case, made.op_name)
    sources = {
        f"flat_spring:{made.op_name}": Source("spring of the bar when it is let go", made.setting_name,
                                              lambda belief: _spring(case, belief, made), lasting=True),
        f"flat_tram:{made.op_name}": Source("spindle out of tram", "", lambda belief: _rows(case, belief, made),
                                            lasting=True, reads=reads),
        f"flat_uneven:{made.op_name}": Source("push-off", made.op_name, lambda belief: _uneven(case, belief, made),
                                              lasting=True, reads=reads),
        f"flat_repeat:{made.op_name}": Source("the repeat of the axes", made.op_name,
                         lambda belief: known(belief, f"machine:{made.setting.machine}", "positioning", 0.0)),
    }
    return Sized(dict.fromkeys(sources, 1.0), (), sources, "", made.op_name)


def _rows(case: Case, belief: Belief, made: Made) -> Rows:
    """A tilted cutter leaves a step of its tilt over each row's width; a wall leans and stays flat."""
    tool = case.shop.tools.get(made.op.tool or "")
    if tool is None or is_wall(made):
        return np.zeros(belief.rows)
    wide = min(made.op.cut.width_of_cut or tool.diameter, tool.diameter)
    return np.abs(known(belief, f"machine:{made.setting.machine}", "tram", 0.0)) * metres(wide)


def _uneven(case: Case, belief: Belief, made: Made) -> Rows:
    if made.op.tool is None:
        return np.zeros(belief.rows)
    return UNEVEN * np.abs(left_by(operation_case(case, made.op_name), "wall" if is_wall(made) else "floor")(belief))


def _spring(case: Case, belief: Belief, made: Made) -> Rows:
    """Bow of the part from skins that were cut off it since the face was last let go."""
    entity = f"material:{case.job.parts[made.part].material}"
    if not belief.has(entity, "skin_stress") or not belief.has(entity, "young"):
        return np.zeros(belief.rows)
    thick = _thickness(case, made)
    long = _length(case, made)
    bow = np.zeros(belief.rows)
    for cut in _skins(case, made):
        depth = metres(min(SKIN, _taken(case, cut), 0.5 * thick))
        if depth > 0.0 and thick > 0.0 and long > 0.0:
            bow = bow + np.abs(bow_after_skin(value(belief, entity, "skin_stress"), depth, metres(thick) + depth,
                                              metres(long), value(belief, entity, "young")))
    return bow


def _skins(case: Case, made: Made) -> list[Made]:
    """First cuts, in this setting or a later one, of the face itself and of the face opposite."""
    first = min(op.number for _, op in case.route.of_setting(made.setting_name))
    found = []
    for face in case.parts[made.part].faces:
        same = face.number == made.face.number
        across = face.kind == "plane" and dot(face.normal, made.face.normal) < _OPPOSITE
        if same or across:
            cuts = cuts_of(case, made.part, face.number)
            if cuts and cuts[0].op.number >= first:
                found.append(cuts[0])
    return found


def _taken(case: Case, cut: Made) -> float:
    """How much comes off a raw face before its setting is over [mm]."""
    mates = [m for m in cuts_of(case, cut.part, cut.face.number) if m.setting_name == cut.setting_name]
    return sum(m.op.removes for m in mates)


def _thickness(case: Case, made: Made) -> float:
    """Of the finished part square to the face [mm]."""
    return _across(case, made, [abs(n) for n in made.face.normal])


def _length(case: Case, made: Made) -> float:
    """The longest way over the face [mm]."""
    return max(high - low for low, high in zip(made.face.low, made.face.high, strict=True))


def _across(case: Case, made: Made, way: list[float]) -> float:
    part = case.parts[made.part]
    return sum(w * (high - low) for w, low, high in zip(way, part.low, part.high, strict=True))
