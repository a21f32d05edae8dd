"""How far a kind of physics is out in one cut: in general, on this machine, in this direction, with this cutter, in
cuts like it.

Physics errs from cut to cut more than from shop to shop: what was heard of one cut says much of cuts that are alike
in speed, depth and width, and little of others. Each place on a grid of these, an octave apart, has a column of its
own (more places than columns: a few, far apart, share one); a cut takes from the four places around it. Deep cuts
are out further, as the physics has the force at the tip: of a cutter of 12.7 mm that stands out 55 mm the flutes
along 12.7 mm give 0.69 of its tip's give, along 25.4 mm 0.47. As the logarithm of these, 0.4 and 0.8, the spread
that is added grows with the depth over the diameter.

Source: own, as a random field over the cuts; interpolation on the simplices of a cube.
"""

from __future__ import annotations

import hashlib
import math
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, LogNormal, Rows
from ..shop.columns import KINDS, apart_name, like_name, off_name
from ._chance import discrepancy, known
from ._forces import speed
from .base import Case
from .si import metres

_STEP: Final = math.log(2.0)      #: between two places, in the logarithm
_DIGITS: Final = 3                #: of a step: cuts that are nearer to each other are one cut


class Arc(NamedTuple):
    """What of a cut decides how far physics is out in it.

    Fields:
        entry: angle at which a tooth enters [rad].
        exit: angle at which it leaves [rad].
        depth: of the cut [m].
    """

    entry: float
    exit: float
    depth: float


def discrepancy_of(case: Case, belief: Belief, kind: str, arc: Arc) -> Rows:
    """How many times the demand of a cut is what its physics says, by row [1].

    Args:
        case: an operation that mills.
        belief: what is believed; a mill that has no figures of its own has those of all.
        kind: of physics.
        arc: of the cut.
    """
    machine = f"machine:{case.machine_name}"
    name = off_name(kind, "factor")
    off = known(belief, machine, name, 1.0) if belief.has(machine, name) else discrepancy(belief, kind)
    lean = known(belief, machine, off_name(kind, "lean"), 1.0)
    for of in (f"tool:{case.op.tool}", f"material:{case.material_name}"):
        off = off * known(belief, machine, apart_name(kind, of), 1.0)
    return np.asarray(off * lean ** (leans(arc.entry, arc.exit) / 2.0) * _of_its_kind(case, belief, kind, arc))


def _of_its_kind(case: Case, belief: Belief, kind: str, arc: Arc) -> Rows | float:
    """How far it is out in cuts like this one, by row [1]."""
    machine = f"machine:{case.machine_name}"
    if not belief.has(machine, like_name(kind, 0)):
        return 1.0
    width = 0.5 * (1.0 - math.cos(min(arc.exit - arc.entry, math.pi)))
    over = arc.depth / metres(case.tool.diameter)
    at = tuple(round(math.log(x) / _STEP, _DIGITS) for x in (case.tool.flutes * speed(case), _deep(over), width))
    total = np.zeros(belief.rows)
    for number, share in _places(at):
        column = belief.column(machine, like_name(kind, number))
        assert isinstance(column.transform, LogNormal) and not column.parents
        total += share * math.log(column.transform.factor) * belief.z(column.key)
    return np.exp(further(over) * total)


def _deep(over: float) -> float:
    """What tells deep cuts apart: what is shallow is cut by the tip alone, however shallow."""
    return 1.0 + over**2


def further(over: float) -> float:
    """How many times as far physics is out in cuts of one kind as in shallow ones [1].

    Args:
        over: depth of the cut over the diameter of the cutter [1].
    """
    return math.sqrt(1.0 + math.log2(_deep(over)))


@lru_cache(maxsize=4096)
def _places(at: tuple[float, ...]) -> tuple[tuple[int, float], ...]:
    """Columns that a cut takes from, and how much of each: their squares are one, so that all cuts are as far out.

    Args:
        at: where the cut is, in steps.
    """
    steps = np.array(at)
    low = np.floor(steps)
    over = steps - low
    order = np.argsort(-over, kind="stable")
    edges = np.concatenate([[1.0], over[order], [0.0]])
    corner, shares = low.astype(int), dict[int, float]()
    for i, share in enumerate(edges[:-1] - edges[1:]):
        if share > 0.0:
            number = _column(tuple(int(x) for x in corner))
            shares[number] = shares.get(number, 0.0) + float(share)
        if i < len(order):
            corner[order[i]] += 1
    size = math.sqrt(math.fsum(share * share for share in shares.values()))
    return tuple((number, share / size) for number, share in shares.items())


def _column(corner: tuple[int, ...]) -> int:
    """Which column a place of the grid has."""
    digest = hashlib.blake2b(repr(corner).encode(), digest_size=8).digest()
    return int.from_bytes(digest, "big") % KINDS


def leans(entry: float, exit_: float) -> float:
    """1 for a narrow conventional cut, -1 for a narrow climb cut, 0 for a slot."""
    return 1.0 - (entry + exit_) / math.pi
