"""The part as it stands after a program, from above: what is left, cut too deep and pushed off, hatched in one hue.

Floors are compared with level faces of the part by height; walls, which no cell of a raster sees as finely, by what
the run of the program found on them. Pushes stand along the path, on the side of the wall that the cutter leaves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import pi
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..checks._run import Run, deep, worst_first
from ..checks.base import Case
from ..checks.program_left import NOT_MEANT
from ..dryrun.result import Result
from ..dryrun.running import Place, place_of
from ..units import tell
from .drawing import SCALES
from .pen import Pen, Point

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

WIDTH: Final = 186.0           #: of the sheet between its margins [mm]
TALLEST: Final = 95.0          #: of the view on paper [mm]
HEAD: Final = 10.0             #: above the view [mm]
ROW: Final = 5.0               #: of a line of words below it [mm]
OFF: Final = 0.02              #: [mm] less left or less deep is not drawn; as where gouges are judged
PUSHED: Final = 0.005          #: [mm] a smaller push is not drawn
TICK: Final = 2.0              #: of the strokes beside a wall, long and apart at least [mm on paper]
LEVEL: Final = 1.0 - 1e-6      #: cosine from which a face is level
NEAR_WALL: Final = 0.1         #: [rad] as in `checks/_pushed`
MOST: Final = 6                #: lines of words


@dataclass(frozen=True)
class StandDrawing:
    """An SVG, its height on paper [mm], and of which operation it is."""

    name: str
    svg: str
    height: float


@dataclass(frozen=True)
class _View:
    """From the zero of a setting to the paper."""

    pen: Pen
    scale: float
    x: float
    top: float

    def at(self, x: float, y: float) -> Point:
        return (x - self.x) * self.scale, HEAD + (self.top - y) * self.scale


def stand_drawings(result: Result) -> list[StandDrawing]:
    """One drawing for each operation whose program was run."""
    return [drawn for case in result.cases if (drawn := stand_drawing(case, result)) is not None]


def stand_drawing(case: Case, result: Result) -> StandDrawing | None:
    """The work after an operation; None where its program was not run, or where it is can't be said."""
    stands, run = case.standing, case.run
    place = place_of(case) if stands is not None and run is not None else ""
    if stands is None or run is None or isinstance(place, str):
        return None
    rows, columns = stands.heights.shape
    wide, high = columns * stands.step, rows * stands.step
    scale = next((s for s in SCALES if wide * s <= WIDTH and high * s <= TALLEST), SCALES[-1])
    left, gouged = differences(case, place)
    pushes = result.pushed.get(case.name, np.zeros(0))
    words = _words(case, run, left, gouged, pushes, result.job.units)
    pen = Pen(WIDTH, HEAD + high * scale + ROW * (len(words) + 1))
    view = _View(pen, scale, stands.x, stands.y + high)
    pen.text((0.0, 4.0), f"{case.op.number} {case.name}: the work after {run.file}", 3.8, bold=True)
    pen.path([[view.at(*one), view.at(*other)] for one, other in stands.edges()], "thin")
    for mask, both in ((left > OFF, False), (gouged > OFF, True)):
        for low, top in _boxes(mask):
            x0, y0 = view.at(stands.x + low[0] * stands.step, stands.y + top[1] * stands.step)
            x1, y1 = view.at(stands.x + top[0] * stands.step, stands.y + low[1] * stands.step)
            pen.hatch((x0, y0), (x1, y1), 0.9 if both else 1.8)
    _strokes(view, case, place, pushes)
    for k, line in enumerate(words):
        pen.text((0.0, HEAD + high * scale + ROW * (k + 0.8)), line)
    return StandDrawing(f"{case.op.number} {case.name}", pen.svg(), pen.height)


def differences(case: Case, place: Place) -> tuple[Floats, Floats]:
    """What is left on level faces that the operation finishes, and how far any level face is cut too deep.

    Args:
        case: with the work as it stands.
        place: of the part in its setting.

    Returns:
        Heights by square of the raster [mm], 0 where there is nothing to say, each of shape (rows, columns).
    """
    assert case.standing is not None
    heights = np.nan_to_num(case.standing.heights, nan=-np.inf)
    finished = {n for feature in case.features for n in feature.faces} if case.op.leaves == 0.0 else set()
    left, gouged = np.zeros(heights.shape), np.zeros(heights.shape)
    for face in case.part.faces:
        if face.kind != "plane" or place.placed.machine(face.normal)[2] < LEVEL or not face.outlines:
            continue
        loops = [np.array([place.placed.machine(p) for p in loop]) - np.array(place.zero) for loop in face.outlines]
        on = _shrunk(_inside(case, loops))
        above = heights - float(loops[0][:, 2].mean())
        gouged = np.where(on & np.isfinite(above), np.maximum(gouged, -above), gouged)
        if face.number in finished:
            left = np.where(on & (above <= NOT_MEANT), np.maximum(left, above), left)
    return left, gouged


def _inside(case: Case, loops: Sequence[Floats]) -> Mask:
    """Squares whose middle is inside an outline and outside its holes."""
    assert case.standing is not None
    x, y = (grid for grid in np.meshgrid(*case.standing.middles()))
    inside = np.zeros(x.shape, dtype=np.bool_)
    for loop in loops:
        for (x0, y0), (x1, y1) in zip(loop[:, :2], np.roll(loop[:, :2], -1, axis=0), strict=True):
            if y0 != y1:
                inside ^= ((y0 > y) != (y1 > y)) & (x < x0 + (y - y0) / (y1 - y0) * (x1 - x0))
    return inside


def _shrunk(mask: Mask) -> Mask:
    """Without the squares on its edge, where a wall may stand."""
    wide = np.pad(mask, 2)
    kept = wide.copy()
    for axis in (0, 1):
        for by in (-2, -1, 1, 2):
            kept &= np.roll(wide, by, axis=axis)
    return kept[2:-2, 2:-2]


def _boxes(mask: Mask) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    """Rectangles of squares that fill a mask: columns and rows of two corners."""
    open_: dict[tuple[int, int], int] = {}
    for row in range(len(mask) + 1):
        line = mask[row] if row < len(mask) else np.zeros(mask.shape[1], dtype=np.bool_)
        change = np.flatnonzero(np.diff(np.concatenate([[False], line, [False]]).astype(np.int8)))
        runs = {(int(a), int(b)) for a, b in zip(change[::2], change[1::2], strict=True)}
        for run in [run for run in open_ if run not in runs]:
            yield (run[0], open_.pop(run)), (run[1], row)
        for run in runs:
            open_.setdefault(run, row)


def _strokes(view: _View, case: Case, place: Place, pushes: Floats) -> None:
    """Short strokes out of the wall where the cutter is pushed off it."""
    windows = case.windows
    if windows is None or len(pushes) != len(windows):
        return
    tips = np.array([place.placed.machine(tuple(point)) for point in windows.point]) - np.array(place.zero)
    last: Point | None = None
    for i in np.flatnonzero(np.abs(np.nan_to_num(pushes)) > PUSHED).tolist():
        dx, dy = (float(way) for way in windows.direction[i, :2])
        side = 1.0 if windows.exit[i] >= pi - NEAR_WALL else -1.0        # a climb cut has its wall on the right
        aside = 0.5 * case.tool.diameter
        foot = view.at(float(tips[i, 0]) + side * dy * aside, float(tips[i, 1]) - side * dx * aside)
        if last is not None and np.hypot(foot[0] - last[0], foot[1] - last[1]) < TICK / 2:
            continue
        slant = (0.7 * side * dy + 0.7 * dx, 0.7 * side * dx - 0.7 * dy)
        view.pen.path([[foot, (foot[0] + TICK * slant[0], foot[1] + TICK * slant[1])]], "thin", grey=True)
        last = foot


def _words(
    case: Case, run: Run, left: Floats, gouged: Floats, pushes: Floats, units: str,
) -> list[str]:
    """What the hatching means, with the greatest of each."""
    found = []
    if left.max() > OFF:
        found.append(f"hatched wide: left on, up to {deep(float(left.max()), units)}")
    if gouged.max() > OFF:
        found.append(f"hatched close: cut too deep, up to {deep(float(gouged.max()), units)}")
    off = np.abs(np.nan_to_num(pushes))
    if case.windows is not None and len(off) == len(case.windows) and off.max(initial=0.0) > PUSHED:
        at = int(off.argmax())
        word = "left on" if pushes[at] > 0.0 else "too deep"
        found.append(f"strokes: the cutter is pushed off the wall, up to {tell(float(off[at]), 'length', units)} "
                     f"{word}, in line {int(case.windows.line[at])}")
    found += [f"line {spot.line}: {deep(spot.size, units)} into {spot.what}" for spot in worst_first(run.gouges)
              if spot.size > OFF]
    found += [f"{deep(spot.size, units)} left on {spot.what}, nearest in line {spot.line}"
              for spot in worst_first(run.left) if spot.size > OFF]
    return found[:MOST] or ["nothing is left on, cut too deep or pushed off that a drawing could show"]

