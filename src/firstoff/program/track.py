"""Where moves are laid down as they come, and handed on in chunks."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstoff.removal.moves import Move, Moves

CHUNK: Final = 8192      #: moves in a chunk that are handed on together


class Track:
    """Rows of moves, one after the other."""

    def __init__(self) -> None:
        self._rows: list[tuple[float, ...]] = []

    def __len__(self) -> int:
        """How many wait to be handed on."""
        return len(self._rows)

    def add(self, move: Move) -> None:
        """Lay down a move."""
        self._rows.append((
            move.line, move.kind, *move.start, *move.end, *move.centre, move.plane, move.feed, move.spindle,
            move.tool, move.zero, move.wait, move.exact, move.doubt))

    def taken(self) -> Moves:
        """All that waits, as arrays; nothing waits afterwards."""
        table: NDArray[np.float64] = np.array(self._rows, dtype=np.float64).reshape(len(self._rows), 19)
        self._rows.clear()
        return Moves(
            line=table[:, 0].astype(np.int64), kind=table[:, 1].astype(np.int8), start=table[:, 2:5].copy(),
            end=table[:, 5:8].copy(), centre=table[:, 8:11].copy(), plane=table[:, 11].astype(np.int8),
            feed=table[:, 12].copy(), spindle=table[:, 13].copy(), tool=table[:, 14].astype(np.int64),
            zero=table[:, 15].astype(np.int8), wait=table[:, 16].copy(), exact=table[:, 17] != 0.0,
            doubt=table[:, 18].astype(np.uint16))
