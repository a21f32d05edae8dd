"""Where moves are laid down as they come, and handed on in chunks."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstoff.removal.moves import CERTAIN, Doubt, Kind, Moves

Triple = list[float]

CHUNK: Final = 8192      #: moves in a chunk that are handed on together


class Track:
    """Rows of moves, one after the other."""

    def __init__(self) -> None:
        self._rows: list[tuple[float, ...]] = []

    def __len__(self) -> int:
        """How many wait to be handed on."""
        return len(self._rows)

    def lay(
        self, line: int, kind: Kind, start: Triple, end: Triple, *, centre: Triple | None = None, plane: int = 17,
        feed: float = 0.0, spindle: float = 0.0, tool: int = 0, zero: int = 1, wait: float = 0.0,
        exact: bool = False, doubt: Doubt = CERTAIN,
    ) -> None:
        """Add a move; without a centre it is no arc."""
        self._rows.append((line, kind, *start, *end, *(centre or end), plane, feed, spindle, tool, zero, wait, exact,
                           doubt))

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
