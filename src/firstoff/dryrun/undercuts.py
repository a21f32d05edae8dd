"""Nominal passes of T-slot and dovetail cutters: under a slot that is there already, along its middle and its walls.

Along the middle such a cutter cuts on both sides at once, with nothing between them, so that its windows are told by
slices; what the slot is wider than the cutter comes off by a pass along each wall.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from ..checks.base import Case

SLICES: Final = 8           #: of a head
INNER: Final = "inner_width"    #: size of a slot that is wider inside than at its mouth [mm]


class Arc(NamedTuple):
    """Where in a turn a slice of the cutter is in the metal.

    Fields:
        low: lower end above the tip [mm].
        high: upper end above it [mm].
        entry: angle where a tooth enters [rad].
        exit: angle where it leaves [rad].
    """

    low: float
    high: float
    entry: float
    exit: float


class Undercut(NamedTuple):
    """The passes of an undercut cutter over one slot.

    Fields:
        depth: of each along the tool [mm].
        layers: how many, one over the other [1].
        side: how far the pass along the middle cuts into each wall, at its widest [mm].
        arcs: of that pass.
        area: of what it takes off in one layer, across the slot [mm2].
        walls: passes along the walls in one layer [1].
        width: of each of them, at any height [mm].
        climbing: arcs of such a pass that climbs; the other way they are as seen in a glass.
    """

    depth: float
    layers: int
    side: float
    arcs: tuple[Arc, ...]
    area: float
    walls: int
    width: float
    climbing: tuple[Arc, ...]


def undercut(case: Case) -> Undercut:
    """The passes of an operation with a cutter that is wider than its neck, in a slot that is wider inside."""
    tool, cut = case.tool, case.op.cut
    size = next(feature.size for feature in case.features if INNER in feature.size)
    neck, head = tool.neck or tool.diameter, tool.flute_length
    mouth = min(max(size.get("width", neck), neck), tool.diameter)
    tall = case.op.height or head
    depth = min(cut.depth_of_cut or head, head, tall)
    bounds = [depth * k / SLICES for k in range(SLICES + 1)]
    slices = [(low, high, _wide(case, 0.5 * (low + high))) for low, high in pairwise(bounds)]
    arcs = tuple(arc for low, high, wide in slices for arc in _arcs(low, high, mouth, wide))
    area = sum((wide - mouth) * (high - low) for low, high, wide in slices if wide > mouth)
    rest = max(size[INNER] - tool.diameter, 0.0) / 2.0
    each = min(cut.width_of_cut or rest, rest) if rest > 0.0 else 0.0
    walls = 2 * math.ceil(rest / each - 1e-6) if each > 0.0 else 0
    layers = max(1, math.ceil(tall / depth - 1e-6)) if tool.kind == "t_slot" else 1
    width = 2.0 * rest / walls if walls else 0.0
    climbing = tuple(Arc(low, high, math.acos(max(2.0 * width / wide - 1.0, -1.0)), math.pi)
                     for low, high, wide in slices)
    return Undercut(depth, layers, max(tool.diameter - mouth, 0.0) / 2.0, arcs, area, walls, width, climbing)


def _wide(case: Case, height: float) -> float:
    """Diameter of the teeth at a height above the tip [mm]."""
    tool = case.tool
    if tool.kind == "t_slot":
        return tool.diameter
    return tool.diameter - (tool.diameter - (tool.neck or tool.diameter)) * height / tool.flute_length


def _arcs(low: float, high: float, mouth: float, wide: float) -> tuple[Arc, ...]:
    """Both sides of a slice under a slot."""
    if wide <= mouth:
        return ()
    reach = float(np.arccos(mouth / wide))
    return Arc(low, high, 0.0, reach), Arc(low, high, math.pi - reach, math.pi)
