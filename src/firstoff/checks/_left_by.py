"""What an operation leaves on a face, kept by all that it is computed from: many sizes ask for the same cut."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import blake2b
from typing import Final

import numpy as np

from ..belief import Belief, Key, Rows, Watched, watched
from ..cutting.push_off import wall_by_runout
from ._blunt import felt
from ._forces import eccentricity
from ._push import Side, left_on, operation_case
from .base import Case

KEPT: Final = 4              #: beliefs of late: all rows, few rows, lasting things alone
OPERATIONS: Final = 256      #: of which it is kept what they leave on
WALKS: Final = 3             #: of routes of late: as it is, with a change, with all changes


class _Kept:
    """What is dear to compute by row, kept for the last beliefs that asked, with the figures that it stands on."""

    def __init__(self, name: str, compute: Callable[[Belief], Rows]) -> None:
        self._name, self._compute = name, compute
        self._last: list[tuple[Belief, Rows, set[Key]]] = []

    def __call__(self, belief: Belief) -> Rows:
        for known_by, rows, keys in self._last:
            if belief.same(known_by):
                belief.note(keys)
                return rows
        watch = watched(belief)
        rows = self._earlier(watch)
        belief.note(watch.asked)
        self._last = [*self._last[1 - KEPT:], (watch, rows, watch.asked)]
        return rows

    def _earlier(self, watch: Watched) -> Rows:
        """As it was found before with the same figures, in this run or an earlier one, or is found now."""
        for asked, digest, rows in found.get(self._name, ()):
            if len(rows) == watch.rows and watch.digest_of(asked) == digest:
                watch.note(asked)
                return rows
        rows, asked = self._compute(watch), tuple(sorted(watch.asked))
        while len(found) >= OPERATIONS:
            found.pop(next(iter(found)))
        found[self._name] = (*found.pop(self._name, ())[1 - KEPT:], (asked, watch.digest_of(asked), rows))
        return rows


#: what cuts left on, the latest last: the figures that it stands on, a digest of them, and the rows; kept between
#: runs by dryrun/tables.py
found: dict[str, tuple[tuple[tuple[Key, ...], str, Rows], ...]] = {}


def left_by(case: Case, side: Side) -> Callable[[Belief], Rows]:
    """What an operation leaves on a wall or floor, by belief; kept by all that it is computed from, of late.

    The same operation on another route, changed elsewhere, leaves the same.
    """
    key = side, cut_digest(case)
    if key not in _left:
        while len(_left) >= OPERATIONS:
            _left.pop(next(iter(_left)))
        _left[key] = _Kept(":".join(key), lambda belief: _as_cut(case, belief, side))
    return _left[key]


_left: dict[tuple[Side, str], _Kept] = {}


def cut_digest(case: Case) -> str:
    """A short name for all that an operation's cut is known by, and how its tool was worn before."""
    worn = [past.blunts for past in felt(case)]
    said = (case.op.model_copy(update={"number": 1, "features": ()}), case.shop.tools.get(case.op.tool or ""),
            case.machine_name, case.material_name, worn)
    return blake2b(repr(said).encode(), digest_size=8).hexdigest()


def digest_of_cut(case: Case, name: str) -> str:
    """The same of an operation of a case's route; kept for the walks that were asked for last."""
    known = next((digests for walked, digests in _walked if of_one_walk(walked, case)), None)
    if known is None:
        known = {}
        _walked[:] = [(case, known), *_walked[:WALKS - 1]]
    if name not in known:
        known[name] = cut_digest(operation_case(case, name))
    return known[name]


_walked: list[tuple[Case, dict[str, str]]] = []


def _as_cut(case: Case, belief: Belief, side: Side) -> Rows:
    """What push-off leaves on, less what a cutter that runs out takes more of a wall: a slot has two of them."""
    left = left_on(case, belief, side)
    if left is None:
        return nothing(belief)
    return left + wall_by_runout(eccentricity(case, belief)) if side == "wall" else left


def nothing(belief: Belief) -> Rows:
    """Of what has no cutter: nothing, by row [m]."""
    return np.zeros(belief.rows)


def of_one_walk(one: Case, other: Case) -> bool:
    """Whether two cases are of one walk of one route, so that all that was cut is alike."""
    return all(getattr(one, name) is getattr(other, name) for name in ("route", "job", "parts", "shop", "before"))
