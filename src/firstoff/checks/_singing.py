"""The depth at which an engagement begins to sing, by row: its law, how its flanks rub, its factors, its limit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache

import numpy as np

from ..belief import Belief, Rows
from ..cutting.chatter import Factors, Mode, depth_limit, directional_factors
from ..cutting.edge import Edge
from ..cutting.force import Coefficients
from ..cutting.force_law import growth_of_power
from ..cutting.process_damping import FlankDamping, mean_flank_damping
from ..medians import median
from ..shop.fill import SPAN
from ._forces import Bite, sharp_coefficients, speed
from ._tip import Tip, flank
from .base import Case


def flanks_of(case: Case, belief: Belief, load: Bite) -> FlankDamping:
    """Damping of the flanks in this engagement, by row."""
    cut, rubs = load.engagement, flank(case, belief)
    parts = [(share, mean_flank_damping(rubs, cut.diameter, cut.teeth, entry, leave))
             for share, entry, leave in arcs(load)]
    return FlankDamping(*(np.asarray(sum(share * part[k] for share, part in parts)) for k in range(3)))


def law_of(case: Case, belief: Belief, load: Bite) -> Coefficients:
    """The force law by row, as steep as it is at the chips of this engagement: a swing changes them by little."""
    law, steep = sharp_coefficients(case, belief), _steep(case.material.drilling_exponent, load)
    return law._replace(tangential=steep * law.tangential, radial=steep * law.radial)


def middle_law(case: Case, belief: Belief, load: Bite) -> Coefficients:
    """The same for the median of each figure, as one row."""
    return Coefficients(*(np.array([median(rows)]) for rows in law_of(case, belief, load)))


def _steep(exponent: float, load: Bite) -> float:
    """How steeply the force grows with the mean chip of an engagement, over the line of the material's figures."""
    cut = load.engagement
    chip = load.feed * (math.cos(cut.entry) - math.cos(cut.exit)) / (cut.exit - cut.entry)
    return _steep_at_the_thickest(exponent) * float((SPAN[1] / min(max(chip, SPAN[0]), SPAN[1])) ** exponent)


@lru_cache(maxsize=64)
def _steep_at_the_thickest(exponent: float) -> float:
    """The same at the thick end of the line, from where it goes by a power of the chip: asked for every candidate."""
    return float(growth_of_power(exponent, SPAN[1], *SPAN))


def factors(law: Coefficients, load: Bite) -> Factors:
    """Directional factors of all arcs of an engagement together, by row."""
    ratio = law.radial / law.tangential
    parts = [(share, directional_factors(ratio, entry, leave)) for share, entry, leave in arcs(load)]
    return Factors(*(np.asarray(sum(share * part[k] for share, part in parts)) for k in range(4)))


def arcs(load: Bite) -> list[tuple[float, float, float]]:
    """Where in a turn the teeth are in the metal, and over which share of the depth: an undercut by its slices, as it
    cuts on both sides of the slot above it; any other cutter by one arc."""
    cut, edge = load.engagement, load.edge
    if not load.undercut or not isinstance(edge, Edge):
        return [(1.0, cut.entry, cut.exit)]
    return [((high - low) / cut.depth_of_cut, entry, leave)
            for low, high, entry, leave in zip(edge.low, edge.high, edge.entry, edge.exit, strict=True)
            if high > low and leave <= np.pi]


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
