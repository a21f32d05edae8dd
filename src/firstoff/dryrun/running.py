"""One program over one stock: windows for the checks, and a `Run` of all that no force can tell. Geometry; mm, s."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..checks._run import Run, Spot
from ..checks.base import Case
from ..part.shapes import Vector
from ..program.reading import Reading, read
from ..program.timing import Limits, Timed, timed
from ..removal.collisions import Box, Hit, Ring, collide
from ..removal.cutters import Cutter
from ..removal.cutting import UNDER, WINDOW, Cutting, vector
from ..removal.moves import Doubt, Kind, Moves, extents
from ..removal.stock import Stock
from ..removal.windows import Flag, Windows, joined, without_residue
from .cutters import cutter_of, rings
from .fouls import boxes_of
from .gouging import Faces
from .nominal import rapid_of
from .placing import Placed, corners_of

Floats = NDArray[np.float64]

GRAZE: Final = 0.05          #: [mm3] less in a window is the edge of a cell
RESIDUE: Final = 0.5         #: of a cell: thinner layers are what the grid left on a wall
THICK: Final = 0.02          #: [mm] a thinner layer, too
UNSURE: Final = int(Doubt.END | Doubt.PATH | Doubt.UNIT | Doubt.UNREAD)
AT_RAPID: Final = 0.98       #: of the fastest feed: so fast nobody cuts
FAST: Final = 50.0           #: [mm/s] a feed as fast as that is no cut on a machine of which nothing is said; judged
_SPEED: Final = re.compile(rb"^[^(;\n]*[sS][ \t]*[#\[\d]", re.MULTILINE)
MOST_SPOTS: Final = 200      #: of a kind that are kept


@dataclass(frozen=True)
class Place:
    """A part in a setting, its zero, and the stock as it comes in.

    Fields:
        placed: the part.
        zero: of the program in machine axes [mm].
        box: least and greatest corner of the stock in the part's axes [mm].
    """

    placed: Placed
    zero: Vector
    box: tuple[Vector, Vector]

    @cached_property
    def _ends(self) -> Floats:
        """Corners of the stock from the zero [mm], shape (8, 3)."""
        corners = [self.placed.machine(corner) for corner in corners_of(*self.box)]
        return np.asarray(np.array(corners) - np.array(self.zero))

    @property
    def low(self) -> Vector:
        """Of the stock, from the zero [mm]."""
        return vector(self._ends.min(axis=0))

    @property
    def high(self) -> Vector:
        """Of the stock, from the zero [mm]."""
        return vector(self._ends.max(axis=0))

    @property
    def tilted(self) -> bool:
        """Whether the stock stands at an angle."""
        return any(max(abs(c) for c in axis) < 1.0 - 1e-9 for axis in self.placed.axes)

    @property
    def turn(self) -> Floats:
        """Rows: machine x, y, z in the part's axes [1], shape (3, 3)."""
        return np.array(self.placed.axes, dtype=np.float64)

    def in_part(self, points: Floats) -> Floats:
        """Points from the zero [mm] in the part's axes, shape (n, 3)."""
        return np.asarray((points + np.array(self.zero)) @ self.turn)

    def block(self, cell: float) -> Stock:
        """The stock before anything is cut."""
        if self.tilted:
            return Stock.askew(*self.box, self.turn, -np.array(self.zero), cell)
        size = (self.high[0] - self.low[0], self.high[1] - self.low[1], self.high[2] - self.low[2])
        return Stock.block(size, self.low, cell)


def place_of(case: Case) -> Place | str:
    """Where part, zero and stock of a case are; words for why that can't be said."""
    setting = case.setting
    if "+" in setting.workpiece:
        return "the stock of parts put together is not made"
    placed = Placed(case.part, case.wanted, setting, case.shop.devices.get(setting.holding.device))
    zero = placed.zero()
    if zero is None:
        return "the faces of the setting's zero are not flat, or do not meet in one corner"
    return Place(placed, zero, placed.stock())


def limits_of(case: Case) -> Limits:
    """How fast the machine of a case goes."""
    rapid, figures = rapid_of(case), case.shop.classes[case.machine.like]
    figure = case.machine.acceleration or figures.acceleration
    acceleration = None if figure is None else (figure.value,) * 3
    return Limits((rapid,) * 3, (rapid,) * 3, acceleration, override=case.op.program_feed)


@dataclass
class Runner:
    """Runs the program of a case over its stock.

    Fields:
        case: an operation with a program.
        file: of it.
        place: of part, zero and stock.
        stock: as cut so far; changed.
        uncut: earlier work that is not in it.
    """

    case: Case
    file: Path
    place: Place
    stock: Stock
    uncut: tuple[str, ...] = ()
    cutter: Cutter = field(init=False)
    moves: int = 0
    path: float = 0.0
    spots: dict[str, dict[tuple[int, str], float]] = field(default_factory=dict)
    unsure: dict[int, int] = field(default_factory=dict)
    zeros: dict[int, int] = field(default_factory=dict)
    tools: set[int] = field(default_factory=set)
    speeds: set[float] = field(default_factory=set)
    idle: set[int] = field(default_factory=set)
    quick: set[int] = field(default_factory=set)
    cut_ends: list[Floats] = field(default_factory=lambda: [np.full(3, np.inf), np.full(3, -np.inf)])
    all_ends: list[Floats] = field(default_factory=lambda: [np.full(3, np.inf), np.full(3, -np.inf)])
    deepest: Spot = field(default_factory=lambda: Spot(0, "", -math.inf))

    def __post_init__(self) -> None:
        self.cutter = cutter_of(self.case)

    def run(self) -> tuple[Windows, Run]:
        """The windows in the part's axes, and what else is to be told.

        Raises:
            FileError: if the file is missing, empty or no text.
        """
        case = self.case
        reading = read(self.file, case.op.program_unit, cutter=case.tool.diameter)
        guards, no_nut = rings(case, self.cutter)
        boxes, no_jaws = boxes_of(self.place.placed, self.place.zero)
        faces = Faces(self.place.placed, self.place.zero, self.cutter, self._finished())
        work = Cutting(self.stock, self.cutter, UNDER if self.cutter.neck > 0.0 else WINDOW, guards)
        found: list[Windows] = []
        for moves, times in own_moves(reading, case, self.by_hand(), self.zeros):
            self._count(moves)
            self._collide(moves, guards, boxes)
            faces.look(moves)
            found += work.along(_as_fast(moves, times), times.seconds)
        found.append(work.rest())
        self._hits(work.hits)
        windows = joined(found)
        self._material(windows)
        windows = without_residue(windows, RESIDUE * self.stock.cell, self.cutter.neck > 0.0)
        whole = replace(windows, point=self.place.in_part(windows.point))
        return whole, self._run(reading, windows, faces, (*no_nut, *no_jaws))

    def by_hand(self) -> float:
        """Speed that a person sets where no word of the program says one [rad/s]; 0 where one does."""
        return 0.0 if _SPEED.search(self.file.read_bytes()) else self.case.op.cut.spindle_speed or 0.0

    def _finished(self) -> frozenset[int]:
        if self.case.op.leaves > 0.0:
            return frozenset()
        return frozenset(number for feature in self.case.features for number in feature.faces)

    def _count(self, moves: Moves) -> None:
        """Extents, tools, speeds, what can't be said; where the spindle stands or the feed is a rapid's."""
        going = moves.take(moves.kind != Kind.STAND)
        self.moves += len(going)
        self.tools |= {int(tool) for tool in np.unique(going.tool)}
        doubtful = (going.doubt & UNSURE) != 0
        doubtful &= ~((going.doubt & int(Doubt.START)) != 0) | ((going.doubt & int(Doubt.UNIT | Doubt.UNREAD)) != 0)
        for line in going.line[doubtful][:MOST_SPOTS].tolist():
            self.unsure[line] = self.unsure.get(line, 0) + 1
        sure = going.take((going.doubt & (UNSURE | int(Doubt.START))) == 0)
        if not len(sure):
            return
        cuts = sure.take(sure.kind != Kind.RAPID)
        _widen(self.all_ends, sure)
        if len(cuts):
            self._cuts(cuts)

    def _cuts(self, cuts: Moves) -> None:
        _widen(self.cut_ends, cuts)
        self.path += float(np.linalg.norm(cuts.end - cuts.start, axis=1).sum())
        known = (cuts.doubt & int(Doubt.SPINDLE)) == 0
        self.speeds |= {float(abs(speed)) for speed in np.unique(cuts.spindle[known]) if speed}
        self.idle |= set(cuts.line[known & (cuts.spindle == 0.0)].tolist())
        fastest = AT_RAPID * rapid_of(self.case) if self._fast_known() else FAST
        self.quick |= set(cuts.line[cuts.feed >= fastest].tolist())
        lowest = np.minimum(cuts.start[:, 2], cuts.end[:, 2])
        near = self._over_stock(cuts)
        if near.any():
            at = int(np.flatnonzero(near)[lowest[near].argmin()])
            below = self.place.low[2] - float(lowest[at])
            if below > self.deepest.size:
                self.deepest = Spot(int(cuts.line[at]), "", below)

    def _fast_known(self) -> bool:
        own, book = self.case.machine.table_speed, self.case.shop.classes[self.case.machine.like].table_speed
        return own is not None or book is not None

    def _over_stock(self, cuts: Moves) -> NDArray[np.bool_]:
        """Moves over, or beside by no more than a radius, the stock in plan."""
        room = self.cutter.radius
        low, high = (np.array(end[:2]) for end in (self.place.low, self.place.high))
        least, most = np.minimum(cuts.start, cuts.end)[:, :2], np.maximum(cuts.start, cuts.end)[:, :2]
        return np.asarray(((most > low - room) & (least < high + room)).all(axis=1))

    def _collide(self, moves: Moves, guards: tuple[Ring, ...], boxes: tuple[Box, ...]) -> None:
        for box in boxes:
            near = _near(moves, guards, box)
            if near.any():
                self._hits(collide(moves.take(near), guards, [box]))

    def _hits(self, hits: list[Hit]) -> None:
        for hit in hits:
            thing = "the work" if hit.box == "stock" else f"the {hit.box}"
            what = f"{hit.ring} in {thing}" + (" at rapid speed" if hit.rapid else "")
            self._note("hits", hit.line, what, hit.depth)

    def _material(self, windows: Windows) -> None:
        """Windows that take metal off at rapid speed, as fast as a rapid, or with the spindle off."""
        thick = np.where((windows.flags & (Flag.FLOOR | Flag.PLUNGE)) != 0, np.maximum(windows.depth, windows.width),
                         windows.width)
        real = (windows.volume > GRAZE) & (thick > THICK)
        rapid = (windows.flags & Flag.RAPID) != 0
        for i in np.flatnonzero(real):
            line, volume = int(windows.line[i]), float(windows.volume[i])
            kinds = ("rapids",) if rapid[i] else tuple(
                kind for kind, lines in (("fast", self.quick), ("off", self.idle)) if line in lines)
            for kind in kinds:
                self._note(kind, line, "", volume)

    def _note(self, kind: str, line: int, what: str, size: float) -> None:
        kept = self.spots.setdefault(kind, {})
        kept[line, what] = max(kept.get((line, what), 0.0), size)

    def _spots(self, kind: str) -> tuple[Spot, ...]:
        kept = sorted(self.spots.get(kind, {}).items(), key=lambda item: -item[1])[:MOST_SPOTS]
        return tuple(sorted(Spot(line, what, size) for (line, what), size in kept))

    def _run(self, reading: Reading, windows: Windows, faces: Faces, lacking: tuple[str, ...]) -> Run:
        told = tuple(Spot(one.line, one.what, 0.0) for one in reading.told)
        unsure = tuple(Spot(line, "", float(count)) for line, count in sorted(self.unsure.items()))
        ends = [vector(np.where(np.isfinite(end), end, 0.0)) for end in (*self.cut_ends, *self.all_ends)]
        return Run(
            file=self.case.route.program_of(self.case.op) or "", unit=reading.unit or "", moves=self.moves,
            cutting=self.path, removed=float(windows.volume.sum()), low=ends[0], high=ends[1], rapid_low=ends[2],
            rapid_high=ends[3], stock_low=self.place.low, stock_high=self.place.high, deepest=self.deepest, told=told,
            unsure=unsure, tools=tuple(sorted(self.tools)), speeds=tuple(sorted(self.speeds)),
            rapids=self._spots("rapids"), fast=self._spots("fast"), off=self._spots("off"), hits=self._spots("hits"),
            gouges=tuple(sorted(faces.gouged.values())), left=faces.left, uncut=self.uncut,
            lacking=(*lacking, *self._other_zeros()))

    def _other_zeros(self) -> tuple[str, ...]:
        """Moves from another work zero than the first: where that lies, nobody said."""
        return tuple(f"{count} moves from another work zero than the first" for count in
                     [sum(list(self.zeros.values())[1:])] if count)


def own_moves(
    reading: Reading, case: Case, by_hand: float, zeros: dict[int, int],
) -> Iterator[tuple[Moves, Timed]]:
    """The moves of the operation's tool, and how fast the machine really goes along them.

    Args:
        reading: of the program.
        case: the operation.
        by_hand: speed that a person sets on the machine [rad/s]; 0 where the program says it.
        zeros: filled with the moves from each work zero, the first first.
    """
    wanted, stops, by_stops = case.op.program_tool, 1, None
    for moves, times in timed(reading.chunks(), limits_of(case)):
        if by_stops is None and len(moves):
            by_stops = wanted is not None and not moves.tool.any()
        own = np.ones(len(moves), dtype=np.bool_)
        if by_stops:
            count = stops + np.cumsum((moves.kind == Kind.STAND) & (moves.wait == 0.0))
            own, stops = count == wanted, int(count[-1]) if len(count) else stops
        elif wanted is not None:
            own = moves.tool == wanted
        if by_hand:
            moves = replace(moves, spindle=np.where(moves.spindle == 0.0, by_hand, moves.spindle))
        own &= _first_zero(moves, own, zeros)
        yield moves.take(own), times.take(own)


def _first_zero(moves: Moves, own: NDArray[np.bool_], zeros: dict[int, int]) -> NDArray[np.bool_]:
    for zero in moves.zero[own].tolist():
        zeros[zero] = zeros.get(zero, 0) + 1
    return np.asarray(moves.zero == next(iter(zeros), 1), dtype=np.bool_)


def _as_fast(moves: Moves, times: Timed) -> Moves:
    """Moves at the mean speed that the machine reaches."""
    cuts = (moves.kind != Kind.RAPID) & (times.feed > 0.0)
    return replace(moves, feed=np.where(cuts, times.feed, moves.feed))


def _widen(ends: list[Floats], moves: Moves) -> None:
    low, high = extents(moves)
    ends[0], ends[1] = np.minimum(ends[0], low.min(axis=0)), np.maximum(ends[1], high.max(axis=0))


def _near(moves: Moves, guards: tuple[Ring, ...], box: Box) -> NDArray[np.bool_]:
    """Moves that may bring any ring to a box."""
    room = max((ring.radius for ring in guards), default=0.0)
    least, most = np.minimum(moves.start, moves.end), np.maximum(moves.start, moves.end)
    if moves.turns.any():
        low, high = extents(moves)
        least, most = np.minimum(least, low), np.maximum(most, high)
    low, high = np.array(box.low), np.array(box.high)
    near = np.asarray(((most[:, :2] > low[:2] - room) & (least[:, :2] < high[:2] + room)).all(axis=1))
    return np.asarray(near & (least[:, 2] < high[2]))

