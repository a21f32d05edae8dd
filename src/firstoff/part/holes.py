"""Holes: coaxial hollow cylinders and cones, with what ends them. Plain geometry in mm, no kernel.

Source: joshi1988 for the adjacency; joining of sections about one axis is our own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from firstoff.part.graph import Graph, far
from firstoff.part.shapes import Edge, Face, Feature, Vector
from firstoff.part.vectors import AXES, along, cross, dot, minus, norm, parallel, span, sub, unit, upwards_first

FULL = 2 * math.pi - 0.02                # angle round the axis from which a wall counts as closed [rad]
MOSTLY = 1.05 * math.pi                  # from which a broken-out bore still is a hole: it guides a drill [rad]
ROUGH = 0.02                             # within which a polyline keeps to a round rim [mm]
APART = 1e-3                             # distance within which axes, radii and planes are the same [mm]


@dataclass(frozen=True)
class Section:
    """A piece of a hole between two places of its axis: a cylinder or a cone.

    Fields:
        faces: numbers of its faces [1].
        conical: a cone, not a cylinder [1].
        low, high: where it begins and ends on the axis [mm].
        r_low, r_high: radius there [mm].
        half_angle: of a cone [rad].
        full: whether it closes round the axis [1].
    """

    faces: tuple[int, ...]
    conical: bool
    low: float
    high: float
    r_low: float
    r_high: float
    half_angle: float
    full: bool


@dataclass(frozen=True)
class _Ends:
    """Which faces end a hole at low and high (empty where it is open)."""

    low: tuple[int, ...]
    high: tuple[int, ...]


def find(graph: Graph) -> list[Feature]:
    """All holes of the part, without ids."""
    groups = [group for group in _walls(graph) if _sweep(graph, group) >= MOSTLY]
    out = []
    for axis, point, members in _by_axis(graph, groups):
        sections = [_section(graph, group, axis, point) for group in members]
        for chain in _chains(graph, sections, axis):
            out.append(_hole(graph, chain, axis, point))
    return [hole for hole in out if hole is not None]


def _walls(graph: Graph) -> list[list[int]]:
    round_faces = [n for n, face in graph.faces.items() if face.kind in ("cylinder", "cone") and face.hollow]

    def joins(edge: Edge) -> bool:
        one, other = (graph.faces[n] for n in edge.faces)
        return edge.convexity == "smooth" and one.kind == other.kind and coaxial(one, other) and _alike(one, other)

    return graph.components(round_faces, joins)


def _alike(one: Face, other: Face) -> bool:
    if one.kind == "cylinder":
        return abs((one.radius or 0.0) - (other.radius or 0.0)) < APART
    return abs(abs(one.half_angle or 0.0) - abs(other.half_angle or 0.0)) < 1e-4


def coaxial(one: Face, other: Face) -> bool:
    """Whether two round faces turn about one line."""
    if one.axis is None or other.axis is None or one.axis_point is None or other.axis_point is None:
        return False
    return parallel(one.axis, other.axis) and _off(other.axis_point, one.axis_point, one.axis) < APART


def _off(point: Vector, origin: Vector, axis: Vector) -> float:
    return norm(cross(sub(point, origin), axis))


def _sweep(graph: Graph, group: list[int]) -> float:
    """The angle that a wall covers; less than a whole turn where a straight edge opens it to one side."""
    total = min(sum(graph.faces[n].sweep or 0.0 for n in group), 2 * math.pi)
    opened = any(
        edge.kind == "line" and far(edge, n) not in group and parallel(_way(edge), graph.faces[n].axis or AXES[0])
        for n in group if graph.faces[n].kind == "cylinder" for edge in graph.at.get(n, ())
    )
    return min(total, FULL - 0.01) if opened else total


def _way(edge: Edge) -> Vector:
    return unit(sub(edge.points[-1], edge.points[0]))


def _by_axis(graph: Graph, groups: list[list[int]]) -> list[tuple[Vector, Vector, list[list[int]]]]:
    out: list[tuple[Face, list[list[int]]]] = []
    for group in sorted(groups):
        face = graph.faces[group[0]]
        for lead, members in out:
            if coaxial(lead, face):
                members.append(group)
                break
        else:
            out.append((face, [group]))
    return [
        (upwards_first(lead.axis), lead.axis_point, members)
        for lead, members in out if lead.axis is not None and lead.axis_point is not None
    ]


def _section(graph: Graph, group: list[int], axis: Vector, point: Vector) -> Section:
    low, high = (t - dot(point, axis) for t in span(graph.points(group), axis))
    face = graph.faces[group[0]]
    full = _sweep(graph, group) >= FULL
    if face.kind == "cylinder":
        radius = face.radius or 0.0
        return Section(tuple(group), False, low, high, radius, radius, 0.0, full)
    sense = 1.0 if dot(face.axis or axis, axis) > 0 else -1.0
    slope = math.tan(face.half_angle or 0.0) * sense
    start = dot(sub(face.axis_point or point, point), axis)
    radii = [max((face.radius or 0.0) + slope * (t - start), 0.0) for t in (low, high)]
    return Section(tuple(group), True, low, high, radii[0], radii[1], abs(face.half_angle or 0.0), full)


def _chains(graph: Graph, sections: list[Section], axis: Vector) -> list[list[Section]]:
    """Sections that belong to one hole: they touch, share a shoulder, or one drill makes both."""
    chains = [[section] for section in sorted(sections, key=lambda s: (s.low, s.high))]
    merged = True
    while merged:
        merged = False
        for i, one in enumerate(chains):
            for j in range(i + 1, len(chains)):
                if _belong(graph, one, chains[j], axis):
                    chains[i] = sorted([*one, *chains.pop(j)], key=lambda s: (s.low, s.high))
                    merged = True
                    break
            if merged:
                break
    return chains


def _belong(graph: Graph, one: list[Section], other: list[Section], axis: Vector) -> bool:
    mine, theirs = _faces(one), _faces(other)
    if any(far(edge, n) in theirs for n in mine for edge in graph.at.get(n, ())):
        return True
    if any(_shoulder(graph, n, axis, mine | theirs) for n in _around(graph, mine) & _around(graph, theirs)):
        return True
    ends = [_ends(graph, chain, axis) for chain in (one, other)]
    through = not any(end.low or end.high for end in ends)
    plain = len(one) == len(other) == 1 and not one[0].conical and not other[0].conical
    return through and plain and abs(one[0].r_low - other[0].r_low) < APART


def _faces(chain: Iterable[Section]) -> set[int]:
    return {n for section in chain for n in section.faces}


def _around(graph: Graph, numbers: set[int]) -> set[int]:
    return {far(edge, n) for n in numbers for edge in graph.at.get(n, ())} - numbers


def _shoulder(graph: Graph, number: int, axis: Vector, walls: set[int]) -> bool:
    """A flat square to the axis that touches nothing but these walls, or lies within one that rises from it."""
    face = graph.faces[number]
    if face.kind != "plane" or not parallel(face.normal, axis):
        return False
    return set(face.neighbours) <= walls or any(
        edge.convexity == "concave" and far(edge, number) in walls and _within(graph, number, far(edge, number))
        for edge in graph.at.get(number, ())
    )


def _within(graph: Graph, number: int, wall: int) -> bool:
    """Whether a face lies within a round wall, where a fillet or a slope breaks the wall's rim."""
    turned = graph.faces[wall]
    if turned.kind != "cylinder" or turned.axis is None or turned.axis_point is None:
        return False
    points = graph.points([number])
    return all(_off(point, turned.axis_point, turned.axis) < (turned.radius or 0.0) + ROUGH for point in points)


def _ends(graph: Graph, chain: list[Section], axis: Vector) -> _Ends:
    """The faces that close the chain's two ends: a flat, a ball, or a cone that runs to its point."""
    walls = _faces(chain)
    middle = (min(s.low for s in chain) + max(s.high for s in chain)) / 2
    closing: dict[bool, list[int]] = {False: [], True: []}
    base = _base(graph, chain, axis)
    for n in _around(graph, walls):
        face = graph.faces[n]
        flat = _shoulder(graph, n, axis, walls) and len(face.outlines) == 1
        ball = face.kind == "sphere" and face.hollow and set(face.neighbours) <= walls
        if flat or ball:
            closing[dot(face.centroid, axis) - base > middle].append(n)
    for section in chain:
        if section.conical and min(section.r_low, section.r_high) < APART:
            closing[section.r_high < section.r_low].extend(section.faces)
    return _Ends(tuple(closing[False]), tuple(closing[True]))


def _base(graph: Graph, chain: list[Section], axis: Vector) -> float:
    """Where the axis coordinate of the sections is zero, in the part's coordinates along the axis [mm]."""
    first = chain[0]
    return span(graph.points(first.faces), axis)[0] - first.low


def _hole(graph: Graph, chain: list[Section], axis: Vector, point: Vector) -> Feature | None:
    ends = _ends(graph, chain, axis)
    if ends.low and ends.high:
        return None                      # a cavity that no drill reaches
    upwards = not ends.high and (bool(ends.low) or _wider_above(chain))
    if not upwards:
        chain, axis = _turned(chain), minus(axis)
    shoulders = {n for n in _around(graph, _faces(chain)) if _shoulder(graph, n, axis, _faces(chain))}
    faces = tuple(sorted(_faces(chain) | shoulders | set(ends.low) | set(ends.high)))
    through = not ends.low and not ends.high
    top = max(section.high for section in chain)
    notes = [] if all(section.full for section in chain) else ["the bore is open along its side"]
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
        wide = max(max(s.r_low, s.r_high) for s in chain)
        return {"diameter": 2 * wide, "depth": top - bottom, "cone_angle": math.degrees(2 * chain[0].half_angle)}
    narrow = min(bores, key=lambda s: (s.r_low, s.low))
    size = {"diameter": 2 * narrow.r_low, "depth": top - (bottom if through else min(s.low for s in bores))}
    wider = [s for s in bores if s.r_low > narrow.r_low + APART and s.low >= narrow.low]
    if wider:
        bore = max(wider, key=lambda s: s.high)
        size |= {"counterbore_diameter": 2 * bore.r_low, "counterbore_depth": top - bore.low}
    for cone in (section for section in chain if section.conical):
        size |= _cone(cone, top, bottom, through)
    return size


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
