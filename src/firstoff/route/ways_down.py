"""Better ways down than the one that is asked: a hole drilled first, a gentler slope; each with what it brings."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from ..dryrun.choosing import LEAST_DEPTH, settable, with_operation
from ..job.route import STRAIGHT_DOWN
from ..shop.models import Machine, Tool
from ..units import tell
from .cut_answer import Answer, Gain
from .cut_gains import LESS, Some, removal_rate
from .cuts import Removal
from .drills import drilling_chance
from .tools import collet_for, too_fast

GENTLE: Final = math.radians(3.0)    #: of a ramp or helix, as mills are usually led in: 1 to 5 degrees (judged)
STEEPER: Final = 1.5                 #: times that: below it a slope is gentle enough
CLEAR: Final = 0.2                   #: [mm] that a drilled hole is narrower than the cutter, which finishes it
NARROWEST: Final = 0.5               #: of the cutter's diameter: a narrower hole helps little
CALMER: Final = 0.6                  #: of the chance: what a slope at a depth must bring
SHALLOWER: Final = (1.0, 0.5, 0.25)  #: times the depth of a gentle run that is tried first
RUN: Final = 0.05                    #: of the diameter: that depth, where the way was straight down; judged


def ways_down(answer: Answer, some: Some) -> Iterator[Gain]:
    """What makes the way down clearly less likely to spoil anything.

    Args:
        answer: to what was asked; of a level cut nothing is told.
        some: rows on which answer and change are weighed alike.
    """
    down = answer.case.op.down
    if down <= 0.0 or answer.p_spoil <= answer.bench.shop.good:
        return
    if down > STRAIGHT_DOWN:
        yield from _drilled_first(answer, some)
    if down > STEEPER * GENTLE:
        yield from _gentler(answer, some)


def _drilled_first(answer: Answer, some: Some) -> Iterator[Gain]:
    """The hole of the one drill that helps most, on this machine or another of the shop."""
    best: Gain | None = None
    for key, machine in _machines(answer):
        found = _widest(answer, machine)
        if found is None:
            continue
        drill, risk = found
        op = answer.case.op.model_copy(update={"pilot": drill.diameter})
        after = with_operation(answer.case, op)
        p_after = 1.0 - (1.0 - some.chance(after)) * (1.0 - risk)
        where = "" if key == answer.bench.machine_name else f" on the {machine.name}"
        text = f"drill first: a hole of {tell(drill.diameter, 'length', answer.bench.units)}{where}, then down in it"
        if p_after <= LESS * min(answer.p_spoil, best.p_after if best else 1.0):
            best = Gain(text, answer.cut, removal_rate(after), p_after, 0.0)
    if best is not None:
        yield best


def _machines(answer: Answer) -> Iterator[tuple[str, Machine]]:
    """This machine, then the drill presses of the shop: no place is lost where the work stays clamped."""
    shop, here = answer.bench.shop, answer.bench.machine_name
    yield here, answer.bench.machine
    yield from ((key, m) for key, m in shop.machines.items()
                if key != here and shop.classes[m.like].kind == "drill_press" and m.spindle is not None)


def _widest(answer: Answer, machine: Machine) -> tuple[Tool, float] | None:
    """The widest drill of the shop that goes before the cutter, is held there and hardly stalls; how likely."""
    shop, material, size = answer.bench.shop, answer.bench.material, answer.case.tool.diameter
    drills = [tool for tool in shop.tools.values()
              if tool.kind == "drill" and NARROWEST * size <= tool.diameter <= size - CLEAR]
    removal = Removal(answer.case.wanted.stock.size[2], size)
    for drill in sorted(drills, key=lambda tool: -tool.diameter):
        if collet_for(shop, machine, drill) is None or too_fast(machine, drill, material, "drill"):
            continue
        risk = drilling_chance(shop, machine, drill, material, removal)
        if risk <= shop.close:
            return drill, risk
    return None


def _gentler(answer: Answer, some: Some) -> Iterator[Gain]:
    """The same numbers on a gentle slope, as deep with each run as is clearly calmer."""
    case, cut, units = answer.case, answer.cut, answer.bench.units
    straight = case.op.down > STRAIGHT_DOWN
    first = RUN * case.tool.diameter if straight else cut.depth_of_cut or 0.0
    for depth in dict.fromkeys(settable(max(share * first, LEAST_DEPTH), units) for share in SHALLOWER):
        op = case.op.model_copy(update={"down": GENTLE, "cut": cut.model_copy(update={"depth_of_cut": depth})})
        after = with_operation(case, op)
        p_after = some.chance(after)
        if p_after <= CALMER * answer.p_spoil:
            runs = "" if depth == cut.depth_of_cut else f", {tell(depth, 'length', units)} with each turn or run"
            minutes = sum(w.minutes for w in (after.windows,) if w) - sum(w.minutes for w in (case.windows,) if w)
            yield Gain(f"on a ramp or helix at {tell(GENTLE, 'angle')}{runs}", op.cut, removal_rate(after), p_after,
                       minutes)
            return
