"""Speeds, feeds and pilots that a machine's thrust and torque take, by book figures; room for a reamer."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache
from itertools import combinations
from typing import Final, NamedTuple

from ..checks._drills import BY_HAND, STALL, BookLoad, Drill, book_load, hand_fed
from ..cutting.chisel import CHISEL, PILOT_OVER_WEB, WEB
from ..dryrun.nominal import table_speed
from ..job.route import Cut
from ..shop.models import Machine, Material, Shop, Tool
from ..shop.rounding import round_speed
from .cuts import DRILL_RATIO, LEAST_FEED, Removal, first_cut, speed_on, usual_speed

ENOUGH: Final = 0.01                              #: chance of breaking, or of stalling a feed by machine, looked for
FEEDS: Final = (1.0, 0.85, 0.7, 0.6)              #: of the usual feed; below the last a drill rubs
SLOWEST: Final = 0.25                             #: of the usual speed: a slower belt step gives more torque
SLOWER: Final = (0.75, 0.55)                       #: of the usual speed, on a spindle without steps
WORTH: Final = 0.6                                #: one drill more must bring the chance below this of what it was
NARROWEST: Final = max(PILOT_OVER_WEB * WEB, CHISEL)     #: pilot over diameter from which it helps
BETWEEN: Final = (0.3, 0.45, 0.6, 0.75)           #: further pilots over diameter that are tried
#: What a reamer takes off the diameter up to a size, least and most [mm] (fittercourse); half more in light metal.
REAMED: Final = ((5.0, 0.1, 0.2), (20.0, 0.2, 0.3), (50.0, 0.3, 0.5))
OVER_SIZE: Final = 0.05                           #: [mm] a drill makes its hole wider (fittercourse)
LIGHT: Final = 1.5                                #: times as much for a reamer in light metal (fittercourse)


class DrillStep(NamedTuple):
    """One drill of a row: its size and the hole that is there [mm], speed [rad/s], feed a turn [mm], what it asks."""

    diameter: float
    pilot: float
    turn: float
    feed: float
    load: BookLoad


def drilling_chance(shop: Shop, machine: Machine, tool: Tool, material: Material, removal: Removal,
                    pilot: float = 0.0) -> float:
    """The chance that a drill stalls or breaks at the best cut that is planned for it on a machine [1]."""
    cut = borne(shop, machine, tool, material, first_cut(machine, tool, material, "drill", removal), pilot)
    if not cut.spindle_speed or not cut.feed_per_tooth:
        return 1.0
    if not known(material):
        return 0.0
    return book_load(shop, machine, material, Drill.of(tool), cut.feed_per_tooth * tool.flutes, cut.spindle_speed,
                     pilot).p


def known(material: Material) -> bool:
    """Whether there is a figure for drilling this material, or all that it may be."""
    return material.drilling_force is not None or bool(material.one_of)


def borne(shop: Shop, machine: Machine, tool: Tool, material: Material, cut: Cut,
          pilot: float = 0.0) -> Cut:
    """The fastest of the usual cut and of slower ones that is unlikely to stall; the least likely if none is.

    `pilot` is the diameter of the hole that is there already [mm].
    """
    if machine.spindle is None or not cut.spindle_speed or not cut.feed_per_tooth or not known(material):
        return cut
    feed = cut.feed_per_tooth * tool.flutes
    best = _fastest(shop, machine, material, Drill.of(tool), cut.spindle_speed, feed, pilot)
    return cut.model_copy(update={"spindle_speed": best.turn, "feed_per_tooth": round(best.feed / tool.flutes, 4)})


def drill_step(shop: Shop, machine: Machine, material: Material, drill: Drill, pilot: float = 0.0) -> DrillStep:
    """A drill at the fastest cut that the machine is likely to take.

    Raises:
        OutOfRange: if the material has no figure for drilling.
    """
    wanted = usual_speed(material, drill.material) / (drill.diameter / 2.0)
    turn = wanted if machine.spindle is None else speed_on(machine.spindle, wanted)
    return _fastest(shop, machine, material, drill, turn, feed_of(material, drill.diameter), pilot)


def feed_of(material: Material, diameter: float) -> float:
    """The usual feed a turn of a twist drill [mm]."""
    return max(DRILL_RATIO[material.group] * diameter, 2.0 * LEAST_FEED)


def _fastest(shop: Shop, machine: Machine, material: Material, drill: Drill, turn: float, feed: float,
             pilot: float) -> DrillStep:
    tried = sorted(_followed(shop, machine, turn, feed), key=lambda item: -item[0] * item[1])
    found: list[DrillStep] = []
    for speed, part in tried:
        load = book_load(shop, machine, material, drill, part * feed, speed, pilot)
        found.append(DrillStep(drill.diameter, pilot, speed, part * feed, load))
        if bearable(shop, machine, load):
            return found[-1]
    return min(found, key=lambda step: round(math.log(step.load.p + 1e-12), 3))


def follows(shop: Shop, machine: Machine) -> float:
    """The fastest feed that the machine follows [mm/s]; infinite where an arm feeds, or nobody says."""
    return table_speed(machine, shop.classes.get(machine.like))


def _followed(shop: Shop, machine: Machine, turn: float, feed: float) -> list[tuple[float, float]]:
    """Speeds and shares of a feed a turn that a feed by machine follows; the slowest turns and the thinnest else."""
    most = 2.0 * math.pi * follows(shop, machine) * (1.0 + 1e-9)
    tried = [(speed, part) for speed in _speeds(machine, turn) for part in FEEDS]
    able = [(speed, part) for speed, part in tried if speed * part * feed <= most]
    if able or machine.spindle is None:
        return able or tried
    slow = speed_on(machine.spindle, most / (FEEDS[-1] * feed))
    return [(slow, min(FEEDS[-1], most / (slow * feed)))]


def bearable(shop: Shop, machine: Machine, load: BookLoad) -> bool:
    """Whether a drill is unlikely enough to break, or to stall.

    An arm feels the belt slip or the drill bite no further, and eases: what that costs is a moment, so that there it
    is enough if it is close by the shop's limits. A feed by machine goes on.
    """
    eased = (STALL, BY_HAND) if hand_fed(shop, machine) else ()
    return all(way.p <= (shop.close if way.name in eased else ENOUGH) for way in load.ways)


def _speeds(machine: Machine, turn: float) -> list[float]:
    """The usual speed and slower ones that the machine has [rad/s]."""
    spindle = machine.spindle
    if spindle is None:
        return [turn]
    slower = spindle.steps or [round_speed(share * turn, spindle) for share in SLOWER]
    return sorted({turn, *(speed for speed in slower if SLOWEST * turn <= speed < turn)})


def in_order(
    shop: Shop, machine: Machine, material: Material, drill: Drill, sizes: Sequence[float], enough: float,
) -> tuple[DrillStep, ...]:
    """The fewest drills, one after the other, that the machine is likely to take.

    Args:
        shop: with book figures.
        machine: that drills.
        material: of the work.
        drill: the last one, that gives the size.
        sizes: of the drills that there are [mm].
        enough: chance of failing that is good enough for one drill [1].

    Returns:
        One, two or three drills. A pilot is at least as wide as the web of the next drill wants it. One drill more
        is taken only where it is enough then, or brings the chance well down; of rows that are borne the quickest.

    Raises:
        OutOfRange: if the material has no figure for drilling.
    """
    @cache
    def step(diameter: float, pilot: float) -> DrillStep:
        return drill_step(shop, machine, material, drill._replace(diameter=diameter), pilot)

    def rank(row: tuple[DrillStep, ...]) -> tuple[bool, float]:
        borne = all(bearable(shop, machine, step.load) for step in row)
        return not borne, slowness(row) if borne else worst(row)

    best: tuple[DrillStep, ...] = (step(drill.diameter, 0.0),)
    pilots = _pilots(drill.diameter, sizes)
    for number in (1, 2):
        if worst(best) <= enough:
            break
        rows = [_row(step, (*chosen, drill.diameter)) for chosen in combinations(pilots, number)
                if all(a >= NARROWEST * b for a, b in zip(chosen, (*chosen[1:], drill.diameter), strict=True))]
        found = min(rows, key=rank, default=best)
        if worst(found) <= enough or worst(found) < WORTH * worst(best):
            best = found
    return best


def pilots_for(shop: Shop, machine: Machine, material: Material, tool: Tool, sizes: Sequence[float]) -> list[float]:
    """The drills that should come before one of the shop's, of those that there are [mm]; none where none helps."""
    if machine.spindle is None or not known(material):
        return []
    row = in_order(shop, machine, material, Drill.of(tool), sizes, shop.close)
    return [step.diameter for step in row[:-1]]


def worst(row: Sequence[DrillStep]) -> float:
    """The chance of the likeliest drill of a row to fail [1]."""
    return max(step.load.p for step in row)


def slowness(row: Sequence[DrillStep]) -> float:
    """Time that all drills of a row take for each mm of depth [s/mm]."""
    return sum(2.0 * math.pi / (step.feed * step.turn) for step in row)


def _row(step: Callable[[float, float], DrillStep], sizes: tuple[float, ...]) -> tuple[DrillStep, ...]:
    return tuple(step(size, before) for before, size in zip((0.0, *sizes), sizes, strict=False))


def _pilots(diameter: float, sizes: Sequence[float]) -> tuple[float, ...]:
    """Drills that there are near the shares that are worth a try."""
    able = sorted({size for size in sizes if NARROWEST * diameter <= size < 0.9 * diameter})
    return tuple(sorted({min(able, key=lambda size: abs(size - share * diameter))
                         for share in (NARROWEST, *BETWEEN)})) if able else ()


def reamer_takes(diameter: float, material: Material) -> tuple[float, float]:
    """What a reamer should find on the diameter, least and most [mm]."""
    least, most = next(((low, high) for size, low, high in REAMED if diameter <= size), REAMED[-1][1:])
    more = LIGHT if material.group == "N" and material.welds_to_tool else 1.0
    return more * least, more * most


def drill_for_reamer(diameter: float, material: Material, sizes: Sequence[float]) -> float:
    """The drill whose hole leaves a reamer what it should find [mm]: of those that there are, else the right one."""
    least, most = reamer_takes(diameter, material)
    right = diameter - OVER_SIZE - (least + most) / 2.0
    able = [size for size in sizes if least - 1e-9 <= diameter - OVER_SIZE - size <= most + 1e-9]
    return min(able, key=lambda size: abs(size - right)) if able else round(math.floor(right * 20.0) / 20.0, 2)
