"""Windows: short stretches of a cut in which engagement hardly changes. Geometry; mm, s, rad.

A nominal pass and an NC program make the same windows, so that every check works on both.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from enum import IntFlag
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Longs = NDArray[np.int64]


class Flag(IntFlag):
    """How a window is, besides what it cuts."""

    RAPID = 1       #: gone through at rapid speed
    FLOOR = 2       #: some of it is taken by the end of the tool, which is no engagement of its side
    PLUNGE = 4      #: mostly straight down or up
    SHORT = 8       #: shorter than a window should be: what it says scatters more


@dataclass(frozen=True)
class Slices:
    """How the tool is engaged at each height of each window: ragged, window w owns offsets[w] … offsets[w + 1].

    A slice whose teeth are in the material twice in a turn stands there twice.

    Fields:
        offsets: shape (W + 1,).
        low: lower end above the tip of the tool [mm], shape (S,).
        high: upper end above the tip [mm], shape (S,).
        entry: angle where a tooth enters there [rad], shape (S,).
        exit: angle where it leaves [rad], shape (S,).
        chip_max: thickest chip, square to the edge; 0 where feed or speed is not known [mm], shape (S,).
        volume: removed there [mm3], shape (S,).
    """

    offsets: Longs
    low: Floats
    high: Floats
    entry: Floats
    exit: Floats
    chip_max: Floats
    volume: Floats

    @classmethod
    def none(cls, windows: int = 0) -> Slices:
        """Windows without slices."""
        empty = np.zeros(0)
        return cls(np.zeros(windows + 1, dtype=np.int64), empty, empty, empty, empty, empty, empty)

    def __len__(self) -> int:
        """How many slices."""
        return len(self.low)


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
        floor: removed by the end of the tool [mm3]; the rest by its side, shape (W,) or none.
        flags: see `Flag`, shape (W,) or none.
        slices: engagement by height, where it was counted.
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
    floor: Floats = field(default_factory=lambda: np.zeros(0))
    flags: Longs = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    slices: Slices = field(default_factory=Slices.none)

    def __len__(self) -> int:
        """How many windows."""
        return len(self.seconds)

    @property
    def minutes(self) -> float:
        """Time in all windows [min]."""
        return float(self.seconds.sum()) / 60.0

    def take(self, which: NDArray[np.bool_]) -> Windows:
        """Some of them, in order, with their slices."""
        counts = np.diff(self.slices.offsets)
        kept = np.repeat(which, counts)
        values = {f.name: getattr(self.slices, f.name)[kept] for f in fields(Slices) if f.name != "offsets"}
        offsets = np.concatenate([np.zeros(1, dtype=np.int64), np.cumsum(counts[which])])
        columns = {f.name: getattr(self, f.name)[which] for f in fields(self) if f.name != "slices"}
        return Windows(**columns, slices=Slices(offsets, **values))

    @cached_property
    def digest(self) -> bytes:
        """A short name for the contents, for keys: a dozen checks ask for it."""
        own = (getattr(self, f.name) for f in fields(self) if f.name != "slices")
        theirs = (getattr(self.slices, f.name) for f in fields(Slices))
        whole = b"".join(np.ascontiguousarray(column).tobytes() for column in (*own, *theirs))
        return hashlib.blake2b(whole, digest_size=16).digest()


def without_residue(windows: Windows, least: float, by_largest: bool = False) -> Windows:
    """Windows without what a grid leaves on walls that were cut already.

    Args:
        windows: W of them.
        least: a slice from which a thinner layer is taken than this, over its height, counts as nothing [mm].
        by_largest: whether the angles of a window are those of its largest slice, not its first entry and last exit:
            for a cutter that often cuts on both sides at once, with nothing between them.

    Returns:
        As many windows; where nothing else was cut, depth, width and angles are 0. What the end of the tool takes
        alone stays as it is.
    """
    slices = windows.slices
    owner = np.repeat(np.arange(len(windows)), np.diff(slices.offsets))
    area = (slices.high - slices.low) * (windows.s1 - windows.s0)[owner]
    kept = slices.volume > least * area
    every, left = (np.bincount(owner[which], minlength=len(windows)) for which in (slice(None), kept))
    columns = {f.name: getattr(slices, f.name)[kept] for f in fields(Slices) if f.name != "offsets"}
    offsets = np.concatenate([np.zeros(1, dtype=np.int64), np.cumsum(left)])
    some, changed = left > 0, (every > 0) | (windows.floor <= 0.5 * windows.volume)
    begins = offsets[:-1][some]
    sizes = {name: np.zeros(len(windows)) for name in ("depth", "entry", "exit")}
    if len(begins):
        sizes["depth"][some] = np.maximum.reduceat(columns["high"], begins)
        if by_largest:
            fullest = np.lexsort((-columns["volume"], owner[kept]))[begins]
            sizes["entry"][some], sizes["exit"][some] = columns["entry"][fullest], columns["exit"][fullest]
        else:
            sizes["entry"][some] = np.minimum.reduceat(columns["entry"], begins)
            sizes["exit"][some] = np.maximum.reduceat(columns["exit"], begins)
    now = {name: np.where(changed, size, getattr(windows, name)) for name, size in sizes.items()}
    return replace(windows, **now, width=np.where(changed & ~some, 0.0, windows.width),
                   slices=Slices(offsets, **columns))


def joined(chunks: Sequence[Windows]) -> Windows:
    """Windows one after the other as one."""
    if len(chunks) == 1:
        return chunks[0]
    columns = {f.name: np.concatenate([getattr(chunk, f.name) for chunk in chunks])
               for f in fields(Windows) if f.name != "slices"}
    parts = [chunk.slices for chunk in chunks]
    values = {f.name: np.concatenate([getattr(part, f.name) for part in parts])
              for f in fields(Slices) if f.name != "offsets"}
    before = np.cumsum([0, *(len(part) for part in parts)])
    offsets = np.concatenate([np.zeros(1, dtype=np.int64), *(
        part.offsets[1:] + begin for part, begin in zip(parts, before[:-1], strict=True))])
    return Windows(**columns, slices=Slices(offsets, **values))
