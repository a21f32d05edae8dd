"""Slots whose walls lean or step: vees, dovetails, T-slots; they run one way, out of one plane. mm, no kernel.

Source: own (the plane in which both loose ends of a chain of flats come out).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from firstoff.part import openings
from firstoff.part.graph import Graph, far
from firstoff.part.sections import coaxial
from firstoff.part.shapes import Face, Feature, Vector
from firstoff.part.vectors import ALIKE, along, cross, dot, minus, norm, parallel, same, span, square_to, sub, unit

LONG = 0.9                               # share of its length over which a slot is open at its mouth [1]
LEVEL = 1e-3                             # within which two mouths lie in one plane [mm]


class Trough(NamedTuple):
    """A chain of flats along one direction.

    Fields:
        run: the direction that it runs [1].
        mouth: the way out of it [1].
        edges: a point of each of its loose ends [mm].
    """

    run: Vector
    mouth: Vector
    edges: tuple[Vector, ...]


def find(graph: Graph, numbers: Iterable[int]) -> Trough | None:
    """What these flats make, if all run one way and both loose ends come out in one plane.

    Args:
        graph: the part's faces and edges.
        numbers: the flats of one recess; with anything round among them it is none.
    """
    own = sorted(numbers)
    faces = [graph.faces[n] for n in own]
    lines = [cross(faces[0].normal, face.normal) for face in faces[1:]]
    run = next((unit(line) for line in lines if norm(line) > ALIKE), None)
    if run is None or not all(face.kind == "plane" and square_to(face.normal, run) for face in faces):
        return None
    loose = [(graph.faces[far(edge, n)], edge) for n in own for edge, _ in openings.ends(graph, n)
             if edge.kind == "line" and far(edge, n) not in own
             and parallel(unit(sub(edge.points[-1], edge.points[0])), run)]
    if len(loose) < 2 or any(face.kind != "plane" for face, _ in loose):
        return None
    first = loose[0][0]
    level = all(same(face.normal, first.normal) and
                abs(dot(sub(face.centroid, first.centroid), first.normal)) < LEVEL for face, _ in loose)
    points = tuple(point for _, edge in loose for point in (edge.points[0], edge.points[-1]))
    (a, b), (c, d) = span(points, run), span(graph.points(own), run)
    if b - a < LONG * (d - c):
        return None                      # a passage, broken into for part of its length
    return Trough(run, first.normal, points) if level and _clear(graph, points, run, first.normal) else None


def _clear(graph: Graph, points: tuple[Vector, ...], run: Vector, mouth: Vector) -> bool:
    """Whether nothing stands over the middle of the mouth; a passage that another recess broke into has no mouth."""
    across = unit(cross(run, mouth))
    (a, b), (c, d), (_, top) = (span(points, way) for way in (across, run, mouth))
    reach = span([corner for face in graph.faces.values() for corner in (face.low, face.high)], run)
    middle = along(along(along((0.0, 0.0, 0.0), across, (a + b) / 2), mouth, top + LEVEL), run, (c + d) / 2)
    inside = [middle, along(middle, run, reach[0] * 0.5 + reach[1] * 0.5 - (c + d) / 2)]
    return all(openings.free(graph, point, mouth) for point in inside)


def leans(graph: Graph, numbers: Iterable[int], trough: Trough) -> bool:
    """Whether a wall is wider or narrower inside than at its mouth: a vee, a dovetail, a T."""
    return any(abs(dot(graph.faces[n].normal, trough.mouth)) > ALIKE
               and not same(graph.faces[n].normal, trough.mouth) for n in numbers)


def feature(graph: Graph, numbers: Iterable[int], trough: Trough) -> Feature:
    """The slot, its sizes told from its mouth; `inner_width` where it is wider inside, `angle` of a vee [degrees].

    Args:
        graph: the part's faces and edges.
        numbers: its flats.
        trough: what `find` says of them.
    """
    own = tuple(sorted(numbers))
    faces, points = [graph.faces[n] for n in own], graph.points(own)
    across = unit(cross(trough.run, trough.mouth))
    (a, b), (c, d), (low, high) = (span(points, way) for way in (trough.run, across, trough.mouth))
    left, right = span(trough.edges, across)
    size = {"length": b - a, "width": right - left, "depth": high - low}
    if d - c > right - left + LEVEL:
        size["inner_width"] = d - c
    if len(faces) == 2:
        size["angle"] = math.degrees(math.pi - math.acos(max(-1.0, min(1.0, dot(faces[0].normal, faces[1].normal)))))
    middle = [(a + b) / 2 * trough.run[k] + (left + right) / 2 * across[k] + high * trough.mouth[k] for k in range(3)]
    return Feature("", "slot", own, sides=len({_plane(face) for face in faces}), through=True, open=True,
                   axis=trough.mouth, axis_point=(middle[0], middle[1], middle[2]), size=size)


def _plane(face: Face) -> tuple[float, ...]:
    return (*(round(part, 4) + 0.0 for part in face.normal), round(dot(face.centroid, face.normal), 4) + 0.0)


def necked(graph: Graph, groups: list[list[int]]) -> list[list[int]]:
    """The groups, with two lone walls that face one another put to the wider recess below them that both border.

    Where that is a bore, they are a slit into it, and a group of their own.

    Args:
        graph: the part's faces and edges.
        groups: flats that hang together by concave edges.
    """
    lone = [group[0] for group in groups if len(group) == 1 and graph.faces[group[0]].kind == "plane"]
    out = [list(group) for group in groups]
    for k, one in enumerate(lone):
        for other in lone[k + 1:]:
            a, b = graph.faces[one], graph.faces[other]
            if not same(a.normal, minus(b.normal)) or dot(a.normal, sub(b.centroid, a.centroid)) < ALIKE:
                continue
            below = next((group for group in out if len(group) > 2
                          and all(_over(graph, wall, group) for wall in (one, other))
                          and _over_the_middle(graph, one, other, group)
                          and find(graph, (*group, one, other)) is not None), None)
            if below is not None or _slit(graph, one, other):
                out = [group for group in out if group not in ([one], [other])]
                if below is not None:
                    below += [one, other]
                else:
                    out.append([one, other])
    return out


def _over_the_middle(graph: Graph, one: int, other: int, group: list[int]) -> bool:
    """Whether a neck stands in the middle of what is below; else a slot happened to meet a passage."""
    across = graph.faces[one].normal
    neck = dot(graph.faces[one].centroid, across) + dot(graph.faces[other].centroid, across)
    return abs(sum(span(graph.points(group), across)) - neck) < LEVEL


def _slit(graph: Graph, one: int, other: int) -> bool:
    """Whether two walls come out in the same bore."""
    bores = [[face for n in _beside(graph, wall) if (face := graph.faces[n]).kind == "cylinder" and face.hollow]
             for wall in (one, other)]
    return any(coaxial(a, b) and a.radius == b.radius for a in bores[0] for b in bores[1])


def _beside(graph: Graph, wall: int) -> set[int]:
    return {far(edge, wall) for edge in graph.at.get(wall, ()) if edge.convexity == "convex"}


def _over(graph: Graph, wall: int, group: list[int]) -> bool:
    return not _beside(graph, wall).isdisjoint(group)
