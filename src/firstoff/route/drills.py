"""Speed and feed of a drill that the machine's thrust and torque take, by the book figures of the drilling check."""

from __future__ import annotations

import math
from typing import Final

from ..checks._drills import Drill, book_load
from ..job.route import Cut
from ..shop.models import Machine, Material, Shop, Tool
from .cuts import Removal, first_cut

ENOUGH: Final = 0.01                              #: chance of stalling or breaking that is looked for
FEEDS: Final = (1.0, 0.85, 0.7, 0.6)              #: of the usual feed; below the last a drill rubs
SLOWEST: Final = 0.3                              #: of the usual speed: a slower belt step gives more torque


def drilling_chance(shop: Shop, machine: Machine, tool: Tool, material: Material, removal: Removal,
                    pilot: float = 0.0) -> float:
    """The chance that a drill stalls or breaks at the best cut that is planned for it on a machine [1]."""
    cut = borne(shop, machine, tool, material, first_cut(machine, tool, material, "drill", removal), pilot)
    if not cut.spindle_speed or not cut.feed_per_tooth:
        return 1.0
    return _chance(shop, machine, material, tool, cut.feed_per_tooth * tool.flutes, cut.spindle_speed, pilot)


def _chance(shop: Shop, machine: Machine, material: Material, tool: Tool, feed: float, turn: float,
            pilot: float) -> float:
    """By book figures [1]; 0 where nothing is known of the material."""
    if material.drilling_force is None and not material.one_of:
        return 0.0
    return book_load(shop, machine, material, Drill.of(tool), feed, turn, pilot).p


def borne(shop: Shop, machine: Machine, tool: Tool, material: Material, cut: Cut,
          pilot: float = 0.0) -> Cut:
    """The fastest of the usual cut and of slower ones that is unlikely to stall; the least likely if none is.

    `pilot` is the diameter of the hole that is there already [mm].
    """
    if machine.spindle is None or not cut.spindle_speed or not cut.feed_per_tooth:
        return cut
    steps = [s for s in machine.spindle.steps if SLOWEST * cut.spindle_speed <= s <= cut.spindle_speed]
    tried = sorted(((s, part) for s in steps or [cut.spindle_speed] for part in FEEDS),
                   key=lambda item: -item[0] * item[1])
    chances: dict[tuple[float, float], float] = {}
    for speed, part in tried:
        feed = part * cut.feed_per_tooth * tool.flutes
        chances[speed, part] = _chance(shop, machine, material, tool, feed, speed, pilot)
        if chances[speed, part] <= ENOUGH:
            break
    speed, part = min(chances, key=lambda item: (chances[item] > ENOUGH, round(math.log(chances[item] + 1e-12), 3)))
    return cut.model_copy(update={"spindle_speed": speed, "feed_per_tooth": round(part * cut.feed_per_tooth, 4)})
