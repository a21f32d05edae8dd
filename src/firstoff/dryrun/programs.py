"""NC programs of a route: the stock goes from operation to operation, and what was cut once is kept on disk.

state key = hash(previous key, program, tool, place); the windows of a program are kept under the hash of the state
before and of all that moves, stock, tool and holding depend on. Where nothing is kept, the stock is made again from
its block by the moves of every program before, also those of settings that looked at it from below.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np

from ..checks._run import Run, Spot
from ..checks.base import Case
from ..errors import FileError, OutOfRange
from ..job.route import Cut, Operation, Route
from ..part.shapes import Face
from ..program.reading import read
from ..removal.compiling import kept
from ..removal.moves import Moves
from ..removal.moves import joined as joined_moves
from ..removal.standing import Standing, standing
from ..removal.stock import CELL, Stock
from ..removal.turning import Past, replay
from ..removal.windows import Flag, Slices, Windows
from .cutters import cutter_of
from .findings import write_atomically
from .keys import sources_digest
from .nominal import HOLES, nominal_windows
from .running import GRAZE, Place, Runner, own_moves, place_of

CLIMB: Final = 0.05         #: [rad] a tooth that enters later than this into a cut to its end climbs
SLOT: Final = 0.98          #: of the diameter: so wide a cut is a slot
FULL: Final = 95.0          #: [%] of the volume: the feed below which so much is taken stands for the cut
FIRST_TIME: Final = "preparing to cut stock, once on this computer: some 20 seconds"
KEPT_RUNS: Final = 200      #: on disk; the oldest go first


class Kept(NamedTuple):
    """What a program does, as it is kept on disk.

    Fields:
        windows: in the part's axes.
        run: what no force can tell.
        standing: the stock after it, from the zero of the setting.
    """

    windows: Windows
    run: Run
    standing: Standing


@dataclass(frozen=True)
class _Made:
    """An operation whose program was run."""

    case: Case
    place: Place
    file: Path


@dataclass
class _Piece:
    """A workpiece on its way.

    Fields:
        key: of its state.
        made: by program, in order.
        uncut: what was cut without a program.
        left: allowance on outer sides that were faced without a program, by setting and side [mm].
        stock: as it stands, where it was made in this run.
        stands: key and setting of that stock.
    """

    key: str = ""
    made: list[_Made] = field(default_factory=list)
    uncut: list[str] = field(default_factory=list)
    left: dict[tuple[str, int], float] = field(default_factory=dict)
    stock: Stock | None = None
    stands: tuple[str, str] = ("", "")


class Programs:
    """Makes the windows of operations, in the order of the route.

    Args:
        folder: of the job.
        cache: folder for windows that were made before.
    """

    def __init__(self, folder: Path, cache: Path | None = None) -> None:
        self.folder, self.cache = folder, cache
        self._pieces: dict[str, _Piece] = {}

    def windowed(self, case: Case) -> Case:
        """The case with its windows: of its program where it has one, else of nominal passes.

        Raises:
            FileError: if the program is missing, empty or no text.
        """
        piece = self._pieces.setdefault(case.setting.workpiece, _Piece())
        name = case.route.program_of(case.op)
        if name is None or case.op.tool is None or case.op.role in ("measure", "file", "saw", "lap"):
            self._by_nominal(case, piece)
            return replace(case, windows=nominal_windows(case))
        file = self.folder / name
        if not file.is_file():
            raise FileError(f"there is no program {name!r}", right=f"put it at {file}, or name another",
                            where=f"{case.route.file or 'route.toml'}, operations.{case.name}.program")
        place = place_of(case)
        if isinstance(place, str):
            return _not_cut(case, name, place)
        try:
            windows, run, stands = self._run(case, piece, _faced(place, case, piece), file)
        except OutOfRange as error:
            return _not_cut(case, name, str(error))
        return replace(case, windows=windows, run=run, standing=stands, operation=as_cut(case, windows, run))

    def _by_nominal(self, case: Case, piece: _Piece) -> None:
        """What is cut without a program stands on the stock of a program, but for outer sides that are faced."""
        if case.op.tool is None or case.op.role in ("measure", "tap", "file", "saw", "lap"):
            return
        piece.key = _hash(piece.key, case.name, repr(case.op.leaves))
        faces = [face for feature in case.features for face in case.part.faces if face.number in feature.faces]
        sides = [side for face in faces if (side := _outer(face, case)) is not None]
        for side in sides:
            piece.left[case.setting_name or "", side] = case.op.leaves
        if len(sides) < len(faces):
            piece.uncut.append(case.name)

    def _run(self, case: Case, piece: _Piece, place: Place, file: Path) -> Kept:
        before = piece.key
        key = _hash(before, _case_words(case, place), hashlib.blake2b(file.read_bytes(), digest_size=16).hexdigest())
        found = self._read(key)
        if found is None:
            stock = self._stock(case, piece, place)
            windows, run = Runner(case, file, place, stock, tuple(piece.uncut)).run()
            found = Kept(windows, run, standing(stock, place.low[:2], place.high[:2]))
            piece.stock, piece.stands = stock, (key, case.setting_name or "")
            self._write(key, *found)
        piece.key = key
        piece.made.append(_Made(case, place, file))
        return found

    def _stock(self, case: Case, piece: _Piece, place: Place) -> Stock:
        """As it stands before this operation."""
        if piece.stock is not None and piece.stands == (piece.key, case.setting_name or ""):
            return piece.stock
        stock = place.block(CELL)
        replay(stock, [_past(made, place) for made in piece.made])
        return stock

    def _file(self, key: str) -> Path | None:
        return None if self.cache is None else self.cache / f"{key}.npz"

    def _read(self, key: str) -> Kept | None:
        file = self._file(key)
        if file is None or not file.is_file():
            return None
        try:
            with np.load(io.BytesIO(file.read_bytes()), allow_pickle=False) as table:
                slices = Slices(**{f.name: table[f"slices.{f.name}"] for f in fields(Slices)})
                own = {f.name: table[f.name] for f in fields(Windows) if f.name != "slices"}
                x, y, step = table["raster"].tolist()
                stands = Standing(x, y, step, table["heights"])
                return Kept(Windows(**own, slices=slices), Run.from_text(str(table["run"])), stands)
        except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
            return None      # a damaged or older file is only a missing one

    def _write(self, key: str, windows: Windows, run: Run, stands: Standing) -> None:
        file = self._file(key)
        if file is None:
            return
        columns = {f.name: getattr(windows, f.name) for f in fields(Windows) if f.name != "slices"}
        columns |= {f"slices.{f.name}": getattr(windows.slices, f.name) for f in fields(Slices)}
        out = io.BytesIO()
        np.savez(out, run=np.array(run.as_text()), raster=np.array([stands.x, stands.y, stands.step]),
                 heights=stands.heights, **columns)
        file.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(file, out.getvalue())
        old = sorted(file.parent.glob("*.npz"), key=lambda f: f.stat().st_mtime, reverse=True)[KEPT_RUNS:]
        for one in old:
            one.unlink(missing_ok=True)


def getting_ready(route: Route) -> str:
    """What is under way before the first program of a route is run."""
    has = any(route.program_of(op) is not None for op in route.operations.values())
    return "" if not has else "running the programs" if kept() else FIRST_TIME


def _hash(*pieces: str) -> str:
    return hashlib.blake2b("|".join(pieces).encode(), digest_size=16).hexdigest()


def _case_words(case: Case, place: Place) -> str:
    """All that a run depends on beside its file and the state before."""
    shop, figures = case.shop, case.shop.classes[case.machine.like]
    machine = (case.machine.table_speed, case.machine.acceleration, figures.table_speed, figures.acceleration)
    return repr((sources_digest(), case.op.model_copy(update={"number": 1, "notes": ()}), case.setting, case.tool,
                 shop.collets.get(case.op.collet or ""), shop.devices.get(case.setting.holding.device), machine,
                 case.part.sha256, place.box, place.zero, CELL))


def _not_cut(case: Case, name: str, why: str) -> Case:
    """Nominal passes stand in, and why the program was not cut is told."""
    origin = (0.0, 0.0, 0.0)
    run = Run(name, "", 0, 0.0, 0.0, *(origin,) * 6, Spot(0, "", -np.inf), lacking=(why,))
    return replace(case, windows=nominal_windows(case), run=run)


def _outer(face: Face, case: Case) -> int | None:
    """Number of the outer side that a face is, 0 to 5 for -X, +X, -Y …; None where it is none."""
    if face.kind != "plane":
        return None
    for axis in range(3):
        if abs(face.normal[axis]) > 1.0 - 1e-6:
            up = face.normal[axis] > 0.0
            edge = (case.part.high if up else case.part.low)[axis]
            return 2 * axis + int(up) if abs(face.centroid[axis] - edge) < 1e-3 else None
    return None


def _faced(place: Place, case: Case, piece: _Piece) -> Place:
    """The stock with the sides that were faced without a program in this setting."""
    low, high = (list(end) for end in place.box)
    for (setting, side), left in piece.left.items():
        axis = side // 2
        if setting == case.setting_name and side % 2 == 1:
            high[axis] = min(high[axis], case.part.high[axis] + left)
        elif setting == case.setting_name:
            low[axis] = max(low[axis], case.part.low[axis] - left)
    return replace(place, box=((low[0], low[1], low[2]), (high[0], high[1], high[2])))


def _past(made: _Made, place: Place) -> Past:
    """An earlier program in the axes of a setting."""
    turn = place.turn @ made.place.turn.T
    shift = turn @ np.array(made.place.zero) - np.array(place.zero)
    return Past(joined_moves(list(_moves(made))), cutter_of(made.case), turn, shift)


def _moves(made: _Made) -> Iterator[Moves]:
    op = made.case.op
    reading = read(made.file, op.program_unit, cutter=made.case.tool.diameter)
    for moves, _ in own_moves(reading, made.case, 0.0, {}):
        yield moves


def as_cut(case: Case, windows: Windows, run: Run) -> Operation:
    """The operation with the numbers of its program, for checks that look at one cut and not at its windows."""
    real = (windows.volume > GRAZE) & (windows.depth > 0.0) & (windows.feed_per_tooth > 0.0)
    real &= (windows.flags & Flag.RAPID) == 0
    speed = max(run.speeds, default=None) or case.op.cut.spindle_speed
    if not real.any():
        return case.op.model_copy(update={"cut": case.op.cut.model_copy(update={"spindle_speed": speed})})
    weight = windows.volume[real]
    changed: dict[str, object] = {
        "spindle_speed": speed, "feed_per_tooth": _share(windows.feed_per_tooth[real], weight, FULL)}
    if case.op.role not in HOLES:
        width = _share(windows.width[real], weight, 50.0)
        slot = width >= SLOT * case.tool.diameter
        climbs = float(weight[windows.entry[real] > CLIMB].sum()) > 0.5 * float(weight.sum())
        changed |= {"depth_of_cut": float(windows.depth[real].max()), "width_of_cut": min(width, case.tool.diameter),
                    "direction": "slot" if slot else "climb" if climbs else "conventional"}
    return case.op.model_copy(update={"cut": Cut.model_construct(**{**dict(case.op.cut), **changed})})


def _share(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
           weight: np.ndarray[tuple[int, ...], np.dtype[np.float64]], percent: float) -> float:
    """The value below which so much of the weight lies."""
    order = np.argsort(values)
    run = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(run, percent / 100.0 * run[-1], side="left").clip(0, len(run) - 1)])


def fed(windows: Windows, times: float) -> Windows:
    """The same windows at another feed override: thicker chips in less time."""
    slices = replace(windows.slices, chip_max=windows.slices.chip_max * times)
    rapid = (windows.flags & Flag.RAPID) != 0
    return replace(windows, feed_per_tooth=windows.feed_per_tooth * times, slices=slices,
                   seconds=np.where(rapid, windows.seconds, windows.seconds / times))
