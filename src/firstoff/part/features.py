"""Machining features from the faces and edges of a part. Pure geometry in mm, no kernel.

Every face comes to stand in exactly one feature. The order: holes; flats on the bounding box (stock);
convex roundings; chamfers; round bosses; then what hangs together by concave edges (see `regions.py`);
what remains is free form or not understood.

Source: joshi1988 (attributed adjacency graph); the order and the rules for names are our own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from firstoff.part import chamfers, graph, holes, regions, sections
from firstoff.part.graph import Graph, far
from firstoff.part.shapes import Edge, Face, Feature
from firstoff.part.vectors import AXES, along, clean, dot, parallel, same, span

ON_BOX = 1e-4                            # nearer to the bounding box than this is on it [mm]


def recognise(faces: Iterable[Face], edges: Iterable[Edge]) -> tuple[Feature, ...]:
    """The machining features of a part; every face is in one of them.

    Args:
        faces: all faces of the part, of one or more solids.
        edges: the edges between them.

    Returns:
        Features in order of kind and smallest face, with ids such as "hole-3".
    """
    faces, edges = tuple(faces), tuple(edges)
    found: list[Feature] = []
    for solid in sorted({face.solid for face in faces}):
        own = [face for face in faces if face.solid == solid]
        numbers = {face.number for face in own}
        found += _solid(graph.make(own, (edge for edge in edges if edge.faces[0] in numbers)))
    return named(found)


def _solid(whole: Graph) -> list[Feature]:
    left = set(whole.faces)
    found: list[Feature] = []

    def take(features: Iterable[Feature]) -> None:
        for feature in features:
            own = tuple(n for n in feature.faces if n in left)
            left.difference_update(own)
            if own:
                found.append(replace(feature, faces=own))

    take(holes.find(whole))
    take(_stock(whole, left))
    take(_roundings(whole, left))
    take(chamfers.find(whole, left))
    take(_bosses(whole, left))
    take(regions.find(whole, left))
    take(_rest(whole, left))
    return found


def _stock(whole: Graph, left: set[int]) -> list[Feature]:
    """Flats on the bounding box that face outwards: what the stock itself may leave."""
    out = []
    for n in sorted(left):
        face = whole.faces[n]
        axis = next((axis for axis in AXES if face.kind == "plane" and same(face.normal, axis)), None)
        if axis is None:
            continue
        outermost = max(dot(corner, axis) for f in whole.faces.values() for corner in (f.low, f.high))
        if outermost - dot(face.centroid, axis) < ON_BOX:
            out.append(Feature("", "stock", (n,), axis=axis, axis_point=face.centroid, size=_flat_size(whole, n)))
    return out


def _flat_size(whole: Graph, n: int) -> dict[str, float]:
    normal = whole.faces[n].normal
    sides = [axis for axis in AXES[::2] if not parallel(axis, normal)]
    reach = [high - low for low, high in (span(whole.points([n]), axis) for axis in sides)]
    return {"length": max(reach), "width": min(reach)}


def _roundings(whole: Graph, left: set[int]) -> list[Feature]:
    """Convex cylinders, tori and spheres that run smoothly into at least two neighbours."""

    def rounds(n: int) -> bool:
        face = whole.faces[n]
        smooth = {far(edge, n) for edge in whole.at.get(n, ()) if edge.convexity == "smooth"}
        part = face.kind in ("cylinder", "torus", "sphere") and (face.sweep or 0.0) < math.pi + 0.02
        return part and not face.hollow and len(smooth) >= 2

    members = [n for n in left if rounds(n)]
    def joins(edge: Edge) -> bool:
        one, other = (_radius(whole, n) for n in edge.faces)
        return edge.convexity == "smooth" and abs(one - other) < sections.APART

    groups = whole.components(members, joins)
    return [
        Feature("", "fillet", tuple(group), axis=whole.faces[group[0]].normal,
                axis_point=whole.faces[group[0]].centroid, size={"radius": _radius(whole, group[0])})
        for group in groups
    ]


def _radius(whole: Graph, n: int) -> float:
    face = whole.faces[n]
    return (face.minor_radius if face.kind == "torus" else face.radius) or 0.0


def _bosses(whole: Graph, left: set[int]) -> list[Feature]:
    """Round bosses, and the grooves turned into a round part."""
    rounds = [n for n in left if whole.faces[n].kind == "cylinder" and not whole.faces[n].hollow]

    def joins(edge: Edge) -> bool:
        one, other = (whole.faces[n] for n in edge.faces)
        return edge.convexity == "smooth" and sections.coaxial(one, other)

    out = []
    for group in whole.components(rounds, joins):
        face = whole.faces[group[0]]
        if face.axis is None or sum(whole.faces[n].sweep or 0.0 for n in group) < sections.FULL:
            continue
        low, high = span(whole.points(group), face.axis)
        walls = [n for n in _concave_flats(whole, group) if n in left and parallel(whole.faces[n].normal, face.axis)]
        size = {"diameter": 2 * (face.radius or 0.0), "height": high - low}
        if len(walls) == 2 and dot(whole.faces[walls[0]].normal, whole.faces[walls[1]].normal) < 0:
            size = {"diameter": size["diameter"], "width": size["height"]}
            out.append(Feature("", "groove", tuple(sorted([*group, *walls])), axis=face.axis, size=size))
        else:
            axis = _boss_axis(whole, group)
            place = face.axis_point or face.centroid
            top = along(place, axis, span(whole.points(group), axis)[1] - dot(place, axis))
            out.append(Feature("", "boss", tuple(group), axis=axis, axis_point=top, size=size))
    return out


def _concave_flats(whole: Graph, group: list[int]) -> list[int]:
    near = {far(edge, n) for n in group for edge in whole.at.get(n, ()) if edge.convexity == "concave"}
    return sorted(n for n in near if whole.faces[n].kind == "plane")


def _boss_axis(whole: Graph, group: list[int]) -> tuple[float, float, float]:
    """Away from the floor that the boss stands on; its own axis where it stands on none."""
    floors = _concave_flats(whole, group)
    axis = whole.faces[group[0]].axis or (0.0, 0.0, 1.0)
    return whole.faces[floors[0]].normal if floors and parallel(whole.faces[floors[0]].normal, axis) else axis


def _rest(whole: Graph, left: set[int]) -> list[Feature]:
    inside = [n for n in left if whole.faces[n].hollow and whole.faces[n].kind in ("cylinder", "torus", "sphere")]
    out = _inside_roundings(whole, inside)
    curved = [n for n in left if whole.faces[n].kind != "plane" and not any(n in f.faces for f in out)]
    for group in whole.components(curved, lambda edge: edge.convexity == "smooth"):
        radii = [_radius(whole, n) for n in group if _radius(whole, n) > 0.0 and whole.faces[n].kind != "cone"]
        size = {"smallest_radius": min(radii)} if radii else {}
        largest = max((whole.faces[n] for n in group), key=lambda face: face.area)
        axis, place = largest.normal, largest.centroid
        out.append(Feature("", "free_form", tuple(group), axis=axis, axis_point=place, size=size))
    for n in sorted(left):
        face = whole.faces[n]
        if face.kind == "plane" and (lower := regions.lower_flat(whole, n)):
            out += lower
        elif face.kind == "plane":
            out.append(Feature("", "not_understood", (n,), axis=face.normal, axis_point=face.centroid))
    return out


def _inside_roundings(whole: Graph, members: list[int]) -> list[Feature]:
    """Hollow roundings that no pocket took: they run smoothly into a neighbour."""

    def joins(edge: Edge) -> bool:
        one, other = (_radius(whole, n) for n in edge.faces)
        return edge.convexity == "smooth" and abs(one - other) < sections.APART

    out = []
    for group in whole.components(members, joins):
        if any(edge.convexity == "smooth" for n in group for edge in whole.at.get(n, ())):
            face = whole.faces[group[0]]
            out.append(Feature(
                "", "fillet", tuple(group), axis=face.normal, axis_point=face.centroid,
                size={"radius": _radius(whole, group[0])}, notes=("an inside corner",),
            ))
    return out


def named(found: Iterable[Feature]) -> tuple[Feature, ...]:
    """The features in order, with ids by kind and smallest face number, which a person can find again."""
    counts: dict[str, int] = {}
    out = []
    for feature in sorted(found, key=lambda f: (f.kind, min(f.faces))):
        counts[feature.kind] = counts.get(feature.kind, 0) + 1
        axis = None if feature.axis is None else clean(feature.axis)
        out.append(replace(feature, id=f"{feature.kind}-{counts[feature.kind]}", axis=axis))
    return tuple(out)
