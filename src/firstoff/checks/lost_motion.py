"""The table is snatched: a cut that pulls it along its feed drags it through the play of its screw.

Fails where the pull is more than the slides hold by their own friction, and the play more than about the chip that
a tooth takes: that tooth then takes more than twice its chip. Computed for the cut as it goes round, and for the
other way, so that the direction is a result and not a habit.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from ..belief import Belief, Rows
from ..cutting.force import Engagement
from ..cutting.lost_motion import feed_pull, snatched_chip
from ..medians import median, point_of
from ..units import tell
from ._chance import OPERATION_SCATTER, known, lasting, middle, over, spread
from ._forces import Load, coefficients, edge_of, is_milling, loads, machine_entity
from ._knobs import DIRECTION, FEED_UP
from .base import Case, Check, Finding, Spread, cannot
from .si import micrometres, millimetres

NAME = "lost motion"
#: "About" a tooth's chip: a table is not dragged through all of its play each time; one standard deviation of the
#: logarithm; judged.
ABOUT: Final = 0.25
_RARE: Final = 0.05          #: of the rows: so rare a pull is told, too
_LEVEL: Final = 0.05         #: share of a way that is level, below which it goes straight down


def _applies(case: Case) -> bool:
    return is_milling(case) and case.machine_kind == "mill"


def other_way(engagement: Engagement) -> Engagement:
    """The same band of material cut the other way round."""
    return engagement._replace(entry=np.pi - engagement.exit, exit=np.pi - engagement.entry)


def thickest(engagement: Engagement, feed: float) -> float:
    """Largest chip of a cut, in the unit of its feed a tooth."""
    inside = engagement.entry <= np.pi / 2.0 <= engagement.exit
    return feed * (1.0 if inside else float(max(np.sin(engagement.entry), np.sin(engagement.exit))))


def _pull(case: Case, belief: Belief, load: Load) -> Rows:
    """The most that this cut pulls the table, by row [N].

    On a way down that of its side: the end presses the slides together, and drags them to and fro within a turn.
    """
    if load.heading[2] >= 0.0:
        return feed_pull(coefficients(case, belief), load.edge, load.feed).most
    level = float(np.hypot(*load.heading[:2])) / float(np.linalg.norm(load.heading))
    if level < _LEVEL:
        return np.zeros(belief.rows)
    return feed_pull(coefficients(case, belief), edge_of(case, load.engagement), level * load.feed).most


def _pull_other_way(case: Case, belief: Belief, load: Load) -> Rows:
    """The most that the same cut would pull it the other way round, by row [N]."""
    mirrored = edge_of(case, other_way(load.engagement))
    return feed_pull(coefficients(case, belief), mirrored, load.feed).most


def _chance(case: Case, belief: Belief, load: Load) -> tuple[Rows, Rows]:
    """Chance by row that this window snatches, and its pull."""
    entity = machine_entity(case)
    holds, own = lasting(belief, entity, "slide_drag")
    play = known(belief, entity, "lost_motion", 0.0)
    here = _pull(case, belief, load)
    chip = np.full(belief.rows, thickest(load.engagement, load.feed))
    pulled = over(np.maximum(here, 0.0), holds, spread(own, OPERATION_SCATTER["force"]))
    return over(play, chip, ABOUT) * pulled, here


def _evaluate(case: Case, belief: Belief) -> Finding:
    entity = machine_entity(case)
    if not belief.has(entity, "slide_drag") or not belief.has(entity, "lost_motion"):
        return cannot(NAME, case, "tool", "the play and the drag of this machine's slides are not known",
                      "push the table to and fro against an indicator, with a luggage scale")
    found = loads(case, belief)
    weighed = [_chance(case, belief, load) for load in found]
    worst = max(range(len(found)), key=lambda i: float(weighed[i][0].mean()))
    p = np.max([rows for rows, _ in weighed], axis=0)
    play = known(belief, entity, "lost_motion", 0.0)
    chip = thickest(found[worst].engagement, found[worst].feed)
    because = _because(case, belief, chip, weighed[worst][1], found[worst]) if belief.words else ""
    return Finding(NAME, case.subject, case.name, "tool", p, Spread.of(micrometres(play)),
                   Spread.of(micrometres(np.full(belief.rows, chip))), "um", because,
                   "turn back and forth against an indicator: the play; pull the table with a luggage scale "
                   "within it: the drag")


def _because(case: Case, belief: Belief, chip: float, here: Rows, load: Load) -> str:
    holds = middle(known(belief, machine_entity(case), "slide_drag", 0.0))
    play = known(belief, machine_entity(case), "lost_motion", 0.0)
    units = case.job.units
    said = f"this way round the cut {_acts(here)}"
    if case.op.cut.direction in ("climb", "conventional"):
        other = _pull_other_way(case, belief, load)
        said += f", the other way it {_acts(other)}"
        if max(median(here), median(other)) <= 0.0:
            said = "neither way round does the cut pull the table"
    if median(here) <= 0.0:
        most = point_of(here, 1.0 - _RARE)
        rarely = f", but in one case of twenty with more than {middle(np.array([most]))} N" if most > 0.0 else ""
        return f"{said}{rarely}; what pushes back keeps the play of the screw closed"
    jump = median(millimetres(snatched_chip(np.full(belief.rows, chip), play)))
    return (f"{said}; the slides hold about {holds} N: a tooth may take {tell(jump, 'length', units)}, "
            f"not {tell(millimetres(chip), 'length', units)}")


def _acts(pull: Rows) -> str:
    middle_pull = median(pull)
    if middle_pull > 0.0:
        return f"pulls the table with up to about {middle(pull)} N"
    return "never pulls the table"


CHECK = Check(NAME, "table is snatched", "tool", "operation", _applies, _evaluate, knobs=(DIRECTION, FEED_UP),
              feels_wear=True)
