"""Which way round a cutter goes on this machine: both ways computed from book or own figures, with the reason."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from ..checks._chance import figure
from ..checks._forces import outline_of
from ..checks.si import metres, millimetres, width_at
from ..cutting.edge import Edge, edge_in_cut
from ..cutting.engagement import engagement_angles
from ..cutting.force import Coefficients, Engagement
from ..cutting.lost_motion import feed_pull
from ..job.route import Direction
from ..shop.models import Figure, Machine, MachineFigures, Material, Tool
from ..units import tell_rounded

UNKNOWN_PLAY: Final = 0.1      #: [mm] lost motion where neither machine nor class says
SURE: Final = 1.645            #: standard deviations at which one in twenty lies beyond
WELL_BELOW: Final = 1.5       #: chip over play from which no tooth takes twice its chip; judged
FORCE_SPREAD: Final = 1.5      #: × and ÷ of a cutting force by book figures; judged


@dataclass(frozen=True)
class Way:
    """The way round that was chosen, and why in words for the route card."""

    direction: Direction
    because: str


@dataclass(frozen=True)
class Band:
    """What a cut takes at once: feed a tooth, depth and width [mm]."""

    feed: float
    depth: float
    width: float


def way_round(
    machine: Machine, figures: MachineFigures | None, tool: Tool, material: Material, band: Band, units: str = "mm",
) -> Way:
    """Climb where the play of the screw is surely well below the chip, or the cut surely cannot pull the table.

    Otherwise conventional, but where that pulls harder.

    Surely: but for one chance in twenty, by the spread of the figures. The reason is told in
    the shop's units.
    """
    play = _figure(machine, figures, "lost_motion")
    most_play = upper(play) if play is not None else UNKNOWN_PLAY
    chip, told = _chip(tool, band), tell_rounded(most_play, "length", units)
    thick = tell_rounded(chip, "length", units)
    if WELL_BELOW * most_play <= chip:
        return Way("climb", f"climb: {told} of lost motion at most, well below the chip of {thick}")
    return _by_pull(machine, figures, tool, material, band, told, thick)


def _by_pull(
    machine: Machine, figures: MachineFigures | None, tool: Tool, material: Material, band: Band, play: str,
    chip: str,
) -> Way:
    """The way round where the play is much beside the chip: what matters is whether the cut pulls."""
    law, drag = law_of(material), _figure(machine, figures, "slide_drag")
    if law is None or drag is None:
        return Way("conventional", f"conventional: {play} of lost motion is much beside the chip, and a climb "
                                   f"cut may pull the table through it")
    climb, other = (pull(law, tool, band, way) for way in ("climb", "conventional"))
    if climb * FORCE_SPREAD <= upper(drag, -1.0):
        return Way("climb", f"climb: it pulls the table with about {figure(climb)} N, less than its slides hold")
    if climb < other:
        return Way("climb", f"climb: either way the cut pulls the table, so with about {figure(climb)} N, else with "
                            f"{figure(other)}, through up to {play} of lost motion: much beside the chip of {chip}")
    back = "pushes back" if other <= 0.0 else f"pulls with about {figure(other)} N"
    return Way("conventional", f"conventional {back}; a climb cut would pull the table with about {figure(climb)} N "
                               f"through up to {play} of lost motion: much beside the chip of {chip}")


def pull(law: Coefficients, tool: Tool, band: Band, direction: Direction) -> float:
    """The most that a cut pulls the table along its feed [N], by the outline of the cutter."""
    across, outline, deep = metres(_across(tool, band)), outline_of(tool), metres(band.depth)
    angles = engagement_angles(min(metres(band.width), across), across, direction)
    entry, leave = float(angles.entry), float(angles.exit)
    cut: Engagement | Edge = Engagement(across, tool.flutes, tool.helix, deep, entry, leave)
    if outline.corner_radius > 0.0 or outline.half_angle > 0.0:
        cut = edge_in_cut(outline, tool.flutes, tool.helix, deep, entry, leave,
                          beside="wall" if tool.kind == "chamfer" else "row")
    return float(feed_pull(law, cut, metres(band.feed)).most)


def law_of(material: Material) -> Coefficients | None:
    """The force law by its middle figures; None where the material has none of its own (a mixture)."""
    found = [getattr(material, name) for name in Coefficients._fields]
    return None if any(f is None for f in found) else Coefficients(*(f.value for f in found))


def upper(figure: Figure, side: float = 1.0) -> float:
    """The figure but for one chance in twenty: the largest, or with side -1 the least."""
    if figure.factor is not None:
        return float(figure.value * figure.factor ** (side * SURE))
    return figure.value + side * SURE * (figure.sd or 0.0)


def _chip(tool: Tool, band: Band) -> float:
    share = min(band.width / _across(tool, band), 0.5)
    return band.feed * 2.0 * math.sqrt(share * (1.0 - share))


def _across(tool: Tool, band: Band) -> float:
    """How wide the cutter is where it comes out of the metal [mm]."""
    return millimetres(width_at(tool, band.depth)) if band.depth > 0.0 else tool.diameter


def _figure(machine: Machine, figures: MachineFigures | None, name: str) -> Figure | None:
    found = getattr(machine, name) or (getattr(figures, name) if figures else None)
    assert found is None or isinstance(found, Figure)
    return found
