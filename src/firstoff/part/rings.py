"""Grooves that run round: within a bore, and sunk into a face about a boss. Plain geometry in mm, no kernel.

Source: own (sections of one axis, by their radii).
"""

from __future__ import annotations

from dataclasses import replace

from firstoff.part.graph import Graph, far
from firstoff.part.sections import APART, FULL, Ends, Section, around, coaxial, faces_of
from firstoff.part.shapes import Feature, Vector
from firstoff.part.vectors import along, dot, parallel, span


def inside(
    graph: Graph, chain: list[Section], ends: Ends, axis: Vector, point: Vector
) -> tuple[list[Feature], list[Section]]:
    """The grooves within a bore, each wider than the bore on both its sides or than the one mouth that it has.

    Args:
        graph: the part's faces and edges.
        chain: the sections of one hole.
        ends: the faces that close it.
        axis: its direction.
        point: where the sections count from.

    Returns:
        The grooves without ids, and the chain without them.
    """
    rest, found = list(chain), []
    for wide in chain:
        below = max((s for s in chain if s.high <= wide.low + APART), key=lambda s: s.high, default=None)
        above = min((s for s in chain if s.low >= wide.high - APART), key=lambda s: s.low, default=None)
        beside = [*([] if below is None else [below.r_high]), *([] if above is None else [above.r_low])]
        shut = (below is not None or ends.low) and (above is not None or ends.high)
        if wide.conical or not wide.full or not beside or not shut or max(beside) > wide.r_low - APART:
            continue
        rest.remove(wide)
        if below is None and above is not None and above in rest:     # the drill went down to the same floor
            rest[rest.index(above)] = replace(above, low=wide.low)
        if above is None and below is not None and below in rest:
            rest[rest.index(below)] = replace(below, high=wide.high)
        sides = {n for n in around(graph, set(wide.faces)) if parallel(graph.faces[n].normal, axis)
                 and graph.faces[n].kind == "plane"} - {*ends.low, *ends.high}
        size = {"diameter": 2 * wide.r_low, "width": wide.high - wide.low, "depth": wide.r_low - max(beside)}
        found.append(Feature("", "groove", tuple(sorted({*wide.faces, *sides})), axis=axis, size=size,
                             axis_point=along(point, axis, (wide.low + wide.high) / 2), notes=("within a bore",)))
    return found, rest


def sunk(graph: Graph, chain: list[Section], axis: Vector) -> Feature | None:
    """The groove that a round wall, a flat and a boss about the same axis make in a face; None where they do not.

    Args:
        graph: the part's faces and edges.
        chain: the sections of what may be a hole.
        axis: its direction.
    """
    own = faces_of(chain)
    for n in sorted(around(graph, own)):
        floor = graph.faces[n]
        walls = [far(e, n) for e in graph.at[n] if e.convexity == "concave" and far(e, n) in own]
        if floor.kind != "plane" or not parallel(floor.normal, axis) or not walls:
            continue
        outer = graph.faces[walls[0]]
        core = sorted({m for m in (far(e, n) for e in graph.at[n] if e.convexity == "concave")
                       if not graph.faces[m].hollow and coaxial(outer, graph.faces[m])})
        if not core or sum(graph.faces[m].sweep or 0.0 for m in core) < FULL:
            continue
        level = dot(floor.centroid, floor.normal)
        depth = span(graph.points(own), floor.normal)[1] - level
        height = span(graph.points(core), floor.normal)[1] - level
        inner = 2 * (graph.faces[core[0]].radius or 0.0)
        size = {"diameter": 2 * (outer.radius or 0.0), "inner_diameter": inner,
                "width": (outer.radius or 0.0) - inner / 2, "depth": depth}
        faces = own | {n} | (set(core) if height < depth + APART else set())
        middle = outer.axis_point or floor.centroid
        middle = along(middle, floor.normal, level + depth - dot(middle, floor.normal))
        return Feature("", "groove", tuple(sorted(faces)), axis=floor.normal, axis_point=middle, size=size)
    return None

