"""Speed and feed of a drill that the machine's thrust and torque take, by the book figures of the drilling check."""

from __future__ import annotations

import math
from typing import Final

from ..checks.drilling import book_chance
from ..job.route import Cut
from ..shop.models import Machine, Material, Shop, Tool
from .cuts import Removal, first_cut

ENOUGH: Final = 0.01                              #: chance of stalling or breaking that is looked for
FEEDS: Final = (1.0, 0.85, 0.7, 0.6)              #: of the usual feed; below the last a drill rubs
SLOWEST: Final = 0.3                              #: of the usual speed: a slower belt step gives more torque


def drilling_chance(shop: Shop, machine: Machine, tool: Tool, material: Material, removal: Removal) -> float:
    """The chance that a drill stalls or breaks at the best cut that is planned for it on a machine [1]."""
    cut = borne(shop, machine, tool, material, first_cut(machine, tool, material, "drill", removal))
    if not cut.spindle_speed or not cut.feed_per_tooth:
        return 1.0
    return book_chance(shop, machine, tool, material, cut.feed_per_tooth * tool.flutes, cut.spindle_speed)


def borne(shop: Shop, machine: Machine, tool: Tool, material: Material, cut: Cut) -> Cut:
    """The fastest of the usual cut and of slower ones that is unlikely to stall; the least likely if none is."""
    if machine.spindle is None or not cut.spindle_speed or not cut.feed_per_tooth:
        return cut
    steps = [s for s in machine.spindle.steps if SLOWEST * cut.spindle_speed <= s <= cut.spindle_speed]
    tried = sorted(((s, part) for s in steps or [cut.spindle_speed] for part in FEEDS),
                   key=lambda item: -item[0] * item[1])
    chances: dict[tuple[float, float], float] = {}
    for speed, part in tried:
        feed = part * cut.feed_per_tooth * tool.flutes
        chances[speed, part] = book_chance(shop, machine, tool, material, feed, speed)
        if chances[speed, part] <= ENOUGH:
            break
    speed, part = min(chances, key=lambda item: (chances[item] > ENOUGH, round(math.log(chances[item] + 1e-12), 3)))
    return cut.model_copy(update={"spindle_speed": speed, "feed_per_tooth": round(part * cut.feed_per_tooth, 4)})
