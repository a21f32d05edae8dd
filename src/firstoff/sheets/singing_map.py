"""The map of what sings over speed and depth of a cut: quiet, may sing, likely to.

Read off the check itself, at one speed after the other: the same model, the same figures, fewer rows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ..belief import Belief, low_median_high
from ..checks._knobs import fastest
from ..checks.base import Case, Check
from ..checks.chatter import begins_at
from ..dryrun.registry import all_checks
from ..units import parse
from .pen import LETTER, Pen, Point

WIDTH: Final = 186.0            #: of the sheet between its margins [mm]
HEIGHT: Final = 104.0           #: [mm]
LEFT: Final = 22.0              #: of the first speed; depths are written beside it [mm]
RIGHT: Final = WIDTH - 6.0
TOP: Final = 14.0
FOOT: Final = HEIGHT - 20.0     #: where nothing is cut [mm]
SPEEDS: Final = 48              #: at which it is computed, where the spindle has no steps
ROWS: Final = 96                #: enough for a picture; the verdict has all
ROOM: Final = 2.5               #: depths up to so many times that of the cut are shown, at least
MAY: Final = "#dedede"          #: shallower than the depth at which one in two sings, deeper than one in twenty
LIKELY: Final = "#b9b9b9"
#: by place, not by shade: on a dark page white is black
KEY: Final = "lowest: quiet 19 times in 20 · between: may sing · highest: likelier than not · cross: this cut"
STEP: Final = 5.0               #: half the width of a belt step [mm]


@dataclass(frozen=True)
class Sung:
    """Depths of cut at which a cut begins to sing: as low as it may be, in the middle, as high as it may be [mm].

    Fields:
        speeds: of the spindle [rad/s].
        low: one in twenty begins shallower.
        middle: one in two.
        high: one in twenty begins deeper.
        steps: whether the spindle has these speeds alone.
    """

    speeds: tuple[float, ...]
    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]
    steps: bool


def can_sing(case: Case) -> bool:
    """Whether there is a map for the case: it mills, and its speed can be chosen."""
    return (case.operation is not None and _check().applies(case) and case.machine.spindle is not None
            and bool(case.op.cut.spindle_speed))


def sung(case: Case, belief: Belief) -> Sung:
    """The depths over the speeds that spindle and cutter have.

    Args:
        case: an operation that `can_sing`.
        belief: what is believed; some of its rows are used.
    """
    some = belief.some(ROWS).wordless()
    speeds = _speeds(case)
    found = [_limit(case, some, speed) for speed in speeds]
    spindle = case.machine.spindle
    low, middle, high = (tuple(limit[i] for limit in found) for i in range(3))
    return Sung(speeds, low, middle, high, bool(spindle and spindle.steps))


def _check() -> Check:
    return next(check for check in all_checks() if check.name == "chatter")


def _speeds(case: Case) -> tuple[float, ...]:
    spindle, most = case.machine.spindle, fastest(case)
    assert spindle is not None
    if spindle.steps:
        return tuple(step for step in spindle.steps if step <= most) or spindle.steps[:1]
    return tuple(float(speed) for speed in np.linspace(spindle.slowest, max(most, spindle.slowest), SPEEDS))


def _limit(case: Case, belief: Belief, speed: float) -> tuple[float, float, float]:
    cut = case.op.cut.model_copy(update={"spindle_speed": speed})
    other = replace(case, operation=case.op.model_copy(update={"cut": cut}))
    return low_median_high(begins_at(other, belief))


@dataclass(frozen=True)
class _Field:
    """Where speeds and depths come to lie."""

    slow: float
    fast: float
    deepest: float

    def at(self, speed: float, depth: float) -> Point:
        share = (speed - self.slow) / (self.fast - self.slow) if self.fast > self.slow else 0.5
        down = min(depth, self.deepest) / self.deepest
        return LEFT + (RIGHT - LEFT) * share, FOOT - (FOOT - TOP) * down


def singing_map(case: Case, found: Sung) -> str:
    """The drawing, as SVG.

    Args:
        case: the operation.
        found: what `sung` returned for it.
    """
    depth, speed = deepest(case), case.op.cut.spindle_speed or 0.0
    ends = (min(*found.speeds, speed), max(*found.speeds, speed))
    field = _Field(*ends, max(ROOM * depth, min(1.3 * max(found.middle), 4.0 * ROOM * depth)))
    pen = Pen(WIDTH, HEIGHT)
    units = case.job.units
    pen.text((0.0, 4.0), f"{case.op.number} {case.name}: what sings, over speed and depth", 3.8, bold=True)
    if found.steps:
        for each in zip(found.speeds, found.low, found.middle, strict=True):
            _step(pen, field, *each)
    else:
        _area(pen, field, found.speeds, found.low, MAY)
        _area(pen, field, found.speeds, found.middle, LIKELY)
        for depths in (found.low, found.middle):
            pen.path([[field.at(s, d) for s, d in zip(found.speeds, depths, strict=True)]], "thin")
    _axes(pen, field, units)
    _cross(pen, field.at(speed, depth))
    pen.text((LEFT, HEIGHT - 4.0), KEY, 2.8)
    return pen.svg()


def deepest(case: Case) -> float:
    """Depth of the cut itself [mm]."""
    depth = case.op.cut.depth_of_cut or 0.0
    if case.windows is not None and len(case.windows.depth):
        return float(np.max(case.windows.depth)) or depth
    return depth


def _area(pen: Pen, field: _Field, speeds: Sequence[float], depths: Sequence[float], colour: str) -> None:
    """All that is deeper than a line."""
    line = [field.at(s, d) for s, d in zip(speeds, depths, strict=True)]
    pen.fill([*line, (line[-1][0], TOP), (line[0][0], TOP)], colour)


def _step(pen: Pen, field: _Field, speed: float, low: float, middle: float) -> None:
    """One step of a belt: a bar."""
    for depth, colour in ((low, MAY), (middle, LIKELY)):
        x, y = field.at(speed, depth)
        pen.fill([(x - STEP, y), (x + STEP, y), (x + STEP, TOP), (x - STEP, TOP)], colour)


def _axes(pen: Pen, field: _Field, units: str) -> None:
    pen.path([[(LEFT, TOP), (LEFT, FOOT), (RIGHT, FOOT)]], "thin")
    per_minute, inches = parse("1 rpm", "rotation"), parse(f"1 {units}", "length")
    for turns in _round_numbers(field.slow / per_minute, field.fast / per_minute):
        x, _ = field.at(turns * per_minute, 0.0)
        pen.path([[(x, FOOT), (x, FOOT + 1.5)]], "thin")
        pen.text((x, FOOT + 4.5), f"{turns:g}", anchor="middle")
    for depth in _round_numbers(0.0, field.deepest / inches):
        _, y = field.at(field.slow, depth * inches)
        pen.path([[(LEFT - 1.5, y), (LEFT, y)]], "thin")
        pen.text((LEFT - 2.5, y), f"{depth:g}", anchor="end")
    pen.text((RIGHT, FOOT + 9.0), "speed, rpm", anchor="end")
    pen.text((0.0, TOP - 4.5), f"depth, {units}")


def _round_numbers(low: float, high: float) -> list[float]:
    """About five round numbers from one to another."""
    rough = (high - low) / 5.0
    if rough <= 0.0:
        return [low]
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(step for step in (power, 2.0 * power, 5.0 * power, 10.0 * power) if step >= rough)
    first = math.ceil(low / step - 1e-9)
    return [round(k * step, 9) for k in range(first, math.floor(high / step + 1e-9) + 1)]


def _cross(pen: Pen, at: Point) -> None:
    """Where the cut stands."""
    x, y = at
    pen.circle(at, LETTER / 2, fill="white")
    pen.path([[(x - LETTER, y), (x + LETTER, y)], [(x, y - LETTER), (x, y + LETTER)]], "visible")
