"""Holes: coaxial hollow cylinders and cones, with what ends them. Plain geometry in mm, no kernel.

Source: joshi1988 for the adjacency; joining of sections about one axis is our own.
"""

from __future__ import annotations

import math
from dataclasses import replace

from firstoff.part import rings
from firstoff.part.graph import Graph, far
from firstoff.part.sections import (
    APART,
    MOSTLY,
    Ends,
    Section,
    around,
    by_axis,
    chains_of,
    ends_of,
    faces_of,
    section,
    shoulder,
    sweep_of,
    walls,
)
from firstoff.part.shapes import Feature, Vector
from firstoff.part.vectors import AXES, along, minus, span

TAPER = 45.0                             # included angle up to which a cone is a taper, not a countersink [degrees]


def find(graph: Graph) -> list[Feature]:
    """All holes of the part, without ids."""
    groups = [group for group in walls(graph) if sweep_of(graph, group) >= MOSTLY]
    out = []
    for axis, point, members in by_axis(graph, groups):
        sections = [section(graph, group, axis, point) for group in members]
        for chain in chains_of(graph, sections, axis):
            ends = ends_of(graph, chain, axis)
            found, rest = rings.inside(graph, chain, ends, axis, point)
            out += [*found, rings.sunk(graph, rest, axis) or _hole(graph, rest, ends, axis, point)]
    return [hole for hole in out if hole is not None]


def _hole(graph: Graph, chain: list[Section], ends: Ends, axis: Vector, point: Vector) -> Feature | None:
    if ends.low and ends.high:
        return None                      # a cavity that no drill reaches
    upwards = not ends.high and (bool(ends.low) or _wider_above(chain))
    if not upwards:
        chain, axis = _turned(chain), minus(axis)
    shoulders = {n for n in around(graph, faces_of(chain)) if shoulder(graph, n, axis, faces_of(chain))}
    faces = tuple(sorted(faces_of(chain) | shoulders | set(ends.low) | set(ends.high)))
    through = not ends.low and not ends.high
    top = max(s.high for s in chain)
    notes = [] if all(s.full for s in chain) else ["the bore is open along its side"]
    return Feature(
        id="", kind="hole", faces=faces, through=through, open=bool(notes), axis=axis,
        axis_point=along(point, axis, top - _slant(graph, chain) / 2),
        size=_size(chain, through), notes=tuple(notes + _steps(chain)),
    )


def _wider_above(chain: list[Section]) -> bool:
    low, high = min(chain, key=lambda s: s.low), max(chain, key=lambda s: s.high)
    return high.r_high >= low.r_low - APART


def _turned(chain: list[Section]) -> list[Section]:
    turned = [replace(s, low=-s.high, high=-s.low, r_low=s.r_high, r_high=s.r_low) for s in chain]
    return sorted(turned, key=lambda s: (s.low, s.high))


def _slant(graph: Graph, chain: list[Section]) -> float:
    """How much the rim's height varies, where the hole enters a slanting face [mm]."""
    last = max(chain, key=lambda section: section.high)
    axis = graph.faces[last.faces[0]].axis or AXES[0]
    outer = [edge for n in last.faces for edge in graph.at.get(n, ()) if far(edge, n) not in last.faces]
    rims = [span(edge.points, axis) for edge in outer]
    return max((high - low for low, high in rims), default=0.0) if len(rims) <= 2 else 0.0


def _size(chain: list[Section], through: bool) -> dict[str, float]:
    top, bottom = max(s.high for s in chain), min(s.low for s in chain)
    bores = [section for section in chain if not section.conical]
    if not bores:
        return _only_cones(chain, top - bottom)
    narrow = min(bores, key=lambda s: (s.r_low, s.low))
    size = {"diameter": 2 * narrow.r_low, "depth": top - (bottom if through else min(s.low for s in bores))}
    wider = [s for s in bores if s.r_low > narrow.r_low + APART]
    above, below = [s for s in wider if s.low >= narrow.low], [s for s in wider if s.high <= narrow.high]
    if above:
        bore = max(above, key=lambda s: s.high)
        size |= _counterbore(bore.r_low, top - bore.low, _seat(chain, bore.r_low, bore.low, 1.0), "")
    if below and through:
        bore = min(below, key=lambda s: s.low)
        size |= _counterbore(bore.r_low, bore.high - bottom, _seat(chain, bore.r_low, bore.high, -1.0), "far_")
    for cone in (s for s in chain if s.conical):
        size |= _cone(cone, top, bottom, through)
    return size


def _only_cones(chain: list[Section], height: float) -> dict[str, float]:
    """A spot, a taper, or a countersink through a sheet."""
    radii = [r for s in chain for r in (s.r_low, s.r_high)]
    wide, narrow, angle = 2 * max(radii), 2 * min(radii), math.degrees(2 * chain[0].half_angle)
    if narrow < APART:
        return {"diameter": wide, "depth": height, "cone_angle": angle}
    if angle > TAPER:
        return {"diameter": narrow, "depth": height, "countersink_diameter": wide, "countersink_angle": angle}
    return {"diameter": wide, "far_diameter": narrow, "depth": height, "taper_angle": angle}


def _seat(chain: list[Section], radius: float, level: float, way: float) -> Section | None:
    """The cone at the bottom of a wider bore, where it has no flat one."""
    for cone in (s for s in chain if s.conical):
        wide, at = (cone.r_high, cone.high) if way > 0 else (cone.r_low, cone.low)
        if abs(wide - radius) < APART and abs(at - level) < APART and wide > min(cone.r_low, cone.r_high):
            return cone
    return None


def _counterbore(radius: float, depth: float, seat: Section | None, side: str) -> dict[str, float]:
    """A wider bore; with a cone at its bottom higher than itself it is a countersink set below the face."""
    if seat is None:
        return {f"{side}counterbore_diameter": 2 * radius, f"{side}counterbore_depth": depth}
    angle = math.degrees(2 * seat.half_angle)
    if depth < seat.high - seat.low:
        return {f"{side}countersink_diameter": 2 * radius, f"{side}countersink_angle": angle}
    return {f"{side}counterbore_diameter": 2 * radius, f"{side}counterbore_depth": depth, f"{side}seat_angle": angle}


def _cone(cone: Section, top: float, bottom: float, through: bool) -> dict[str, float]:
    angle = math.degrees(2 * cone.half_angle)
    if cone.r_high > cone.r_low and abs(cone.high - top) < APART:
        return {"countersink_diameter": 2 * cone.r_high, "countersink_angle": angle}
    if not through and cone.r_low < APART:
        return {"cone_angle": angle}
    if through and cone.r_low > cone.r_high and abs(cone.low - bottom) < APART:
        return {"far_countersink_diameter": 2 * cone.r_low, "far_countersink_angle": angle}
    return {}


def _steps(chain: list[Section]) -> list[str]:
    radii = sorted({round(section.r_low, 3) for section in chain if not section.conical}, reverse=True)
    return ["stepped: " + ", ".join(f"{2 * radius:g}" for radius in radii) + " mm"] if len(radii) > 1 else []
