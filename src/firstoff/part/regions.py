"""Pockets, passages, slots, steps and ramps: flats and hollow corners that hang together by concave edges.

A group is looked at along each direction from which a tool might come. Seen so, a face is a wall, a floor,
a rounded corner, or does not fit; the direction that fits best names the feature, and a flat that fits
nowhere is a ramp, with the rest of the group looked at again.

Source: joshi1988 (concave groups of the attributed adjacency graph); choice of direction is our own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from firstoff.part import openings, troughs
from firstoff.part.graph import Graph, far
from firstoff.part.shapes import Edge, Face, Feature, FeatureKind, Vector
from firstoff.part.vectors import (
    ALIKE,
    AXES,
    cross,
    distinct,
    dot,
    minus,
    nearest_axis,
    norm,
    parallel,
    same,
    span,
    square_to,
    sub,
    unit,
)

ROUND = 0.01                             # within which the rounds at a slot's ends are as wide as it is [mm]


@dataclass(frozen=True)
class _Look:
    """A group of faces seen along a direction (towards the tool)."""

    towards: Vector
    walls: tuple[int, ...]
    floors: tuple[int, ...]
    corners: tuple[int, ...]             # rounded transitions between floor and wall
    misfits: tuple[int, ...]
    ceilings: int                        # flats that look away from the tool: no tool cuts them so
    floor_area: float                    # [mm2]


def find(graph: Graph, left: set[int]) -> list[Feature]:
    """The features made of the flats and hollow corners that are left."""
    members = {n for n in left if _fits_somewhere(graph, n)}
    out: list[Feature] = []
    groups = troughs.necked(graph, graph.components(members, lambda edge: _joins(graph, edge)))
    for group in _rejoined(graph, groups):
        out += _understand(graph, group)
    return out


def _rejoined(graph: Graph, groups: list[list[int]]) -> list[list[int]]:
    """Pieces of one recess that another one cut apart: they share a plane, with nothing but air between.

    Taken together only where all of them fit one direction of the tool.
    """
    groups, k = list(groups), 0
    while k < len(groups):
        for m in range(k + 1, len(groups)):
            both = sorted((*groups[k], *groups[m]))
            if _cut_apart(graph, groups[k], groups[m]) and not _best(graph, both).misfits:
                groups[k] = both
                del groups[m]
                break
        else:
            k += 1
    return groups


def _cut_apart(graph: Graph, one: list[int], other: list[int]) -> bool:
    if len(one) == len(other) == 1:
        return False                     # two flats at one height are two flats
    planes: dict[tuple[float, ...], list[int]] = {}
    for n in one:
        if graph.faces[n].kind == "plane":
            planes.setdefault(_plane(graph.faces[n]), []).append(n)
    pairs = [(n, m) for m in other if graph.faces[m].kind == "plane" for n in planes.get(_plane(graph.faces[m]), ())]
    return any(openings.air_between(graph, n, m) for n, m in pairs)


def _fits_somewhere(graph: Graph, n: int) -> bool:
    """A flat, a hollow corner, or part of a pillar that stands in a recess."""
    face = graph.faces[n]
    if face.kind == "cylinder" and not face.hollow:
        return any(edge.convexity == "concave" for edge in graph.at.get(n, ()))
    return face.kind == "plane" or (face.hollow and face.kind in ("cylinder", "torus", "sphere"))


def _joins(graph: Graph, edge: Edge) -> bool:
    return edge.convexity == "concave" or (
        edge.convexity == "smooth" and any(graph.faces[n].hollow for n in edge.faces)
    )


def _understand(graph: Graph, group: list[int]) -> list[Feature]:
    """One feature where all faces fit the best look; else its ramps, and the rest seen from the same side."""
    if len(group) == 1 and (slope := _ramp(graph, group[0])):
        return slope
    best = _best(graph, group)
    if not best.misfits:
        return [_feature(graph, best)]
    out = [feature for n in best.misfits for feature in _ramp(graph, n)]
    rest = [n for n in group if n not in best.misfits]
    for part in graph.components(rest, lambda edge: _joins(graph, edge)):
        look = _look(graph, part, best.towards)
        if not look.misfits:
            out += _closed_by_ramps(graph, [_feature(graph, look)], best.misfits)
    return out


def _best(graph: Graph, group: list[int]) -> _Look:
    return max((_look(graph, group, way) for way in _ways(graph, group)), key=_merit)


def _closed_by_ramps(graph: Graph, features: list[Feature], ramps: tuple[int, ...]) -> list[Feature]:
    """An open ring of walls that ramps close is a passage, not a slot."""
    out = []
    for feature in features:
        inner = [(edge, n) for n in feature.faces for edge in graph.at.get(n, ()) if edge.convexity == "concave"]
        touching = {far(edge, n) for edge, n in inner}
        closing = [n for n in sorted(touching & set(ramps)) if not _leans_on(graph, n, feature.faces)]
        if closing and feature.kind == "slot" and feature.through:
            text = "a slanting face closes one side"
            feature = replace(feature, kind="passage", open=False, notes=(*feature.notes, text))
        out.append(feature)
    return out


def _leans_on(graph: Graph, n: int, faces: Iterable[int]) -> bool:
    """Whether a face is the slanting top of a rib whose sides are among the faces."""
    faces = set(faces)
    return any(edge.convexity == "convex" and far(edge, n) in faces for edge in graph.at.get(n, ()))


def _ramp(graph: Graph, n: int) -> list[Feature]:
    """A slanting flat; what is curved, or looks away from the tool, is left to others."""
    face = graph.faces[n]
    if face.kind != "plane" or any(parallel(face.normal, axis) for axis in AXES):
        return []
    nearest = nearest_axis(face.normal)
    across = unit(cross(face.normal, nearest))
    points = graph.points([n])
    low, high = span(points, across)
    up = cross(face.normal, across)
    start, end = span(points, up)
    angle = math.degrees(math.acos(min(dot(face.normal, nearest), 1.0)))
    size = {"angle": angle, "width": high - low, "length": end - start}
    return [Feature("", "ramp", (n,), open=True, axis=face.normal, axis_point=face.centroid, size=size)]


def lower_flat(graph: Graph, n: int) -> list[Feature]:
    """A step, where a flat square to one of the part's axes looks out of the part, whatever rises beside it."""
    face = graph.faces[n]
    if not any(same(face.normal, axis) for axis in AXES) or not openings.looks_out(graph, n):
        return []
    return [_feature(graph, _look(graph, [n], face.normal))]


def _ways(graph: Graph, group: Iterable[int]) -> tuple[Vector, ...]:
    """Directions worth trying: axes of corners, normals of flats, lines where flats meet, the part's axes."""
    faces = [graph.faces[n] for n in group]
    ways = [face.normal for face in faces if face.kind == "plane"]
    axes = [face.axis for face in faces if face.kind == "cylinder" and face.axis is not None]
    ways += [way for axis in axes for way in (axis, minus(axis))]
    planes = distinct(face.normal for face in faces if face.kind == "plane")
    for k, one in enumerate(planes[:12]):
        for other in planes[k + 1: 12]:
            line = cross(one, other)
            if norm(line) > 1e-3:
                ways += [unit(line), minus(unit(line))]
    return distinct([*AXES, *ways])


def _look(graph: Graph, group: Iterable[int], towards: Vector) -> _Look:
    kinds: dict[str, list[int]] = {"wall": [], "floor": [], "corner": [], "misfit": []}
    for n in group:
        kinds[_role(graph.faces[n], towards)].append(n)
    area = sum(graph.faces[n].area for n in kinds["floor"])
    if kinds["corner"] and not kinds["floor"]:
        kinds["misfit"] += kinds.pop("corner")
    ceilings = sum(1 for n in kinds["misfit"] if dot(graph.faces[n].normal, towards) < -ALIKE)
    return _Look(
        towards, tuple(kinds["wall"]), tuple(kinds["floor"]), tuple(kinds.get("corner", ())),
        tuple(sorted(kinds["misfit"])), ceilings, area,
    )


def _role(face: Face, towards: Vector) -> str:
    if face.kind == "plane":
        if same(face.normal, towards):
            return "floor"
        return "wall" if square_to(face.normal, towards) else "misfit"
    if face.axis is not None and face.kind == "cylinder":
        return "wall" if parallel(face.axis, towards) else "corner" if square_to(face.axis, towards) else "misfit"
    ring = face.axis is not None and parallel(face.axis, towards)
    return "corner" if face.kind == "sphere" or ring else "misfit"


def _merit(look: _Look) -> tuple[float, ...]:
    """No ceilings; fewest misfits; a floor, square to the part's own axes, and large; upwards first."""
    order = next((k for k, axis in enumerate(AXES) if same(axis, look.towards)), len(AXES))
    floor = float(bool(look.floors)), float(order < len(AXES)), round(look.floor_area, 3)
    return -float(look.ceilings), -float(len(look.misfits)), *floor, -float(order)


def _feature(graph: Graph, look: _Look) -> Feature:
    faces = tuple(sorted((*look.walls, *look.floors, *look.corners)))
    trough = troughs.find(graph, faces) if len(faces) > 1 else None
    if trough is not None and troughs.leans(graph, faces, trough):
        return troughs.feature(graph, faces, trough)
    kind, through, is_open = _kind(graph, look)
    sides = len(_planes(graph, look.walls))
    if kind in ("pocket", "passage") and not is_open and not _closed(graph, look):
        sides += openings.missing_sides(graph, look.walls, look.towards)
    notes = ("floors at several heights",) if len(_levels(graph, look)) > 1 else ()
    return Feature(
        "", kind, faces, sides=sides, through=through, open=is_open, axis=look.towards,
        axis_point=_middle(graph, look), size=_size(graph, look, kind), notes=notes,
    )


def _kind(graph: Graph, look: _Look) -> tuple[FeatureKind, bool, bool]:
    """(kind, through, open) by whether the walls close, face one another, or stand alone."""
    closed = _closed(graph, look)
    if closed and _round_ended(graph, look):
        return "slot", not look.floors, False
    if look.floors and _opposed(graph, look.walls) and _face_outwards(graph, look):
        return "boss", False, True
    if closed:
        return ("pocket", False, False) if look.floors else ("passage", True, False)
    facing = _facing(graph, look.walls)
    if look.floors:
        ways = openings.free_ways(graph, look.floors, walls=look.walls)
    else:
        ways = openings.free_ways(graph, look.walls, look.towards)
    shut = not ways or openings.closes_itself(graph, look.walls, look.towards)
    if look.walls and shut and (look.floors or len(look.walls) > 1):
        return ("pocket", False, False) if look.floors else ("passage", True, False)
    if not look.floors:
        return ("slot", True, True) if facing or not _has_axis_wall(graph, look) else ("step", True, True)
    if openings.opposite(ways):
        return ("slot", True, True) if facing or (look.walls and len(ways) == 2) else ("step", True, True)
    if facing or (look.walls and len(ways) == 1):
        return "slot", False, True
    return "step", not look.walls, True


def _round_ended(graph: Graph, look: _Look) -> bool:
    """Two walls that face one another, and half a round at each end."""
    flats = [n for n in look.walls if graph.faces[n].kind == "plane"]
    rounds = [graph.faces[n] for n in look.walls if graph.faces[n].kind == "cylinder"]
    if len(_planes(graph, flats)) != 2 or not _facing(graph, flats) or not rounds:
        return False
    one = graph.faces[flats[0]]
    width = max(abs(dot(one.normal, sub(graph.faces[n].centroid, one.centroid))) for n in flats)
    return all(face.hollow and abs(2 * (face.radius or 0.0) - width) < ROUND for face in rounds)


def _planes(graph: Graph, numbers: Iterable[int]) -> set[tuple[float, ...]]:
    """The planes of the flats among these faces: pieces of one wall count once."""
    return {_plane(graph.faces[n]) for n in numbers if graph.faces[n].kind == "plane"}


def _plane(face: Face) -> tuple[float, ...]:
    return (*(round(part, 4) + 0.0 for part in face.normal), round(dot(face.centroid, face.normal), 4) + 0.0)


def _closed(graph: Graph, look: _Look) -> bool:
    """Whether the walls close in a ring; pieces of one wall count as one."""
    walls = {n: _plane(f) if (f := graph.faces[n]).kind == "plane" else (float(n),) for n in look.walls}
    near: dict[tuple[float, ...], set[tuple[float, ...]]] = {plane: set() for plane in walls.values()}
    for n, plane in walls.items():
        beside = [edge for edge in graph.at.get(n, ()) if far(edge, n) in walls and far(edge, n) != n]
        near[plane] |= {walls[far(e, n)] for e in beside if e.convexity != "convex" or _between_arcs(graph, e)}
        if (graph.faces[n].sweep or 0.0) > 2 * math.pi - 0.02:
            return True
        if any(len(graph.edges_between(n, far(edge, n))) >= 2 and len(near[plane]) == 1 for edge in beside):
            return True
    return any(min(len(near[plane] - {plane}) for plane in chain) >= 2 for chain in _chains(near))


def _chains(near: dict[tuple[float, ...], set[tuple[float, ...]]]) -> list[set[tuple[float, ...]]]:
    left, out = set(near), []
    while left:
        chain, front = set(), [left.pop()]
        while front:
            plane = front.pop()
            chain.add(plane)
            front += near[plane] & left
            left -= near[plane]
        out.append(chain)
    return out


def _between_arcs(graph: Graph, edge: Edge) -> bool:
    return all(graph.faces[n].kind == "cylinder" for n in edge.faces)


def _face_outwards(graph: Graph, look: _Look) -> bool:
    """Walls round an island, or on both sides of a rib, look away from their middle."""
    faces = [graph.faces[n] for n in look.walls]
    total = sum(face.area for face in faces)
    x, y, z = (sum(face.area * face.centroid[k] for face in faces) / total for k in range(3))
    return sum(face.area * dot(face.normal, sub(face.centroid, (x, y, z))) for face in faces) > 0.0


def _opposed(graph: Graph, walls: Iterable[int]) -> bool:
    ways = _flat_ways(graph, walls)
    return any(same(one, minus(other)) for k, one in enumerate(ways) for other in ways[k + 1:])


def _facing(graph: Graph, walls: Iterable[int]) -> bool:
    """Whether two walls look at one another; those of a rib or an island look away from one another."""
    flats = [graph.faces[n] for n in walls if graph.faces[n].kind == "plane"]
    return any(same(one.normal, minus(other.normal)) and dot(one.normal, sub(other.centroid, one.centroid)) > ALIKE
               for k, one in enumerate(flats) for other in flats[k + 1:])


def _flat_ways(graph: Graph, walls: Iterable[int]) -> tuple[Vector, ...]:
    return distinct(graph.faces[n].normal for n in walls if graph.faces[n].kind == "plane")


def _has_axis_wall(graph: Graph, look: _Look) -> bool:
    return any(parallel(axis, way) for way in _flat_ways(graph, look.walls) for axis in AXES)


def _levels(graph: Graph, look: _Look) -> set[float]:
    return {round(dot(graph.faces[n].centroid, look.towards), 3) for n in look.floors}


def _middle(graph: Graph, look: _Look) -> Vector:
    """Where the tool comes in: over the middle of the group, at its top."""
    points = graph.points((*look.walls, *look.floors))
    low = [min(p[k] for p in points) for k in range(3)]
    high = [max(p[k] for p in points) for k in range(3)]
    centre = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (low[2] + high[2]) / 2)
    top = span(points, look.towards)[1] - dot(centre, look.towards)
    return tuple(c + top * t + 0.0 for c, t in zip(centre, look.towards, strict=True))  # type: ignore[return-value]


def _size(graph: Graph, look: _Look, kind: FeatureKind) -> dict[str, float]:
    """Length, width and depth seen along the tool; radii of the hollow corners.

    A step has its depth at the wall and its width from the wall outwards. A flat that stands alone has
    its depth below the highest point of the part.
    """
    lengthwise = _lengthwise(graph, look, kind)
    points = graph.points((*look.walls, *look.floors))
    reach = [high - low for low, high in (span(points, way) for way in (lengthwise, cross(look.towards, lengthwise)))]
    low, high = span(points, look.towards)
    if not look.walls:
        high = span((p for n in graph.faces for p in graph.points([n])), look.towards)[1]
    if kind == "slot" and _facing(graph, look.walls):
        size = {"length": reach[0], "width": reach[1]}
    elif kind == "step":
        size = {"length": reach[0], "width": reach[1]} if look.walls else {"length": max(reach), "width": min(reach)}
    else:
        size = {"length": max(reach), "width": min(reach)}
    size["depth"] = high - low
    return size | _radii(graph, look)


def _lengthwise(graph: Graph, look: _Look, kind: FeatureKind) -> Vector:
    """Along the largest flat wall; without one, along the part."""
    flats = [graph.faces[n] for n in look.walls if graph.faces[n].kind == "plane"]
    paired = [face for face in flats if any(same(face.normal, minus(other.normal)) for other in flats)]
    if kind == "slot" and paired:
        flats = paired
    if flats:
        return unit(cross(look.towards, max(flats, key=lambda face: face.area).normal))
    return next(axis for axis in AXES[2:] + AXES[:2] if not parallel(axis, look.towards))


def _radii(graph: Graph, look: _Look) -> dict[str, float]:
    walls = [graph.faces[n].radius or 0.0 for n in look.walls if graph.faces[n].kind == "cylinder"]
    floors = [
        (face.minor_radius if face.kind == "torus" else face.radius) or 0.0
        for face in (graph.faces[n] for n in look.corners)
    ]
    size = {"corner_radius": min(walls)} if walls else {}
    return size | ({"floor_radius": min(floors)} if floors else {})
