"""What a program does, in sums: extents, tools, feeds, times, and what a person should look at."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstoff.program.timing import Timed
from firstoff.program.words import Told
from firstoff.removal.moves import Doubt, Floats, Kind, Moves, extents

#: where no word turns the spindle on, as on a mill whose spindle has its own switch
NEVER_ON: Final = "cuts, but no M3 or M4 with an S above 0 stands anywhere: it is switched on by hand, or stands"
#: so many different speeds and feeds are kept one by one
MOST_FEEDS: Final = 200
#: a level move changes its height by less [mm]
LEVEL: Final = 1e-6
#: doubts that leave a move open; axes that no word told yet, and a unit that is asked for once, are not among them
_DOUBTFUL: Final = int(Doubt.PATH | Doubt.FEED | Doubt.SPINDLE | Doubt.TOOL | Doubt.UNREAD)
_AXES: Final = (int(Doubt.X), int(Doubt.Y), int(Doubt.Z))


@dataclass
class Extent:
    """Lowest and highest place on each axis [mm]; infinite where no move tells."""

    low: Floats = field(default_factory=lambda: np.full(3, np.inf))
    high: Floats = field(default_factory=lambda: np.full(3, -np.inf))

    def add(self, moves: Moves) -> None:
        """Widen it by moves, each axis as far as it is known."""
        sure = (moves.doubt & int(Doubt.START | Doubt.END | Doubt.PATH)) == 0
        if sure.any():
            low, high = extents(moves.take(sure))
            self.low, self.high = np.minimum(self.low, low.min(axis=0)), np.maximum(self.high, high.max(axis=0))
        rest = moves.take(~sure)
        for axis, bit in enumerate(_AXES):
            ends = rest.end[(rest.doubt & bit) == 0, axis]
            if len(ends):
                self.low[axis] = min(self.low[axis], ends.min())
                self.high[axis] = max(self.high[axis], ends.max())

    @property
    def told(self) -> bool:
        """Whether any move told of any axis."""
        return bool((self.low <= self.high).any())


@dataclass
class ToolUse:
    """What one tool does.

    Fields:
        tool: its number, 0 where none was called.
        moves: how many.
        seconds: at the machine [s].
        speeds: of the spindle [rad/s], with sign.
        feeds: lowest and highest that cut [mm/s].
        lowest: lowest Z that it cuts at [mm].
    """

    tool: int
    moves: int = 0
    seconds: float = 0.0
    speeds: set[float] = field(default_factory=set)
    feeds: tuple[float, float] = (math.inf, 0.0)
    lowest: float = math.inf


@dataclass
class FeedUse:
    """Level moves at one feed: at which heights they run, and where the first stands."""

    line: int
    lowest: float
    highest: float


class Summary:
    """Sums over moves; add all chunks, then ask."""

    def __init__(self) -> None:
        self.moves = self.cutting = self.arcs = self.not_timed = self.doubtful = self.stands = 0
        self.seconds = 0.0
        self.rapid, self.cut = Extent(), Extent()
        self.tools: dict[int, ToolUse] = {}
        self.zeros: set[int] = set()
        self.feeds: dict[float, FeedUse] = {}
        self.still: list[int] = []
        self.level_rapid = math.inf          # lowest Z at which a rapid goes sideways [mm]
        self.turned = False                  # the spindle, anywhere
        self._any_z = False
        self._still = False

    def add_all(self, chunks: Iterable[tuple[Moves, Timed]]) -> None:
        """Add chunks in order."""
        for moves, times in chunks:
            self.add(moves, times)

    def add(self, moves: Moves, times: Timed) -> None:
        """Add a chunk."""
        going = moves.kind != Kind.STAND
        rapid = moves.kind == Kind.RAPID
        cutting = going & ~rapid
        self.moves += int(going.sum())
        self.stands += int((~going).sum())
        self.cutting += int(cutting.sum())
        self.arcs += int(moves.turns.sum())
        self.not_timed += int((~times.timed).sum())
        self.doubtful += int(((moves.doubt & _DOUBTFUL) != 0).sum())
        self.seconds += float(times.seconds.sum())
        self.rapid.add(moves.take(rapid))
        self.cut.add(moves.take(cutting))
        self.zeros.update(np.unique(moves.zero[going]).tolist())
        self._level_rapids(moves, rapid)
        self._tools(moves, times, cutting)
        self._feeds(moves, cutting)
        self._spindle_off(moves, cutting)

    def _level_rapids(self, moves: Moves, rapid: NDArray[np.bool_]) -> None:
        certain = (moves.doubt & int(Doubt.START | Doubt.END)) == 0
        way = np.hypot(*(moves.end - moves.start)[:, :2].T)
        heights = np.minimum(moves.start, moves.end)[rapid & certain & (way > LEVEL), 2]
        if len(heights):
            self.level_rapid = min(self.level_rapid, float(heights.min()))

    def _tools(self, moves: Moves, times: Timed, cutting: NDArray[np.bool_]) -> None:
        for tool in np.unique(moves.tool).tolist():
            own = moves.tool == tool
            use = self.tools.setdefault(tool, ToolUse(tool))
            use.moves += int((own & (moves.kind != Kind.STAND)).sum())
            use.seconds += float(times.seconds[own].sum())
            cuts = own & cutting
            if len(use.speeds) < MOST_FEEDS:
                use.speeds.update(np.unique(moves.spindle[cuts]).tolist())
            feeds = moves.feed[cuts & (moves.feed > 0.0)]
            if len(feeds):
                use.feeds = (min(use.feeds[0], float(feeds.min())), max(use.feeds[1], float(feeds.max())))
            heights = moves.end[cuts & ((moves.doubt & int(Doubt.Z)) == 0), 2]
            if len(heights):
                use.lowest = min(use.lowest, float(heights.min()))

    def _feeds(self, moves: Moves, cutting: NDArray[np.bool_]) -> None:
        """Heights of level moves at each feed: a rapid that was posted as a feed runs above all cuts."""
        rise = np.abs(moves.end[:, 2] - moves.start[:, 2])
        self._any_z = self._any_z or bool((cutting & ((moves.doubt & int(Doubt.Z)) == 0)).any())
        certain = (moves.doubt & int(Doubt.START | Doubt.END | Doubt.FEED)) == 0
        way = np.hypot(*(moves.end - moves.start)[:, :2].T)
        level = np.flatnonzero(cutting & certain & (rise < LEVEL) & (way > LEVEL))
        for feed in np.unique(moves.feed[level]).tolist():
            own = level[moves.feed[level] == feed]
            heights = moves.end[own, 2]
            use = self.feeds.get(feed)
            if use is not None:
                use.lowest, use.highest = min(use.lowest, heights.min()), max(use.highest, heights.max())
            elif len(self.feeds) < MOST_FEEDS:
                self.feeds[feed] = FeedUse(int(moves.line[own[0]]), float(heights.min()), float(heights.max()))

    def _spindle_off(self, moves: Moves, cutting: NDArray[np.bool_]) -> None:
        """Lines where a stretch begins that cuts with the spindle off."""
        self.turned = self.turned or bool((moves.spindle != 0.0).any())
        at = np.flatnonzero(cutting)
        still = (moves.spindle[at] == 0.0) & ((moves.doubt[at] & int(Doubt.SPINDLE | Doubt.UNREAD)) == 0)
        before = np.concatenate(([self._still], still[:-1]))
        self.still += moves.line[at[still & ~before]].tolist()[: MOST_FEEDS - len(self.still)]
        if len(still):
            self._still = bool(still[-1])

    def warnings(self) -> tuple[Told, ...]:
        """What the moves themselves show that a person should look at."""
        told = [Told(line, "cuts from here on with the spindle off") for line in self.still]
        if self.still and not self.turned:
            told = [Told(self.still[0], NEVER_ON)]
        told += self._posted_rapids()
        if len(self.zeros - {0}) > 1:
            told.append(Told(1, f"uses {len(self.zeros - {0})} work zeros: heights and extents count from different "
                                "places"))
        if self.cutting and not self._any_z:
            told.append(Told(1, "no cut has a Z: how deep it goes is left to the machine"))
        return tuple(told)

    def _posted_rapids(self) -> list[Told]:
        """The fastest feed, where its level moves all run above those of every other feed."""
        if len(self.feeds) < 2:
            return []
        fastest = max(self.feeds)
        use = self.feeds[fastest]
        others = max(other.highest for feed, other in self.feeds.items() if feed != fastest)
        if use.lowest <= others:
            return []
        return [Told(use.line, "the fastest feed only runs above all others: rapids posted as G1; the machine's feed "
                               "override slows them")]
