"""In which turn evidence is asked while rows are moved: what is quick to compute first, what is dear last.

A row that a few words refuse need not be asked of all; and of what is dear few rows walk.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from ..checks.base import LAPSE
from .mill_learn import Tested

if TYPE_CHECKING:
    from .learn import Evidence, Witness

#: checks that take longer than all others together: they are asked last
DEAR: Final = frozenset({"chatter", "holding"})
#: most moves of rows by evidence that is quick to compute; fewest and most by what is dear, and how many evaluations
#: of one row by one of these may be spent on it
QUICK_MOVES: Final = 240
MOVES: Final = (10, 60)
WORK: Final = 3e5
#: rows that walk by what is dear; the others are where these were at other times
WALKERS: Final = 1024
#: of what is dear, up to which share it is asked in turn
SHARES: Final = (0.0, 0.1, 0.25, 0.5, 1.0)


class Turn(NamedTuple):
    """Evidence that is let in together.

    Fields:
        pieces: of it, in the order in which they are asked.
        most: that the logarithm of each can be.
    """

    pieces: list[list[Witness]]
    most: tuple[float, ...]

    @property
    def endless(self) -> bool:
        """Whether it may be as likely as it likes: readings, unlike words, which are only chances."""
        return self.most[0] == math.inf

    def moves(self, rows: int) -> int:
        """How often so many rows may be moved when it is wholly in: what is dear has its budget."""
        dear = sum(_dear(some) for some in self.pieces)
        fewest, most = MOVES
        return int(np.clip(WORK / (min(rows, WALKERS) * dear), fewest, most)) if dear else QUICK_MOVES


def in_turn(evidence: Sequence[Witness]) -> list[Turn]:
    """Readings, which are quick to compute and may be as likely as they like; then words, those of dear checks last.

    Args:
        evidence: of one group of columns.
    """
    words = [item for item in evidence
             if not isinstance(item, Tested) and all(seen.kind == "word" for _, seen in item.seen)]
    readings: list[Witness] = [item for item in evidence if item not in words]
    quick: list[Witness] = [item for item in words if item.check.name not in DEAR]
    pieces = [items for items in (quick, *_pieces([item for item in words if item.check.name in DEAR])) if items]
    most = tuple(math.log1p(-LAPSE) * sum(len(item.seen) for item in items) for items in pieces)
    return [turn for turn in (Turn([readings], (math.inf,)), Turn(pieces, most)) if turn.pieces and turn.pieces[0]]


def _pieces(dear: Sequence[Evidence]) -> list[list[Witness]]:
    """A few of what tells most, then more: a row that these refuse need not be asked of all."""
    telling = sorted(dear, key=lambda item: (all(o.word == "ok" for _, o in item.seen),
                                             -(item.case.op.cut.depth_of_cut or 0.0)))
    edges = [round(share * len(telling)) for share in SHARES]
    return [list(telling[start:stop]) for start, stop in pairwise(edges)]


def walking(evidence: Sequence[Witness], rows: int) -> int:
    """How many of the rows walk."""
    return min(rows, WALKERS) if _dear(evidence) else rows


def _dear(evidence: Sequence[Witness]) -> int:
    """How much of it is dear."""
    return sum(not isinstance(item, Tested) and item.check.name in DEAR for item in evidence)
