"""The depth at which an engagement begins to sing, by row: its law, how its flanks rub, its factors, its limit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np

from ..belief import Belief, Rows
from ..cutting.chatter import Factors, Mode, depth_limit, directional_factors
from ..cutting.edge import Edge
from ..cutting.force import Coefficients
from ..cutting.force_law import growth_of_power
from ..cutting.process_damping import FlankDamping, mean_flank_damping
from ..medians import median
from ..normal import normal_quantile
from ..shop.fill import SPAN
from ._chance import OPERATION_SCATTER, over
from ._forces import Bite, sharp_coefficients, speed
from ._tip import Tip, flank
from .base import Case

_FURTHEST, _LOOKS = 3.0, 12        #: log of how much deeper or shallower is looked at, and how often at most
_JUST: Final = 0.99                #: of the chance that is asked: near enough


def flanks_of(case: Case, belief: Belief, load: Bite) -> FlankDamping:
    """Damping of the flanks in this engagement, by row."""
    cut, rubs = load.engagement, flank(case, belief)
    parts = [(share, mean_flank_damping(rubs, cut.diameter, cut.teeth, entry, leave))
             for share, entry, leave, _ in arcs(load)]
    return FlankDamping(*(np.asarray(sum(share * part[k] for share, part in parts)) for k in range(3)))


def law_of(case: Case, belief: Belief, load: Bite) -> Coefficients:
    """The force law by row, as steep as it is at the chips of this engagement: a swing changes them by little."""
    law, steep = sharp_coefficients(case, belief), _steep(case.material.drilling_exponent, load)
    return law._replace(tangential=steep * law.tangential, radial=steep * law.radial, axial=steep * law.axial)


def middle_law(case: Case, belief: Belief, load: Bite) -> Coefficients:
    """The same for the median of each figure, as one row."""
    return Coefficients(*(np.array([median(rows)]) for rows in law_of(case, belief, load)))


def _steep(exponent: float, load: Bite) -> float:
    """How steeply the force grows with the mean chip of an engagement, over the line of the material's figures."""
    cut = load.engagement
    chip = load.feed * (math.cos(cut.entry) - math.cos(cut.exit)) / (cut.exit - cut.entry)
    return _steep_at_the_thickest(exponent) * float((SPAN[1] / min(max(chip, SPAN[0]), SPAN[1])) ** exponent)


#: [rad] an edge that leans less stands upright
_UPRIGHT: Final = 1e-6


@lru_cache(maxsize=64)
def _steep_at_the_thickest(exponent: float) -> float:
    """The same at the thick end of the line, from where it goes by a power of the chip: asked for every candidate."""
    return float(growth_of_power(exponent, SPAN[1], *SPAN))


def factors(law: Coefficients, load: Bite) -> Factors:
    """Directional factors of all arcs of an engagement together, by row.

    Where the edge leans its radial force lies partly along the tool, and what acts along the edge partly across it.
    """
    parts = []
    for share, entry, leave, lead in arcs(load):
        ratio = law.radial / law.tangential
        if lead != SQUARE:
            ratio = np.sin(lead) * ratio + np.cos(lead) * (law.axial / law.tangential)
        parts.append((share, directional_factors(ratio, entry, leave)))
    return Factors(*(np.asarray(sum(share * part[k] for share, part in parts)) for k in range(4)))


class Part(NamedTuple):
    """Where in a turn teeth are in the metal over a share of the depth, and how their edge leans there [rad]."""

    share: float
    entry: float
    exit: float
    lead: float


SQUARE: Final = math.pi / 2.0


def arcs(load: Bite) -> list[Part]:
    """Where in a turn the teeth are in the metal: of an undercut, as it cuts on both sides of the slot above it, and
    of an edge that leans, as a ball's is buried at its tip, by their slices; of any other cutter one arc."""
    cut, edge = load.engagement, load.edge
    if not isinstance(edge, Edge) or not (load.undercut or _leans(edge)):
        return [Part(1.0, cut.entry, cut.exit, SQUARE)]
    return [Part((high - low) / cut.depth_of_cut, entry, leave, lead)
            for low, high, entry, leave, lead in zip(edge.low, edge.high, edge.entry, edge.exit, edge.lead_angle,
                                                     strict=True)
            if high > low and leave <= math.pi]


def _leans(edge: Edge) -> bool:
    """Whether a part of the edge that goes up leans; that of the end is left out."""
    return any(high > low and abs(lead - SQUARE) > _UPRIGHT
               for low, high, lead in zip(edge.low, edge.high, edge.lead_angle, strict=True))


def limit_of(case: Case, law: Coefficients, here: Tip, flanks: FlankDamping, load: Bite) -> Rows:
    """Depth of cut at which this engagement begins to chatter, its flanks rubbing as at its depth, by row [m]."""
    return depth_limit(law.tangential, case.tool.flutes, factors(law, load), *here, speed(case), flanks,
                       load.engagement.depth_of_cut)


def limits_together(
    case: Case, laws: Sequence[Coefficients], tips: Sequence[Tip], rubs: Sequence[FlankDamping], loads: Sequence[Bite]
) -> Sequence[Rows]:
    """Limits of some engagements, one below the other as if they were more rows: few rows take hardly longer."""
    rows = np.size(laws[0].tangential)

    def below(parts: Iterable[Rows | float]) -> Rows:
        found = np.empty((len(loads), rows))
        for row, part in zip(found, parts, strict=True):
            row[:] = part
        return found.ravel()

    def stacked(one_way: Iterable[tuple[Mode, ...]]) -> tuple[Mode, ...]:
        return tuple(Mode(*map(below, zip(*alike, strict=True))) for alike in zip(*one_way, strict=True))

    several = [factors(law, load) for law, load in zip(laws, loads, strict=True)]
    limit = depth_limit(below(law.tangential for law in laws), case.tool.flutes,
                        Factors(*map(below, zip(*several, strict=True))), stacked(one.along for one in tips),
                        stacked(one.square for one in tips), speed(case),
                        FlankDamping(*map(below, zip(*rubs, strict=True))),
                        below(load.engagement.depth_of_cut for load in loads))
    return np.split(limit, len(loads))


def sung(ratio: Rows) -> Rows:
    """Chance by row that an operation sings, by its depth over the limit."""
    return over(ratio, np.ones_like(ratio), OPERATION_SCATTER["stability"])


def deeper_by(ratio: Rows, chance: float, beside: Rows | None = None) -> float:
    """Times its depth that a cut is as deep as it may be where it is to be spoiled no more often than this.

    Args:
        ratio: depth over the zero-order limit, by row, of which a cut n times as deep has n times as much.
        chance: above 0 and below 1.
        beside: chance by row that nothing else spoils it, however deep; none where it is asked for singing alone.
    """
    low, high, at = -_FURTHEST, _FURTHEST, 0.0
    below: list[tuple[float, float]] = []       # the last of either side: how deep, and how often as a deviation
    above: list[tuple[float, float]] = []
    for look in range(_LOOKS):
        sings = sung(ratio * np.exp(at))
        often = float((sings if beside is None else 1.0 - (1.0 - sings) * beside).mean())
        low, high = (low, at) if often > chance else (at, high)
        if _JUST * chance <= often <= chance:
            break
        if 0.0 < often < 1.0:
            (above if often > chance else below)[:] = [(at, float(normal_quantile(often)))]
        at = 0.5 * (low + high)
        if below and above and look % 3 < 2:     # nearly a straight line; where it is not, halved in between
            (one, p_one), (other, p_other) = below[0], above[0]
            aim = float(normal_quantile(0.5 * (1.0 + _JUST) * chance))
            at = min(max(one + (aim - p_one) / (p_other - p_one) * (other - one), low), high)
    return float(np.exp(low))
