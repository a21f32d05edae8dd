"""Where a recess is open: ways in which its floor or walls end and a tool could run on without cutting.

A floor or wall that ends at a convex edge ends there for one of two reasons: the recess runs out of the part, or
something else was cut through its side. Run on from that edge, in the plane of the face: where material stands in
the way, the recess cannot have come from there (it would have cut that, too), so it was broken into.

Source: vandenbrande1993 (the largest volume that fits without cutting what must stay); the rays are our own.
"""

from __future__ import annotations

from collections.abc import Iterable

from firstoff.part.graph import Graph, far
from firstoff.part.shapes import Edge, Face, Polyline, Vector
from firstoff.part.vectors import ALIKE, along, cross, distinct, dot, minus, norm, parallel, same, sub, unit

LIFT = 1e-3                              # how far above a face a ray runs [mm]
INSET = 0.01                             # how far from the rim of a flat lines to another begin [1]
FEW = 6                                  # how many of the shortest lines between two flats are tried
OFF_CORNER = (0.02, 0.5, 0.98)           # where along an edge rays start [1]


def free_ways(
    graph: Graph, numbers: Iterable[int], towards: Vector | None = None, walls: Iterable[int] = ()
) -> tuple[Vector, ...]:
    """The distinct ways in which these flats are open and nothing stands in the way.

    Args:
        graph: the part's faces and edges.
        numbers: the flats of one recess: its floors, or, where it has none, its walls.
        towards: for walls, the tool's direction, in which every wall is open; it does not count.
        walls: of a floor; where it ends in the plane of one of them, that wall was broken through.
    """
    own, walls, out = set(numbers), tuple(walls), []
    for n in sorted(own):
        for edge, way in ends(graph, n):
            upright = towards is not None and abs(dot(way, towards)) > ALIKE
            broken = any(_in_plane(edge, graph.faces[wall]) for wall in walls if graph.faces[wall].kind == "plane")
            if far(edge, n) not in own and not upright and not broken and not _stopped(graph, n, edge, way):
                out.append(way)
    return distinct(out)


def _in_plane(edge: Edge, face: Face) -> bool:
    return all(abs(dot(sub(point, face.centroid), face.normal)) < ALIKE for point in edge.points)


def opposite(ways: Iterable[Vector]) -> bool:
    """Whether two of the ways are opposite."""
    ways = tuple(ways)
    return any(same(one, minus(other)) for k, one in enumerate(ways) for other in ways[k + 1:])


def ends(graph: Graph, n: int) -> list[tuple[Edge, Vector]]:
    """The convex edges of a flat, each with the way out over it in the plane of the flat."""
    face, out = graph.faces[n], []
    for edge in graph.at.get(n, ()):
        normal = _normal_at(graph.faces[far(edge, n)], edge)
        lean = along(normal, face.normal, -dot(normal, face.normal))
        if edge.convexity == "convex" and norm(lean) > ALIKE:
            out.append((edge, unit(lean)))
    return out


def _normal_at(face: Face, edge: Edge) -> Vector:
    """A face's normal near an edge; of a round one, at the middle of the edge."""
    if face.kind == "plane" or face.axis is None or face.axis_point is None:
        return face.normal
    away = sub(edge.points[len(edge.points) // 2], face.axis_point)
    radial = along(away, face.axis, -dot(away, face.axis))
    if norm(radial) < 1e-9:
        return face.normal
    return unit(minus(radial) if face.hollow else radial)


def _stopped(graph: Graph, n: int, edge: Edge, way: Vector) -> bool:
    """Whether material stands in the way of a ray over the edge."""
    first, last = edge.points[0], edge.points[-1]
    if edge.kind != "line":
        return not free(graph, along(edge.points[len(edge.points) // 2], graph.faces[n].normal, LIFT), way)
    starts = (along(first, sub(last, first), share) for share in OFF_CORNER)
    return not all(free(graph, along(start, graph.faces[n].normal, LIFT), way) for start in starts)


def free(graph: Graph, start: Vector, way: Vector, reach: float = float("inf")) -> bool:
    """Whether a ray meets no face of the part within `reach` [mm]; round faces count with their boxes.

    Args:
        graph: the part's faces and edges.
        start: where the ray begins, outside the material [mm].
        way: its direction, a unit vector.
        reach: its length [mm].
    """
    return not any(_meets(face, start, way, reach) for face in graph.faces.values())


def _meets(face: Face, start: Vector, way: Vector, reach: float) -> bool:
    if face.kind != "plane":
        return _through_box(face, start, way, reach)
    slope = dot(face.normal, way)
    if abs(slope) < ALIKE:
        return False
    t = dot(sub(face.centroid, start), face.normal) / slope
    return LIFT < t < reach and _inside(along(start, way, t), face)


def _through_box(face: Face, start: Vector, way: Vector, reach: float) -> bool:
    low, high = LIFT, reach
    for k in range(3):
        if abs(way[k]) < 1e-12:
            if not face.low[k] < start[k] < face.high[k]:
                return False
            continue
        one, other = (face.low[k] - start[k]) / way[k], (face.high[k] - start[k]) / way[k]
        low, high = max(low, min(one, other)), min(high, max(one, other))
    return low < high


def _inside(point: Vector, face: Face) -> bool:
    """Whether a point of the face's plane lies within its outlines (odd number of crossings)."""
    skip = max(range(3), key=lambda k: abs(face.normal[k]))
    i, j = (k for k in range(3) if k != skip)
    if not all(face.low[k] - 1e-9 <= point[k] <= face.high[k] + 1e-9 for k in (i, j)):
        return False
    return sum(_crossings(point, loop, i, j) for loop in face.outlines) % 2 == 1


def _crossings(point: Vector, loop: Polyline, i: int, j: int) -> int:
    count = 0
    for one, other in zip(loop, (*loop[1:], loop[0]), strict=True):
        if (one[j] > point[j]) != (other[j] > point[j]):
            at = one[i] + (point[j] - one[j]) / (other[j] - one[j]) * (other[i] - one[i])
            count += at > point[i]
    return count


def missing_sides(graph: Graph, walls: Iterable[int], towards: Vector) -> int:
    """How many walls a recess lost where it was broken into: one where the walls beside the gap do not meet.

    Args:
        graph: the part's faces and edges.
        walls: the walls that are left.
        towards: the tool's direction.
    """
    walls = set(walls)
    planes = distinct(graph.faces[n].normal for n in walls)
    loose = _loose(graph, walls, towards)
    if len(loose) != 2:
        return 0 if len(planes) > 2 else 2 if len(planes) < 2 or parallel(planes[0], planes[1]) else 1
    return 0 if _meeting(loose, towards) else 1


def closes_itself(graph: Graph, walls: Iterable[int], towards: Vector) -> bool:
    """Whether the walls beside the one gap of a recess, run on, meet within the part's own box.

    Args:
        graph: the part's faces and edges.
        walls: the walls of the recess.
        towards: the tool's direction.
    """
    point = _meeting(_loose(graph, set(walls), towards), towards)
    if point is None:
        return False
    low = [min(face.low[k] for face in graph.faces.values()) for k in range(3)]
    high = [max(face.high[k] for face in graph.faces.values()) for k in range(3)]
    return all(low[k] + LIFT < point[k] < high[k] - LIFT for k in range(3) if abs(towards[k]) < 0.5)


def _loose(graph: Graph, walls: set[int], towards: Vector) -> list[tuple[Vector, Vector]]:
    """Where flat walls end beside a gap, and the way on."""
    out: list[tuple[Vector, Vector]] = []
    for n in sorted(walls):
        if graph.faces[n].kind != "plane":
            continue
        for edge, way in ends(graph, n):
            if far(edge, n) not in walls and abs(dot(way, towards)) < ALIKE:
                out.append((edge.points[0], way))
    return out


def _meeting(loose: list[tuple[Vector, Vector]], towards: Vector) -> Vector | None:
    """Where two walls run on to, seen along the tool; None where they part or run side by side."""
    if len(loose) != 2:
        return None
    (p, a), (q, b) = loose
    turn = dot(cross(a, b), towards)
    if abs(turn) < ALIKE:
        return None
    gap = sub(q, p)
    s, t = dot(cross(gap, b), towards) / turn, dot(cross(gap, a), towards) / turn
    return along(p, a, s) if s > -LIFT and t > -LIFT else None


def air_between(graph: Graph, one: int, other: int) -> bool:
    """Whether some straight line leads from one flat to another in the same plane through nothing but air.

    Args:
        graph: the part's faces and edges.
        one: a flat.
        other: another in its plane.
    """
    lines = [(p, q) for p in _inner_points(graph, one) for q in _inner_points(graph, other)]
    for p, q in sorted(lines, key=lambda line: norm(sub(line[1], line[0])))[:FEW]:
        way = sub(q, p)
        if norm(way) < ALIKE or free(graph, along(p, graph.faces[one].normal, LIFT), unit(way), norm(way)):
            return True
    return False


def looks_out(graph: Graph, n: int) -> bool:
    """Whether a flat sees out of the part from somewhere along its rim.

    Args:
        graph: the part's faces and edges.
        n: the flat.
    """
    normal = graph.faces[n].normal
    return any(free(graph, along(point, normal, LIFT), normal) for point in _inner_points(graph, n))


def _inner_points(graph: Graph, n: int) -> list[Vector]:
    """The middles of the flat's sides, drawn a little towards its own middle."""
    loop = graph.faces[n].outlines[0]
    middles = (along(one, sub(other, one), 0.5) for one, other in zip(loop, (*loop[1:], loop[0]), strict=True))
    return [along(point, sub(graph.faces[n].centroid, point), INSET) for point in middles]
