"""The way of a limit on paper: surfaces down the side, settings across, each step with its share of the error."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ..belief import Belief
from ..dryrun.result import Result, odds
from ..dryrun.sizes import Size, sizes_of
from ..dryrun.walk import walk
from ..dryrun.way import Hop, Surface, Way, way_of
from ..units import tell
from .pen import LETTER, Pen, text_width

WIDTH: Final = 186.0           #: of the sheet between its margins [mm]
ROW: Final = 8.0               #: between surfaces [mm]
BEYOND: Final = 14.0           #: the last setting, where the size that is wanted stands [mm]
COLUMN: Final = 34.0           #: between settings, at most [mm]
TOP: Final = 20.0              #: for the heading and the names of the settings [mm]
BELOW: Final = 12.0            #: for what belongs to no setting [mm]
DOT: Final = 1.3               #: radius of a surface that is made [mm]
LANE: Final = 4.0              #: between steps of one setting that would lie on each other, at most [mm]
LEAST: Final = 0.005           #: a smaller share is not told
SMALL: Final = 2.6             #: lettering beside a step [mm]


@dataclass(frozen=True)
class ChainDrawing:
    """An SVG and its height on paper [mm]."""

    svg: str
    height: float


def chains(result: Result, belief: Belief) -> list[ChainDrawing]:
    """The way of each limit through the settings, drawn; the likeliest to be out first."""
    sizes = sizes_of(walk(result.job, result.shop, result.route, result.parts), belief, cures=False)
    likely = sorted(sizes, key=lambda size: -(size.p_out or 0.0))
    return [chain_drawing(size, way) for size in likely if (way := way_of(size, belief))]


def chain_drawing(size: Size, way: Way) -> ChainDrawing:
    """Draw the way of one limit.

    Args:
        size: the limit as it will come out.
        way: its way through the settings.
    """
    height = TOP + ROW * len(way.surfaces) + BELOW
    pen = Pen(WIDTH, height)
    units = size.case.job.units
    pen.text((0.0, 4.0), _heading(size, units), 3.8, bold=True)
    left = max(text_width(name) for name in way.names) + 6.0
    step = min(COLUMN, (WIDTH - left - 2.0 * BEYOND - 6.0) / max(len(way.settings), 1))
    columns = {name: left + step * (k + 0.5) for k, name in enumerate(way.settings)}
    rows = {surface: TOP + ROW * (k + 0.5) for k, surface in enumerate(way.surfaces)}
    _settings(pen, way, columns, step)
    places = {hop: columns[hop.setting] + min(LANE, step / 4.0) * aside for hop, aside in lanes(way).items()}
    _surfaces(pen, way, rows, places)
    for hop, x in places.items():
        _hop(pen, hop, x, rows)
    _own_shares(pen, way, rows, places, columns)
    _ends(pen, way, rows, max(columns.values(), default=left) + BEYOND)
    rest = way.shares.get("", 0.0)
    if rest >= LEAST:
        pen.text((left, height - 6.5), f"instrument, cutter and machine, in all settings: {rest:.0%}")
    if size.came is not None and size.came.found.measured:
        pen.text((left, height - 2.0), f"the last cut set by what is read after {size.came.found.measured}")
    elif size.came is not None and size.came.found.lapped:
        pen.text((left, height - 2.0), f"lapped at {size.came.found.late} until it reads right")
    return ChainDrawing(pen.svg(), height)


def _heading(size: Size, units: str) -> str:
    limit = size.case.limit
    assert limit is not None
    low, high = (tell(item, "length", units) for item in limit.tolerance)
    return f"{size.name}: {low} to {high}, out {odds(size.p_out)}"


def _settings(pen: Pen, way: Way, columns: dict[str, float], step: float) -> None:
    """Names across the top, with what each adds."""
    most = max(int(step / (0.62 * LETTER)) - 1, 4)
    for name, x in columns.items():
        pen.text((x, TOP - 9.0), name if len(name) <= most else name[: most - 1] + "…", anchor="middle")
        share = way.shares.get(name, 0.0)
        pen.text((x, TOP - 4.5), f"{share:.0%}" if share >= LEAST else "—", anchor="middle", bold=True)


def _surfaces(pen: Pen, way: Way, rows: dict[Surface, float], places: dict[Hop, float]) -> None:
    """A thin line for each surface, as far as settings use it."""
    for surface, name in zip(way.surfaces, way.names, strict=True):
        y = rows[surface]
        used = [places[hop] for hop in way.hops if surface in (hop.made, hop.datum)]
        pen.text((0.0, y), name, bold=surface in way.ends)
        if used:
            start = text_width(name) + 2.0
            pen.path([[(start, y), (max(used), y)]], "thin", grey=True)


def lanes(way: Way) -> dict[Hop, float]:
    """How far each step stands beside the middle of its setting, in lanes: none lies on another."""
    rows = {surface: k for k, surface in enumerate(way.surfaces)}
    placed: dict[str, list[list[Hop]]] = {}

    def reach(hop: Hop) -> tuple[int, int]:
        low, high = sorted((rows[hop.made], rows[hop.datum]))
        return low, high

    for hop in sorted(way.hops, key=reach):
        taken = placed.setdefault(hop.setting, [])
        free = next((lane for lane in taken if reach(lane[-1])[1] < reach(hop)[0]), None)
        if free is None:
            taken.append([hop])
        else:
            free.append(hop)
    return {hop: k - (len(taken) - 1) / 2.0
            for taken in placed.values() for k, lane in enumerate(taken) for hop in lane}


def _hop(pen: Pen, hop: Hop, x: float, rows: dict[Surface, float]) -> None:
    """From the datum to what is made from it."""
    datum, made = rows[hop.datum], rows[hop.made]
    if datum != made:
        pen.arrow((x, datum), (x, made - DOT if made > datum else made + DOT), "visible")
        pen.circle((x, datum), DOT, fill="white")
    pen.circle((x, made), DOT, fill="black")


def _own_shares(
    pen: Pen, way: Way, rows: dict[Surface, float], places: dict[Hop, float], columns: dict[str, float]
) -> None:
    """Where a setting makes several steps, what each of them adds by itself, outside of those beside it."""
    for name, middle in columns.items():
        hops = [hop for hop in way.hops if hop.setting == name]
        lanes_used = {places[hop] for hop in hops}
        for hop in hops if len(hops) > 1 else ():
            share, x = way.own.get(hop, 0.0), places[hop]
            if share < LEAST or (min(lanes_used) < x < max(lanes_used)):
                continue
            aside, anchor = (-DOT - 0.8, "end") if x < middle else (DOT + 0.8, "start")
            lift = -1.2 if hop.made == hop.datum else 1.0
            pen.text((x + aside, (rows[hop.made] + rows[hop.datum]) / 2.0 + lift), f"{share:.0%}", SMALL,
                     anchor=anchor)


def _ends(pen: Pen, way: Way, rows: dict[Surface, float], x: float) -> None:
    """What is measured: a dimension line right of the last setting, between the two ends."""
    if len(way.ends) != 2:
        return
    one, two = (rows[end] for end in way.ends)
    for y in (one, two):
        pen.path([[(x - 6.0, y), (x + 2.0, y)]], "thin")
    pen.arrow((x, (one + two) / 2.0), (x, one))
    pen.arrow((x, (one + two) / 2.0), (x, two))
    pen.text((x + 3.0, (one + two) / 2.0 + 1.0), "wanted", 2.8)
