"""Cutting stock by the moves of a program: what is removed, window by window. Geometry; mm, s, rad.

    stock = Stock.block((100.0, 60.0, 20.0))
    windows = cut(stock, moves, Cutter.end_mill(6.0))

`cut` changes the stock and returns the windows. `Cutting` does the same in chunks, so that a program of any length
needs no more memory than its windows, or none beyond a chunk where each is looked at and let go.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .collisions import Hit, Ring
from .cutters import PLACES, Cutter, contact_places
from .moves import Moves, Vector
from .paths import known, pieces_of
from .stock import Stock
from .windows import Flag, Slices, Windows, joined

Floats = NDArray[np.float64]
Longs = NDArray[np.int64]

WINDOW: Final = 1.0         #: [mm] of path in a window, at least
UNDER: Final = 2.0          #: [mm] the same of an undercut: its cells are cut whole, see `_under`
ROWS: Final = 4096          #: windows in a chunk
SLICES: Final = 16 * ROWS   #: and their slices
CHUNK: Final = 16_000       #: moves that are divided at once
FLOOR_SHARE: Final = 0.01   #: of a window's volume by the end of the tool: less is not told
COLUMNS: Final = 16         #: of `rows` in `_drive`
STATE: Final = 24
ENOUGH: Final = 0.999       #: of a window: rounding makes no window longer
CORNER: Final = 0.70711     # as in `_cells`
PICKED: Final = 4096        #: cells that are looked at in one go, and two rows of the grid
AGAIN: Final = 20_000       #: pieces after which the highest material is looked for anew
TINY: Final = 1.0e-300      #: [mm] a window that goes nowhere has no direction
HITS: Final = 4096          #: of rings in the stock, in a chunk


@dataclass
class Cutting:
    """One cutter at work on a stock.

    Fields:
        stock: changed as it is cut.
        cutter: with which.
        window: path in a window, at least [mm].
        rings: shank, nut and spindle; those wider than the cutter, or above an undercut, must not touch the stock.
        hits: where one did, so far.
    """

    stock: Stock
    cutter: Cutter
    window: float = WINDOW
    rings: Sequence[Ring] = ()
    hits: list[Hit] = field(default_factory=list)
    _state: Floats = field(init=False)
    _last: Longs = field(init=False)
    _edges: Floats = field(init=False)
    _book: Floats = field(init=False)
    _ahead: NDArray[np.float32] = field(init=False)
    _since: int = field(init=False, default=0)
    _room: tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.float32]] = field(init=False)
    _written: tuple[Floats, Longs, Floats, Longs, Floats, Floats] = field(init=False)
    _rings: Floats = field(init=False)

    def __post_init__(self) -> None:
        self._state = np.zeros(STATE)
        self._last = np.zeros(3, dtype=np.int64)
        self._edges = self.cutter.edges
        self._ahead = np.zeros((2, PLACES), dtype=np.float32)
        self._book = np.zeros((len(self._edges) + 1, 64))
        self._book[-1, 2] = 1.0e9
        self._state[4:7] = np.inf
        room = 2 * self.stock.shape[1] + PICKED
        self._room = (np.zeros((4, self.stock.shape[0]), dtype=np.int32), np.empty(room, dtype=np.int32),
                      np.empty((4, room), dtype=np.float32))
        self._written = (np.empty((ROWS, COLUMNS)), np.zeros((ROWS, 3), dtype=np.int64), np.empty((SLICES, 6)),
                         np.empty(ROWS, dtype=np.int64), np.empty((HITS, 3)), np.zeros(9))
        cutter = self.cutter
        self.rings = [ring for ring in self.rings
                      if ring.radius > cutter.radius or (cutter.neck > 0.0 and ring.low >= cutter.length)]
        self._rings = self._guards()

    def along(self, moves: Moves, seconds: Floats | None = None) -> Iterator[Windows]:
        """Cut along moves, chunk by chunk; what is not yet whole is kept for the next call or `rest`.

        Args:
            moves: n of them, in the axes of the stock.
            seconds: how long each takes [s], shape (n,); by the programmed feed where not given.

        Returns:
            Windows as they come.
        """
        for begin in range(0, len(moves), CHUNK):
            part = moves.take(slice(begin, begin + CHUNK))
            sure, times = known(part), None if seconds is None else seconds[begin:begin + CHUNK]
            if not sure.all():
                part, times = part.take(sure), None if times is None else times[sure]
            yield from self._chunk(part, times)

    def _chunk(self, moves: Moves, seconds: Floats | None) -> Iterator[Windows]:
        pieces, tags = pieces_of(moves, self.stock, self.cutter.teeth, self.window, seconds)
        begin = 0
        while begin < len(pieces):
            before = begin
            begin, windows = self._drive(pieces, tags, begin)
            if begin == before:
                self.stock.widen()
            if len(windows):
                yield windows

    def rest(self) -> Windows:
        """The window that is still open, its end cut to the edge of the tool."""
        return self._drive(np.zeros((0, 9)), np.zeros((0, 3), dtype=np.int64), 0, True)[1]

    def _drive(self, pieces: Floats, tags: Longs, begin: int, end: bool = False) -> tuple[int, Windows]:
        from ._cells import Work
        from ._drive import Log, drive

        stock = self.stock
        self._since += len(pieces)
        if self._since > AGAIN:
            self._since = 0
            stock.bound()
        spans, picked, places = self._room
        work = Work(stock.rods, stock.more, stock.pool, stock.links, *stock.shape, self._book, self._edges,
                    spans, picked, places, stock.floor)
        rows, tags_of, slices, ends, hits, piece = self._written
        log = Log(self._state, self._last, rows, tags_of, slices, ends, np.zeros(3, dtype=np.int64),
                  ENOUGH * self.window, self._rings, hits, piece)
        table = contact_places(self.cutter)
        after = drive(work, log, self.cutter.form(stock.cell), table, self._ahead, pieces, tags, begin,
                      stock.ceiling, end)
        count, used, hit = log.counts.tolist()
        if hit:
            self._note(hits[:hit], pieces, tags)
        return after, self._windows(rows[:count], tags_of[:count], slices[:used], ends[:count])

    def _guards(self) -> Floats:
        """Radius, less the corner of a cell that stands on the wall of the cut, and height of each ring."""
        cell = self.stock.cell
        return np.array([(ring.radius / cell - CORNER, ring.low) for ring in self.rings]).reshape(-1, 2)

    def _note(self, found: Floats, pieces: Floats, tags: Longs) -> None:
        """Keep the first hit of each ring on each line, as deep as the deepest."""
        for p, g, depth in found.tolist():
            piece, line, ring = pieces[int(p)], tags[int(p)], self.rings[int(g)].name
            place = self.stock.points(piece[None, 0:3])[0]
            last = next((k for k in range(len(self.hits) - 1, -1, -1) if self.hits[k].line != line[0]), -1) + 1
            same = [k for k in range(last, len(self.hits)) if self.hits[k].ring == ring]
            if same:
                self.hits[same[0]] = replace(self.hits[same[0]], depth=max(self.hits[same[0]].depth, depth))
            else:
                self.hits.append(Hit(int(line[0]), ring, "stock", vector(place), depth, bool(line[1])))

    def _windows(self, rows: Floats, tags: Longs, slices: Floats, ends: Longs) -> Windows:
        s0, s1, seconds, volume, floor, depth, width, entry, leave = rows.T[:9].copy()
        start, stop = self.stock.points(rows[:, 9:15].reshape(-1, 3)).reshape(-1, 2, 3).transpose(1, 0, 2)
        way = stop - start
        way /= np.maximum(np.sqrt(np.einsum("ij,ij->i", way, way)), TINY)[:, None]
        feed = rows[:, 15].copy()
        back, offsets = feed < 0.0, np.zeros(len(ends) + 1, dtype=np.int64)
        offsets[1:] = ends
        flags = (tags[:, 2] & 15) | ((floor > FLOOR_SHARE * volume) * int(Flag.FLOOR))
        return Windows(
            line=tags[:, 0].copy(), s0=s0, s1=s1, seconds=seconds, point=0.5 * (start + stop), direction=way,
            volume=volume, depth=depth, width=width, entry=np.where(back, np.pi - leave, entry),
            exit=np.where(back, np.pi - entry, leave), feed_per_tooth=np.abs(feed),
            corner=(tags[:, 2] & 16) != 0, floor=floor, flags=flags, slices=_slices(slices, offsets, feed))


def vector(point: Floats) -> Vector:
    """Three numbers of an array."""
    x, y, z = point.tolist()
    return x, y, z


def _slices(found: Floats, offsets: Longs, per_tooth: Floats) -> Slices:
    """Slices of windows, with the chip that the feed per tooth makes there."""
    low, high, entry, leave, volume, steep = found.T.copy()
    feed = np.repeat(per_tooth, np.diff(offsets))
    back = feed < 0.0
    through = (entry <= 0.5 * np.pi) & (leave >= 0.5 * np.pi)
    thickest = np.where(through, 1.0, np.maximum(np.sin(entry), np.sin(leave)))
    return Slices(offsets, low, high, np.where(back, np.pi - leave, entry), np.where(back, np.pi - entry, leave),
                  np.abs(feed) * thickest * steep, volume)


def cut(
    stock: Stock, moves: Moves, cutter: Cutter, window: float = WINDOW, seconds: Floats | None = None,
) -> Windows:
    """Cut stock along moves.

    Args:
        stock: changed as it is cut.
        moves: n of them, in the axes of the stock, all with this cutter.
        cutter: with which.
        window: path in a window, at least [mm].
        seconds: how long each move takes [s], shape (n,); by the programmed feed where not given.

    Returns:
        Windows; stretches through air are one window up to the next change of rapid and feed.
    """
    work = Cutting(stock, cutter, window)
    chunks = [*work.along(moves, seconds), work.rest()]
    return joined(chunks)
