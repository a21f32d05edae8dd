"""How large a hole comes out: a drill cuts larger than it is, a reamer a little, an end mill as it goes round; a lap
as it is tried."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..job.models import Limit
from ..shop.models import Tool
from ._chance import known
from ._drills import oversize
from ._lapped import BORE_LAPPED_SD
from ._makers import Broken, Made, cuts_of
from ._sizes import Sized, face_of, names_of
from ._surfaces import RADIUS_SD, Source, surfaces_of
from .base import Case
from .si import metres

#: a reamer leaves a hole larger than itself by so much, and so much more or less [mm]; judged
REAMED: Final = 0.006
REAMED_SD: Final = 0.005
#: these make a hole larger on both sides
_BOTH_SIDES: Final = ("radius:", "lost:")


def bored(case: Case, limit: Limit, belief: Belief) -> Sized:
    """What each source of error does to the diameter of a hole.

    Raises:
        Broken: if it is no hole, or nothing makes it to size.
        NameUnknown: if it does not exist.
    """
    part, face = face_of(case, limit.between[0], limit.part)
    if face.kind != "cylinder" or not face.hollow:
        raise Broken(f"{limit.between[0]} is no hole: write a size between two faces as a distance")
    cuts = [made for made in cuts_of(case, part, face.number) if made.op.role not in ("spot", "tap", "countersink")]
    if not cuts:
        raise Broken(f"no operation of the route makes {limit.between[0]} to size")
    last = cuts[-1]
    if last.op.role == "lap":
        return _lapped(case, limit, belief, last, cuts[-2] if len(cuts) > 1 else None)
    line, sources = _cut(case, limit, last)
    return Sized(line, (), sources, "", last.op_name)


def _cut(case: Case, limit: Limit, made: Made) -> tuple[dict[str, float], dict[str, Source]]:
    """A hole as a tool leaves it."""
    tool = case.shop.tools.get(made.op.tool or "")
    if tool is None:
        raise Broken(f"{made.op_name} has no tool")
    sources = _milled(made) if tool.kind not in ("drill", "reamer") else _larger(made, tool, limit)
    return {name: 2.0 if name.startswith(_BOTH_SIDES) else 1.0 for name in sources}, sources


def _lapped(case: Case, limit: Limit, belief: Belief, lap: Made, before: Made | None) -> Sized:
    """Lapped out until it reads right, or until the piece goes in; where nothing is tried it is larger than cut.

    Raises:
        Broken: if no cut comes before the lap, or it is to be measured and no instrument is named.
    """
    at = f"lap:{lap.op_name}:{lap.face.number}"
    true = {at: Source("how true it is lapped out", lap.op_name, _constant(BORE_LAPPED_SD))}
    if not names_of(case, limit) & set(lap.op.measure):
        if before is None:
            raise Broken(f"nothing cuts what {lap.op_name} laps")
        line, sources = _cut(case, limit, before)
        more = Source("what is lapped out", lap.op_name, _constant(2.0 * (lap.op.removes - before.op.leaves)),
                      lasting=True)
        return Sized(line | {at: 1.0, f"{at}:more": 1.0}, (), sources | true | {f"{at}:more": more}, "", lap.op_name)
    if limit.piece:                                  # the piece itself is what is tried in it
        return Sized({at: 1.0}, (), true, "", lap.op_name, lapped=True)
    if limit.instrument is None or not belief.has(f"instrument:{limit.instrument}", "uncertainty"):
        raise Broken(f"no instrument is named for what {lap.op_name} is lapped to")
    where = surfaces_of(case, belief)
    read = where.reading(limit.instrument)
    return Sized({at: 1.0, read: 1.0}, (), {**true, read: where.sources[read]}, "", lap.op_name, lapped=True)


def cleared(case: Case, limit: Limit, belief: Belief) -> Sized:
    """What each source of error does to the room that a bought-in piece has in a hole.

    Raises:
        Broken: if the hole cannot be followed, or the job does not say how large the piece is.
        NameUnknown: if the hole does not exist.
    """
    piece = case.job.bought.get(limit.piece)
    if piece is None:
        raise Broken(f"no bought-in piece {limit.piece!r}: the job has {', '.join(case.job.bought) or 'none'}")
    if len(piece.size) != 1 or piece.tolerance is None:
        raise Broken(f"of the {piece.name} the job must say one size and its tolerance")
    (size,), (low, high) = piece.size.values(), piece.tolerance
    hole = bored(case, limit.model_copy(update={"size": size + (limit.size or 0.0)}), belief)
    if hole.lapped:
        return hole
    made, sd = _constant((low + high) / 2.0), _constant((high - low) / math.sqrt(12.0))
    sources = hole.sources | {
        f"bought:{limit.piece}": Source(f"the {piece.name} as it is sold", "", made, lasting=True),
        f"each:{limit.piece}": Source(f"one {piece.name} and another", "", sd)}
    line = {**hole.middle, f"bought:{limit.piece}": -1.0, f"each:{limit.piece}": -1.0}
    return Sized(line, (), sources, "", hole.late)


def _larger(made: Made, tool: Tool, limit: Limit) -> dict[str, Source]:
    """A tool that makes the hole by its own diameter, which may not be the nominal one."""
    own = tool.diameter - limit.size if limit.size else 0.0
    usual, most = oversize(tool.diameter)
    more, sd = (REAMED, REAMED_SD) if tool.kind == "reamer" else (usual, (most - usual) / 2.0)
    return {
        f"larger:{made.op_name}": Source(f"how much larger the {tool.kind} cuts", made.op_name,
                                         _constant(own + more), lasting=True),
        f"larger_each:{made.op_name}": Source("how much larger it cuts each time", made.op_name,
                                              _constant(sd)),
    }


def _milled(made: Made) -> dict[str, Source]:
    machine, at = f"machine:{made.setting.machine}", f"{made.op_name}:{made.face.number}"
    return {
        f"radius:{made.op.tool}": Source("the radius of the cutter", "", _constant(RADIUS_SD)),
        f"lost:{made.setting_name}:{made.face.number}": Source(
            "lost motion", made.setting_name, lambda belief: known(belief, machine, "lost_motion", 0.0) / 2.0),
        f"round:{at}": Source("the repeat of the axes", made.op_name,
                              lambda belief: known(belief, machine, "positioning", 0.0)),
    }


def _constant(mm: float) -> Callable[[Belief], Rows]:
    return lambda belief: np.full(belief.rows, metres(mm))
