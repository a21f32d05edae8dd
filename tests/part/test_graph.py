"""Groups of faces that hang together."""

from __future__ import annotations

from firstoff.part import graph
from tests.part import models


def whole(name: str) -> graph.Graph:
    """The graph of an example part."""
    part = models.example(name)
    return graph.make(part.faces, part.edges)


def test_all_faces_of_a_solid_hang_together() -> None:
    for name in models.NAMES:
        made = whole(name)
        assert made.components(made.faces, lambda edge: True) == [sorted(made.faces)]
        assert made.components(made.faces, lambda edge: False) == [[n] for n in sorted(made.faces)]


def test_groups_are_a_partition_and_edges_within_them_join() -> None:
    made = whole("body")
    groups = made.components(made.faces, lambda edge: edge.convexity == "concave")
    assert sorted(n for group in groups for n in group) == sorted(made.faces)
    where = {n: k for k, group in enumerate(groups) for n in group}
    for edges in made.at.values():
        for edge in edges:
            assert edge.convexity != "concave" or where[edge.faces[0]] == where[edge.faces[1]]


def test_far_and_between() -> None:
    made = whole("cap")
    for n, edges in made.at.items():
        for edge in edges:
            assert edge in made.edges_between(n, graph.far(edge, n))
            assert graph.far(edge, graph.far(edge, n)) == n
