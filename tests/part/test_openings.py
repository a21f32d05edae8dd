"""Where recesses are open: rays meet what stands in their way, and pieces cut apart are found again."""

from __future__ import annotations

from typing import Any

from firstoff.part import graph, openings
from firstoff.part.graph import Graph
from tests.part import models
from tests.part.test_features import understood
from tests.part.test_topology import faces_and_edges


def made(shape: Any) -> Graph:
    """The graph of a solid."""
    return graph.make(*faces_and_edges(shape))


def flat_at(whole: Graph, height: float) -> int:
    """The flat that looks up at a height."""
    (number,) = [n for n, f in whole.faces.items() if f.normal[2] > 0.9 and abs(f.centroid[2] - height) < 1e-6]
    return number


def test_a_ray_is_stopped_by_what_stands_in_its_way_and_by_nothing_behind_it() -> None:
    whole = made(models.box(10, 10, 10))
    assert not openings.free(whole, (5, 5, 20), (0, 0, -1))
    assert openings.free(whole, (5, 5, 20), (0, 0, 1))
    assert openings.free(whole, (5, 5, 20), (0, 0, -1), reach=9.9), "it ends before the block"
    assert openings.free(whole, (15, 15, 20), (0, 0, -1)), "past the block"


def test_a_hole_in_a_flat_lets_a_ray_through_its_plane() -> None:
    plate = made(models.without(models.box(20, 20, 2), models.box(6, 6, 4, (7, 7, -1))))
    assert openings.free(plate, (10, 10, 5), (0, 0, -1))
    assert not openings.free(plate, (3, 10, 5), (0, 0, -1))


def test_a_slot_is_free_at_both_ends_a_blind_one_at_one_a_pocket_nowhere() -> None:
    block = models.box(40, 30, 20)
    for start, length, count in ((-5, 50, 2), (-5, 25, 1), (10, 20, 0)):
        whole = made(models.without(block, models.box(length, 8, 30, (start, 10, 14))))
        ways = openings.free_ways(whole, [flat_at(whole, 14)])
        assert len(ways) == count
        assert openings.opposite(ways) == (count == 2)


def test_a_pocket_that_a_slot_broke_into_is_still_a_pocket() -> None:
    """The slot passes along a side of the pocket and takes its wall; beyond stands the slot's other wall."""
    block = models.without(models.box(40, 40, 20), models.box(50, 8, 30, (-5, 20, 8)))
    shape = models.without(block, models.box(12, 15, 30, (14, 8, 14)))
    found = {f.kind: f for f in understood(shape) if f.kind != "stock"}
    assert set(found) == {"slot", "pocket"}
    assert (found["pocket"].open, found["pocket"].sides) == (False, 4)
    assert found["slot"].through


def test_a_slot_that_another_cut_in_two_is_one_slot() -> None:
    block = models.without(models.box(40, 40, 20), models.box(50, 8, 30, (-5, 20, 14)))
    slots = [f for f in understood(models.without(block, models.box(6, 50, 30, (12, -5, 8)))) if f.kind == "slot"]
    assert sorted(len(slot.faces) for slot in slots) == [3, 6], "the deep one whole, the other in two pieces"
    assert all(slot.through for slot in slots)


def test_pockets_in_a_row_stay_apart() -> None:
    shape = models.without(models.box(60, 20, 20), *(models.box(10, 10, 30, (x, 5, 12)) for x in (5.0, 25.0, 45.0)))
    assert sum(f.kind == "pocket" for f in understood(shape)) == 3


def test_a_slope_that_a_flat_ends_is_a_step() -> None:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pnt, gp_Vec

    outline = BRepBuilderAPI_MakePolygon(gp_Pnt(-1, -1, 3), gp_Pnt(4, -1, 3), gp_Pnt(-1, 4, 3), True)
    wedge = BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(outline.Wire()).Face(), gp_Vec(0, 0, 30)).Shape()
    (step,) = [f for f in understood(models.without(models.box(20, 20, 20), wedge)) if f.kind != "stock"]
    assert (step.kind, step.sides, step.through, len(step.faces)) == ("step", 1, False, 2)
