"""How far a kind of physics is out in one cut: in general, on this machine, in this direction, with this cutter."""

from __future__ import annotations

import math

import numpy as np

from ..belief import Belief, Rows
from ..shop.columns import apart_name, off_name
from ._chance import discrepancy, known
from .base import Case


def discrepancy_of(case: Case, belief: Belief, kind: str, entry: float, exit_: float) -> Rows:
    """How many times the demand of a cut is what its physics says, by row [1].

    Args:
        case: an operation that mills.
        belief: what is believed; a mill that has no figures of its own has those of all.
        kind: of physics.
        entry: angle at which a tooth enters [rad].
        exit_: angle at which it leaves [rad].
    """
    machine = f"machine:{case.machine_name}"
    name = off_name(kind, "factor")
    off = known(belief, machine, name, 1.0) if belief.has(machine, name) else discrepancy(belief, kind)
    lean = known(belief, machine, off_name(kind, "lean"), 1.0)
    for of in (f"tool:{case.op.tool}", f"material:{case.material_name}"):
        off = off * known(belief, machine, apart_name(kind, of), 1.0)
    return np.asarray(off * lean ** (leans(entry, exit_) / 2.0))


def leans(entry: float, exit_: float) -> float:
    """1 for a narrow conventional cut, -1 for a narrow climb cut, 0 for a slot."""
    return 1.0 - (entry + exit_) / math.pi
