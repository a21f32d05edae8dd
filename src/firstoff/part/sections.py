"""Sections of holes: coaxial hollow cylinders and cones, which of them belong together, and what ends them. mm.

Source: joshi1988 for the adjacency; joining of sections about one axis is our own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from firstoff.part.graph import Graph, far
from firstoff.part.shapes import Edge, Face, Vector
from firstoff.part.vectors import AXES, cross, dot, norm, parallel, span, sub, unit, upwards_first

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
class Ends:
    """Which faces end a hole at low and high (empty where it is open)."""

    low: tuple[int, ...]
    high: tuple[int, ...]


def walls(graph: Graph) -> list[list[int]]:
    """The hollow round faces of the part, those that make one wall together; so do arcs that slots have parted."""
    round_faces = [n for n, face in graph.faces.items() if face.kind in ("cylinder", "cone") and face.hollow]

    def joins(edge: Edge) -> bool:
        one, other = (graph.faces[n] for n in edge.faces)
        return edge.convexity == "smooth" and one.kind == other.kind and coaxial(one, other) and _alike(one, other)

    return _arcs_joined(graph, graph.components(round_faces, joins))


def _arcs_joined(graph: Graph, groups: list[list[int]]) -> list[list[int]]:
    """Arcs of one radius about one axis, side by side along it."""
    out: list[list[int]] = []
    for group in groups:
        face = graph.faces[group[0]]
        for known in out:
            lead = graph.faces[known[0]]
            if face.kind == lead.kind == "cylinder" and _alike(lead, face) and coaxial(lead, face) and (
                    _side_by_side(graph, known, group, lead.axis or AXES[0])):
                known += group
                break
        else:
            out.append(list(group))
    return out


def _side_by_side(graph: Graph, one: list[int], other: list[int], axis: Vector) -> bool:
    """Whether two arcs share most of the shorter one's length, and are not each a whole turn."""
    (a, b), (c, d) = (span(graph.points(arcs), axis) for arcs in (one, other))
    whole = any(sum(graph.faces[n].sweep or 0.0 for n in arcs) > FULL for arcs in (one, other))
    return not whole and min(b, d) - max(a, c) > 0.5 * min(b - a, d - c)


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


def sweep_of(graph: Graph, group: list[int]) -> float:
    """The angle that a wall covers; less than a whole turn where a straight edge opens it to one side."""
    total = min(sum(graph.faces[n].sweep or 0.0 for n in group), 2 * math.pi)
    opened = any(
        edge.kind == "line" and far(edge, n) not in group and parallel(_way(edge), graph.faces[n].axis or AXES[0])
        for n in group if graph.faces[n].kind == "cylinder" for edge in graph.at.get(n, ())
    )
    return min(total, FULL - 0.01) if opened else total


def _way(edge: Edge) -> Vector:
    return unit(sub(edge.points[-1], edge.points[0]))


def by_axis(graph: Graph, groups: list[list[int]]) -> list[tuple[Vector, Vector, list[list[int]]]]:
    """The walls of each axis: its direction, a point of it, and the walls about it."""
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


def section(graph: Graph, group: list[int], axis: Vector, point: Vector) -> Section:
    """A wall as a section of its axis; heights count from `point`."""
    low, high = (t - dot(point, axis) for t in span(graph.points(group), axis))
    face = graph.faces[group[0]]
    full = sweep_of(graph, group) >= FULL
    if face.kind == "cylinder":
        radius = face.radius or 0.0
        return Section(tuple(group), False, low, high, radius, radius, 0.0, full)
    sense = 1.0 if dot(face.axis or axis, axis) > 0 else -1.0
    slope = math.tan(face.half_angle or 0.0) * sense
    start = dot(sub(face.axis_point or point, point), axis)
    radii = [max((face.radius or 0.0) + slope * (t - start), 0.0) for t in (low, high)]
    return Section(tuple(group), True, low, high, radii[0], radii[1], abs(face.half_angle or 0.0), full)


def chains_of(graph: Graph, sections: list[Section], axis: Vector) -> list[list[Section]]:
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
    mine, theirs = faces_of(one), faces_of(other)
    if any(far(edge, n) in theirs for n in mine for edge in graph.at.get(n, ())):
        return True
    if any(shoulder(graph, n, axis, mine | theirs) for n in around(graph, mine) & around(graph, theirs)):
        return True
    ends = [ends_of(graph, chain, axis) for chain in (one, other)]
    through = not any(end.low or end.high for end in ends)
    plain = len(one) == len(other) == 1 and not one[0].conical and not other[0].conical
    return through and plain and abs(one[0].r_low - other[0].r_low) < APART


def faces_of(chain: Iterable[Section]) -> set[int]:
    """The faces of all sections."""
    return {n for section in chain for n in section.faces}


def around(graph: Graph, numbers: set[int]) -> set[int]:
    """The faces that touch these."""
    return {far(edge, n) for n in numbers for edge in graph.at.get(n, ())} - numbers


def shoulder(graph: Graph, number: int, axis: Vector, walls: set[int]) -> bool:
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


def ends_of(graph: Graph, chain: list[Section], axis: Vector) -> Ends:
    """The faces that close the chain's two ends: a flat, a ball, or a cone that runs to its point."""
    walls = faces_of(chain)
    middle = (min(s.low for s in chain) + max(s.high for s in chain)) / 2
    closing: dict[bool, list[int]] = {False: [], True: []}
    base = _base(graph, chain, axis)
    for n in around(graph, walls):
        face = graph.faces[n]
        flat = shoulder(graph, n, axis, walls) and len(face.outlines) == 1
        ball = face.kind == "sphere" and face.hollow and set(face.neighbours) <= walls
        if flat or ball:
            closing[dot(face.centroid, axis) - base > middle].append(n)
    for section in chain:
        if section.conical and min(section.r_low, section.r_high) < APART:
            closing[section.r_high < section.r_low].extend(section.faces)
    return Ends(tuple(closing[False]), tuple(closing[True]))


def _base(graph: Graph, chain: list[Section], axis: Vector) -> float:
    """Where the axis coordinate of the sections is zero, in the part's coordinates along the axis [mm]."""
    first = chain[0]
    return span(graph.points(first.faces), axis)[0] - first.low


