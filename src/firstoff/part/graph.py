"""The adjacency graph of a part's faces: nodes are faces, arcs are edges with their convexity.

Source: joshi1988 (attributed adjacency graph).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from firstoff.part.shapes import Edge, Face, Vector


@dataclass(frozen=True)
class Graph:
    """Faces by number, and the edges at each face."""

    faces: dict[int, Face]
    at: dict[int, tuple[Edge, ...]]

    def edges_between(self, one: int, other: int) -> list[Edge]:
        """The edges that two faces share."""
        return [edge for edge in self.at.get(one, ()) if other in edge.faces]

    def points(self, numbers: Iterable[int]) -> list[Vector]:
        """All outline points of these faces [mm]."""
        return [point for n in numbers for loop in self.faces[n].outlines for point in loop]

    def components(self, numbers: Iterable[int], joins: Callable[[Edge], bool]) -> list[list[int]]:
        """The numbers in groups that hang together by edges for which `joins` holds, each group sorted."""
        left, out = set(numbers), []
        while left:
            group, front = set(), [min(left)]
            while front:
                face = front.pop()
                if face in group:
                    continue
                group.add(face)
                near = (edge for edge in self.at.get(face, ()) if far(edge, face) in left)
                front.extend(far(edge, face) for edge in near if joins(edge))
            left -= group
            out.append(sorted(group))
        return out


def make(faces: Iterable[Face], edges: Iterable[Edge]) -> Graph:
    """The graph of these faces and edges."""
    at: dict[int, list[Edge]] = {}
    for edge in edges:
        for face in set(edge.faces):
            at.setdefault(face, []).append(edge)
    return Graph({face.number: face for face in faces}, {face: tuple(own) for face, own in at.items()})


def far(edge: Edge, face: int) -> int:
    """The face on the other side of the edge."""
    return edge.faces[1] if edge.faces[0] == face else edge.faces[0]
