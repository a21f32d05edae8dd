"""Chamfers: narrow slanting flats, and cones, between two convex edges. Plain geometry in mm, no kernel."""

from __future__ import annotations

import math

from firstoff.part.graph import Graph, far
from firstoff.part.shapes import Edge, Face, Feature, Vector
from firstoff.part.vectors import (
    AXES,
    cross,
    dot,
    minus,
    nearest_axis,
    norm,
    parallel,
    sub,
    unit,
)

WIDEST = 10.0                            # what the flank of a common chamfer cutter reaches; wider is a ramp [mm]
STEEPEST = math.radians(80.0)            # the flat leans by less than this to either neighbour
SLIGHTEST = math.radians(10.0)           # and by more than this


def find(graph: Graph, left: set[int]) -> list[Feature]:
    """The chamfers among the faces that are left; those that join and measure the same are one."""
    one_by_one = {n: size for n in sorted(left) if (size := _chamfer(graph, graph.faces[n])) is not None}

    def joins(edge: Edge) -> bool:
        mine, other = (one_by_one[n] for n in edge.faces)
        return all(abs(mine[key] - other[key]) < 1e-3 for key in ("angle", "width"))

    out = []
    for group in graph.components(one_by_one, joins):
        lead = graph.faces[group[0]]
        size = dict(one_by_one[group[0]])
        size["length"] = sum(one_by_one[n]["length"] for n in group)
        out.append(Feature("", "chamfer", tuple(group), axis=_towards(lead), axis_point=lead.centroid, size=size))
    return out


def _towards(face: Face) -> Vector:
    if face.axis is None:
        return face.normal
    return face.axis if dot(face.axis, face.normal) > 0 else minus(face.axis)


def _chamfer(graph: Graph, face: Face) -> dict[str, float] | None:
    if face.kind == "plane" and not any(parallel(face.normal, axis) for axis in AXES):
        return None if _stands_on(graph, face) else _flat(graph, face)
    if face.kind == "cone":
        return _conical(graph, face)
    return None


def _stands_on(graph: Graph, face: Face) -> bool:
    """Whether a flat that hangs on nothing else ends the slope: then both are a step, however long the slope is."""
    ends = [far(edge, face.number) for edge in graph.at.get(face.number, ()) if edge.convexity == "concave"]
    return any(
        graph.faces[n].kind == "plane"
        and all(far(e, n) == face.number for e in graph.at.get(n, ()) if e.convexity != "convex") for n in ends
    )


def _flat(graph: Graph, face: Face) -> dict[str, float] | None:
    """Its two longest straight edges run parallel, are convex, and lean on two neighbours."""
    straight = [edge for edge in graph.at.get(face.number, ()) if edge.kind == "line"]
    pairs = [
        (one, other) for k, one in enumerate(straight) for other in straight[k + 1:]
        if parallel(_way(one), _way(other)) and _apart(one, other) > 1e-6
    ]
    if not pairs:
        return None
    one, other = max(pairs, key=lambda pair: min(pair[0].length, pair[1].length))
    if one.convexity != "convex" or other.convexity != "convex" or _apart(one, other) > WIDEST:
        return None
    if min(one.length, other.length) < _apart(one, other) / 2:
        return None
    lean = [_lean(face, graph.faces[far(edge, face.number)], edge) for edge in (one, other)]
    if not all(SLIGHTEST < angle < STEEPEST for angle in lean):
        return None
    angle = math.degrees(math.acos(min(dot(face.normal, nearest_axis(face.normal)), 1.0)))
    return {"angle": angle, "width": _leg(face, one, other), "length": max(one.length, other.length)}


def _way(edge: Edge) -> Vector:
    return unit(sub(edge.points[-1], edge.points[0]))


def _apart(one: Edge, other: Edge) -> float:
    return norm(cross(sub(other.points[0], one.points[0]), _way(one)))


def _lean(face: Face, neighbour: Face, edge: Edge) -> float:
    normal = neighbour.normal
    if neighbour.kind != "plane" and neighbour.axis is not None and neighbour.axis_point is not None:
        away = sub(edge.points[0], neighbour.axis_point)
        radial = sub(away, tuple(dot(away, neighbour.axis) * part for part in neighbour.axis))  # type: ignore[arg-type]
        normal = unit(minus(radial) if neighbour.hollow else radial) if norm(radial) > 1e-9 else normal
    return math.acos(max(-1.0, min(1.0, dot(face.normal, normal))))


def _leg(face: Face, one: Edge, other: Edge) -> float:
    """The width as the trade tells it: measured along the neighbour's face, not across the chamfer."""
    return _apart(one, other) * dot(face.normal, nearest_axis(face.normal))


def _conical(graph: Graph, face: Face) -> dict[str, float] | None:
    """A cone with convex edges all round, whose slope is short."""
    around = [edge for edge in graph.at.get(face.number, ()) if edge.convexity != "smooth"]
    if not around or any(edge.convexity != "convex" for edge in around) or face.axis is None:
        return None
    heights = [dot(point, face.axis) for loop in face.outlines for point in loop]
    angle = abs(face.half_angle or 0.0)
    tall = max(heights) - min(heights)
    if tall / max(math.cos(angle), 1e-9) > WIDEST or len(around) < 2:
        return None
    length = max(edge.length for edge in around)
    return {"angle": math.degrees(angle), "width": tall * math.tan(angle), "length": length}
