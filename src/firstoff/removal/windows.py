"""Windows: short stretches of a cut in which engagement hardly changes. Geometry; mm, s, rad.

A nominal pass and an NC program make the same windows, so that every check works on both.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Windows:
    """Struct of arrays over W windows. Angles of engagement from +y in the sense of rotation.

    Fields:
        line: line of the program, 0 for a nominal pass, shape (W,).
        s0: where along the operation's path the window begins [mm], shape (W,).
        s1: where it ends [mm], shape (W,).
        seconds: time in it [s], shape (W,).
        point: middle of the window in the part's axes [mm], shape (W, 3).
        direction: unit vector of feed in the setting's axes [1], shape (W, 3).
        volume: removed [mm3], shape (W,).
        depth: axial depth of cut [mm], shape (W,).
        width: radial width of cut [mm], shape (W,).
        entry: angle where a tooth enters [rad], shape (W,).
        exit: angle where it leaves [rad], shape (W,).
        feed_per_tooth: [mm], shape (W,).
        corner: whether this is the stretch where engagement jumps, shape (W,).
    """

    line: NDArray[np.int64]
    s0: Floats
    s1: Floats
    seconds: Floats
    point: Floats
    direction: Floats
    volume: Floats
    depth: Floats
    width: Floats
    entry: Floats
    exit: Floats
    feed_per_tooth: Floats
    corner: NDArray[np.bool_]

    def __len__(self) -> int:
        """How many windows."""
        return len(self.seconds)

    @property
    def minutes(self) -> float:
        """Time in all windows [min]."""
        return float(self.seconds.sum()) / 60.0

    def digest_bytes(self) -> bytes:
        """The contents, for the key of a finding."""
        return b"".join(np.ascontiguousarray(getattr(self, f.name)).tobytes() for f in fields(self))
