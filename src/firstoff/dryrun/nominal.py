"""Windows of an operation without a program: nominal passes made from the cut and the sizes of the features.

An operation becomes a few stretches in which engagement stays the same: the straight passes, the passes that open a
closed pocket, the corners where engagement jumps; for a hole, the way down. Angles are from +y in
the sense of rotation: up-milling 0 … acos(1 − 2a/D), down-milling acos(2a/D − 1) … π.

Assumed: rows run along the longer side and go on a tool's diameter beyond it; beside each row the tool rises,
goes back and comes down again at rapid speed; a peck goes back out of the hole each time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..checks.base import Case
from ..checks.si import millimetres, working_diameter
from ..job.route import Cut
from ..kept import kept
from ..part.shapes import Vector
from ..removal.windows import Slices, Windows
from ..shop.models import Machine, MachineFigures
from .seen import Seen, seen
from .undercuts import INNER, Arc, undercut

RAPID: Final = 25.0          #: [mm/s] where neither machine nor class says: 1500 mm a minute
BACK: Final = 5.0            #: [mm] above the work between rows
HAND_TAP: Final = 90.0       #: [s] to tap one hole by hand; judged
FILE: Final = 600.0          #: [s] to file a feature; judged
SAW: Final = 300.0           #: [s] to saw a bar; judged
LAP: Final = 18000.0         #: [s] to lap a millimetre off a face by hand: some 3 µm a minute; judged
PICKLE: Final = 900.0        #: [s] of one's own time to pickle a bar and wash it; the bath works overnight; judged
RELIEF: Final = 10.0         #: [s] for a person to bring tool and work together, each operation
HOLES: Final = frozenset({"spot", "drill", "ream", "countersink"})
OPENED: Final = frozenset({"pocket_rough"})
ROWS: Final = frozenset({"face_rough", "face_finish", "ramp_rough", "ramp_finish", "form"})
TURNS: Final = frozenset({"pocket_rough", "pocket_finish", "slot"})
STRAIGHT: Final = frozenset({"side_rough", "side_finish", "chamfer", "slot"})     #: along what is cut, not across it
NEAREST: Final = 1e-6


@dataclass(frozen=True)
class Stretch:
    """One window to be.

    Fields:
        length: of path in it [mm].
        seconds: time in it, approaches included [s].
        depth: axial depth of cut [mm].
        width: radial width of cut [mm].
        entry: angle where a tooth enters [rad].
        exit: angle where it leaves [rad].
        place: middle of it in the part's axes [mm].
        direction: of feed in the setting's axes [1].
        volume: removed [mm3].
        corner: whether engagement jumps here.
        arcs: by slices of the cutter, where one arc does not tell it.
    """

    length: float
    seconds: float
    depth: float
    width: float
    entry: float
    exit: float
    place: Vector
    direction: Vector
    volume: float
    corner: bool = False
    arcs: tuple[Arc, ...] = ()


@kept(1024, by=lambda case: (case.operation, case.setting, case.part, case.shop))
def nominal_windows(case: Case) -> Windows:
    """The windows of an operation as its route says it."""
    role = case.op.role
    if role == "measure" or (case.op.tool is None and role != "lap"):
        return _windows([], 0.0)
    looks = [seen(case.part, feature, case.setting.up) for feature in case.features]
    if role in ("tap", "file", "saw", "lap"):
        return _windows(_hand(case, looks), case.op.cut.feed_per_tooth or 0.0)
    if not case.op.cut.spindle_speed or not case.op.cut.feed_per_tooth or not looks:
        return _windows([], 0.0)
    made = _holes(case, looks) if role in HOLES else [s for look in looks for s in _milled(case, look)]
    if case.op.pickled and made:
        made[0] = replace(made[0], seconds=made[0].seconds + PICKLE)
    return _windows([_down(s, case.op.down) for s in made], case.op.cut.feed_per_tooth)


def _down(stretch: Stretch, angle: float) -> Stretch:
    """The same along a way that goes down at an angle below level [rad]: a ramp, a turn of a helix, straight down."""
    if angle <= 0.0:
        return stretch
    x, y, _ = stretch.direction
    level = math.cos(angle)
    return replace(stretch, direction=(level * x, level * y, -math.sin(angle)))


def engagement(cut: Cut, width: float, diameter: float) -> tuple[float, float]:
    """Angles where a tooth enters and leaves [rad]."""
    share = min(max(width / diameter, 0.0), 1.0)
    if cut.direction == "slot" or share >= 1.0 - NEAREST:
        return 0.0, math.pi
    if cut.direction == "climb":
        return math.acos(2.0 * share - 1.0), math.pi
    return 0.0, math.acos(1.0 - 2.0 * share)


def table_feed(case: Case, cut: Cut | None = None) -> float:
    """Speed of the table, or of a drill downwards [mm/s]: turns a second × flutes × feed a tooth."""
    cut = cut or case.op.cut
    return (cut.spindle_speed or 0.0) / (2.0 * math.pi) * case.tool.flutes * (cut.feed_per_tooth or 0.0)


def rapid_of(case: Case) -> float:
    """Rapid speed of the table [mm/s]."""
    figure = case.machine.table_speed or case.shop.classes[case.machine.like].table_speed
    return figure.value if figure is not None else RAPID


def table_speed(machine: Machine, figures: MachineFigures | None) -> float:
    """The fastest that the table should feed [mm/s]: half of its rapid speed."""
    figure = machine.table_speed or (figures.table_speed if figures else None)
    return figure.value / 2.0 if figure is not None else math.inf


def passes(whole: float, each: float | None) -> int:
    """How many passes take `whole` off."""
    return max(1, math.ceil(whole / each - NEAREST)) if each and whole > 0.0 else 1


@dataclass(frozen=True)
class Passes:
    """The passes over one feature.

    Fields:
        depth: of each along the tool [mm].
        width: of each across [mm].
        layers: how many, one below the other [1].
        runs: how many separate rows, after each of which the tool goes back [1].
        length: of one row [mm].
        straight: of all rows together [mm].
        opening: of passes in which the whole cutter is buried [mm].
        volume: of all of them [mm3].
    """

    depth: float
    width: float
    layers: int
    runs: int
    length: float
    straight: float
    volume: float
    opening: float = 0.0


def _passes(case: Case, look: Seen) -> Passes:
    op, tool = case.op, case.tool
    width = min(op.cut.width_of_cut or op.removes or tool.diameter, tool.diameter)
    if op.cut.direction == "slot":
        width = tool.diameter
    if op.role in ROWS:
        return _rows(case, look, width)
    if op.role in OPENED or op.role == "slot":
        return _cleared(case, look, width)
    return _walls(case, look, width)


def _rows(case: Case, look: Seen, width: float) -> Passes:
    """Rows beside each other over a face."""
    op, length = case.op, look.length + case.tool.diameter
    depth = min(op.cut.depth_of_cut or op.removes, op.removes or math.inf)
    layers = passes(op.removes, depth)
    runs = layers * passes(look.width, width)
    return Passes(depth, width, layers, runs, length, runs * length, look.length * look.width * op.removes)


def _cleared(case: Case, look: Seen, width: float) -> Passes:
    """Layer by layer: each is opened by a pass of the whole cutter, the rest of it cleared in widths.

    The length of the path follows from what is in the pocket; what a slope takes of its room is left out.
    """
    op, diameter = case.op, case.tool.diameter
    depth = min(op.cut.depth_of_cut or op.removes, op.removes or math.inf)
    layers = passes(look.depth, depth)
    share = _share_open(case)
    volume = look.length * look.width * look.depth * share
    opening = 0.0 if op.role == "slot" else min(layers * look.length * share, volume / (depth * diameter))
    straight = (volume - depth * diameter * opening) / (depth * width)
    return Passes(depth, width, layers, layers, straight / layers, straight, volume, opening)


def _share_open(case: Case) -> float:
    """What part of a pocket's box is to be cleared: half of it over a slanting floor."""
    slanting = any("slant" in note for feature in case.features for note in feature.notes)
    return 0.5 if slanting else 1.0


def _walls(case: Case, look: Seen, width: float) -> Passes:
    """Along walls: the whole height in steps, what is to come off in widths; a chamfer along its edge."""
    op = case.op
    if op.role == "chamfer":
        side = op.cut.depth_of_cut or op.removes
        wide = side * math.tan((case.tool.point_angle or math.pi / 2.0) / 2.0)
        return Passes(side, wide, 1, 1, look.length, look.length, look.length * side * wide / 2.0)
    height = _deep(case, look)
    depth = min(op.cut.depth_of_cut or height, height)
    length = look.around if op.role == "pocket_finish" else max(look.length, look.around)
    layers = passes(height, depth)
    runs = layers * passes(op.removes, width)
    return Passes(depth, width, layers, runs, length, runs * length, length * height * op.removes)


def _deep(case: Case, look: Seen) -> float:
    """How far down a wall is cut here: all of it, or as far as the operation says."""
    return min(case.op.height or look.depth, look.depth)


def _milled(case: Case, look: Seen) -> list[Stretch]:
    if case.tool.neck is not None and any(INNER in feature.size for feature in case.features):
        return _undercut(case, look)
    plan, feed = _passes(case, look), table_feed(case)
    along, across = _ways(case, look)
    entry, leave = engagement(case.op.cut, plan.width, _across(case, plan.depth))
    opened = plan.depth * case.tool.diameter * plan.opening
    corner = [_corner(case, look, plan, feed, along)] if case.op.role in TURNS and look.corner > 0.0 else []
    rest = plan.volume - opened - sum(s.volume for s in corner)
    third = max(plan.straight - sum(s.length for s in corner), 0.0) / 3.0
    out = [
        Stretch(third, third / feed + (_going_back(case, plan) + RELIEF) / 3.0, plan.depth, plan.width, entry, leave,
                _along(look, place), way, max(rest, 0.0) / 3.0)
        for place, way in ((-1, along), (0, across), (1, along))
    ]
    if plan.opening > 0.0:
        out.append(Stretch(plan.opening, plan.opening / feed, plan.depth, case.tool.diameter, 0.0, math.pi,
                           look.middle, along, opened))
    return out + corner


def _undercut(case: Case, look: Seen) -> list[Stretch]:
    """Along the middle of a slot, on both its sides at once, then along its walls."""
    plan, feed, (along, _) = undercut(case), table_feed(case), _ways(case, look)
    path, size = plan.layers * (look.length + case.tool.diameter), case.tool.diameter
    back = plan.layers * (1 + plan.walls) * (path / plan.layers + 2.0 * BACK) / rapid_of(case) + RELIEF
    out = []
    if plan.arcs:
        entry, leave = plan.arcs[0].entry, plan.arcs[0].exit
        if case.op.cut.direction == "climb":
            entry, leave = math.pi - leave, math.pi - entry
        out.append(Stretch(path, path / feed, plan.depth, plan.side, entry, leave, look.middle, along,
                           plan.layers * look.length * plan.area, arcs=plan.arcs))
    if plan.walls:
        entry, leave = engagement(case.op.cut, plan.width, size)
        length = plan.walls * path
        arcs = plan.climbing if entry > 0.0 else tuple(
            arc._replace(entry=math.pi - arc.exit, exit=math.pi - arc.entry) for arc in plan.climbing)
        out.append(Stretch(length, length / feed, plan.depth, plan.width, entry, leave, look.middle, along,
                           plan.walls * plan.layers * look.length * plan.width * plan.depth, arcs=arcs))
    return [replace(s, seconds=s.seconds + back / len(out)) for s in out]


def _across(case: Case, depth: float) -> float:
    """Diameter that works at this depth [mm]: of a ball or chamfer less than the cutter's."""
    return millimetres(working_diameter(case, depth)) if depth > 0.0 else case.tool.diameter


def _going_back(case: Case, plan: Passes) -> float:
    """Time between rows [s]; round a pocket or a wall the tool only steps down between layers."""
    if case.op.role in TURNS:
        return plan.layers * 2.0 * BACK / rapid_of(case)
    return plan.runs * (plan.length + 2.0 * BACK) / rapid_of(case)


def _corner(case: Case, look: Seen, plan: Passes, feed: float, way: Vector) -> Stretch:
    """Where the path turns in a square corner the tooth stays in the metal up to a quarter turn longer."""
    entry, leave = engagement(case.op.cut, plan.width, _across(case, plan.depth))
    if case.op.cut.direction == "climb":
        entry = max(0.0, entry - math.pi / 2.0)
    else:
        leave = min(math.pi, leave + math.pi / 2.0)
    width = case.tool.diameter * (1.0 - math.cos(leave - entry)) / 2.0
    length = min(4.0 * plan.layers * max(plan.width, look.corner), plan.straight / 2.0)
    volume = plan.depth * plan.width * length
    return Stretch(length, length / feed, plan.depth, width, entry, leave, look.middle, way, volume, corner=True)


def _ways(case: Case, look: Seen) -> tuple[Vector, Vector]:
    """Along the feature and across it, in the setting's axes."""
    right = case.setting.across
    along = abs(sum(a * b for a, b in zip(look.along, right, strict=True)))
    one, other = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
    if case.op.role in STRAIGHT or case.op.role in ROWS:
        return (one, one) if along > 0.5 else (other, other)
    return (one, other) if along > 0.5 else (other, one)


def _along(look: Seen, place: int) -> Vector:
    """A point a third of the feature's length before or behind its middle [mm]."""
    step = place * look.length / 3.0
    x, y, z = (m + step * a for m, a in zip(look.middle, look.along, strict=True))
    return x, y, z


def _holes(case: Case, looks: Sequence[Seen]) -> list[Stretch]:
    """One window: down all the holes of the operation. A drill cuts all round: entry 0, exit π, as in a slot."""
    op, cut, feed = case.op, case.op.cut, table_feed(case)
    depth = cut.depth_of_cut or op.removes
    pecks = passes(depth, cut.peck_depth)
    back = sum(2.0 * depth * k / pecks for k in range(pecks)) / rapid_of(case)
    number = len(looks)
    width = cut.width_of_cut or case.tool.diameter / 2.0
    outer = case.tool.diameter / 2.0 if op.role != "countersink" else width
    bored = math.pi * (outer**2 - max(outer - width, 0.0) ** 2) * depth
    x, y, z = (sum(look.middle[i] for look in looks) / number for i in range(3))
    seconds = number * (depth / feed + back + 2.0 * BACK / rapid_of(case)) + RELIEF
    return [Stretch(number * depth, seconds, depth, width, 0.0, math.pi, (x, y, z), (0.0, 0.0, -1.0), number * bored)]


def _hand(case: Case, looks: Sequence[Seen]) -> list[Stretch]:
    """Work by hand: time alone, no engagement to compute from."""
    each = {"tap": HAND_TAP, "file": FILE, "saw": SAW, "lap": LAP * case.op.removes}[case.op.role]
    place = looks[0].middle if looks else (0.0, 0.0, 0.0)
    number = max(1, len(looks))
    return [Stretch(number * case.op.removes, number * each, 0.0, 0.0, 0.0, 0.0, place, (0.0, 0.0, -1.0), 0.0)]


def _windows(made: Sequence[Stretch], feed: float) -> Windows:
    """Struct of arrays of the stretches that have any length or time."""
    rows = [s for s in made if s.seconds > 0.0]
    ends = np.cumsum([s.length for s in rows], dtype=np.float64)

    def column(name: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        return np.array([getattr(s, name) for s in rows], dtype=np.float64)

    return Windows(
        line=np.zeros(len(rows), dtype=np.int64), s0=ends - column("length"), s1=ends, seconds=column("seconds"),
        point=column("place").reshape(-1, 3), direction=column("direction").reshape(-1, 3), volume=column("volume"),
        depth=column("depth"), width=column("width"), entry=column("entry"), exit=column("exit"),
        feed_per_tooth=np.full(len(rows), feed), corner=np.array([s.corner for s in rows], dtype=np.bool_),
        slices=_slices(rows, feed),
    )


def _slices(made: Sequence[Stretch], feed: float) -> Slices:
    """The arcs of stretches that have any; of each an even share of what its stretch removes."""
    arcs = [arc for s in made for arc in s.arcs]
    if not arcs:
        return Slices.none(len(made))
    low, high, entry, leave = np.array(arcs, dtype=np.float64).T
    counts = [len(s.arcs) for s in made]
    offsets = np.concatenate([np.zeros(1, dtype=np.int64), np.cumsum(counts)])
    through = (entry <= 0.5 * np.pi) & (leave >= 0.5 * np.pi)
    chip = feed * np.where(through, 1.0, np.maximum(np.sin(entry), np.sin(leave)))
    volume = np.repeat([s.volume / max(len(s.arcs), 1) for s in made], counts)
    return Slices(offsets, low, high, entry, leave, chip, volume)
