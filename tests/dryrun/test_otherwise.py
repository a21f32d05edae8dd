"""Other ways within a part: every one is an edit that a route takes, and the size follows from the edited route."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.checks.size import bounds, chance_by_row, expected
from firstoff.dryrun.choosing import thinned
from firstoff.dryrun.otherwise import (
    LEAST_CUT,
    LEFT,
    Otherwise,
    changed,
    in_its_part,
    lapped,
    lies_on_a_plate,
    numbers_after,
    numbers_before,
    only_those,
    set_by_reading,
)
from firstoff.dryrun.walk import walk
from firstoff.job.edits import apply_edits
from firstoff.job.possible import route_can_be
from firstoff.job.route import Route
from firstoff.part.shapes import Part
from tests.checks import builders
from tests.dryrun import stacked


def limit(name: str, tolerance: str = "±0.02 mm", planned: Route | None = None, part: Part | None = None) -> Case:
    parts = {"block": part or builders.block()}
    cases = walk(stacked.job(tolerance), stacked.SHOP, planned or stacked.route(), parts)
    return next(case for case in cases if case.name == name)


def chance(case: Case) -> float:
    found = expected(case, stacked.belief())
    assert case.limit is not None
    return float(chance_by_row(found, stacked.belief(), *bounds(case.limit)).mean())


def made(case: Case, way: Otherwise) -> Case:
    """The same limit on the edited route, which is one that a route can be."""
    route = apply_edits(case.route, way.edits)
    route_can_be(route, case.job, case.shop, case.parts)
    then = walk(case.job, case.shop, route, case.parts)
    return next(one for one in then if one.name == case.name and one.subject == "limit")


def test_the_last_cut_is_set_by_a_reading_while_it_is_clamped() -> None:
    case = limit("height")
    way = set_by_reading(case, expected(case, stacked.belief()))
    assert way is not None and way.text.startswith("leave 0.2 mm at under, measure with the micrometer")
    then = made(case, way)
    first, last = then.route.operations["under-first"], then.route.operations["under"]
    assert first.leaves == last.removes == LEFT and first.number < last.number and first.measure == ("height",)
    assert first.removes + last.removes == pytest.approx(case.route.operations["under"].removes)
    assert last.cut.depth_of_cut == LEFT, "no deeper than what is left"
    assert first.cut.depth_of_cut == pytest.approx(first.removes), "nor than what comes off"
    assert expected(then, stacked.belief()).found.measured == "under-first" and chance(then) < chance(case)


def test_where_stock_is_left_already_only_the_measuring_is_new() -> None:
    route = stacked.route()
    rough = route.operations["under"].model_copy(update={"number": 55, "leaves": 0.2, "measure": ("width",)})
    case = limit("height", planned=route.model_copy(update={"operations": {**route.operations, "rough": rough}}))
    way = set_by_reading(case, expected(case, stacked.belief()))
    assert way is not None and dict(way.edits) == {"operations.rough.measure": '["width", "height"]'}
    assert way.text == "measure with the micrometer after rough, and set the last cut by it"
    assert set_by_reading(made(case, way), expected(made(case, way), stacked.belief())) is None, "it is measured now"


def test_both_faces_in_one_setting_with_one_cutter() -> None:
    route = stacked.route()
    moved = route.operations["side-4"].model_copy(update={"setting": "second", "number": 70, "tool": "em10"})
    split = route.model_copy(update={"operations": {**route.operations, "side-4": moved}})
    block = builders.block()
    open_ = tuple(replace(f, access=(*f.access, (0.0, 0.0, -1.0))) for f in block.features)
    case = limit("width", planned=split, part=replace(block, features=open_))
    ways = list(in_its_part(case, expected(case, stacked.belief()), thinned(stacked.belief())))
    way = next(one for one in ways if "in setting second with one cutter" in one.text)
    then = made(case, way)
    early = then.route.operations["side-3"]
    assert (early.setting, early.tool, early.number, early.role) == ("second", "em10", 69, "side_finish")
    assert chance(then) < chance(case)


def test_a_hole_moves_by_its_spot_alone_and_leaves_the_others_where_they_are() -> None:
    route = Route.model_validate({"settings": {"first": builders.setting()}, "operations": {
        "spot": builders.operation(number=10, features=["a", "b"], role="spot")}})
    case = replace(limit("height"), route=route)
    edits = dict(only_those(case, "spot", ("b",), number=20))
    assert edits["operations.spot.features"] == '["a"]' and "number = 20" in edits["operations.spot-b"]
    assert dict(only_those(case, "spot", ("b", "a"), number=20)) == {
        "operations.spot.features": '["a", "b"]', "operations.spot.number": "20"}


def test_lapped_until_it_reads_right() -> None:
    case = limit("height")
    way = lapped(case, expected(case, stacked.belief()))
    assert way is not None and "for the lap at under, and lap it until the micrometer reads right" in way.text
    then = made(case, way)
    under, lap = then.route.operations["under"], then.route.operations["under-lap"]
    assert lap.role == "lap" and lap.removes == under.leaves and under.removes >= LEAST_CUT
    assert under.leaves + under.removes == pytest.approx(case.route.operations["under"].removes)
    assert then.route.settings[lap.setting].machine == "bench" and chance(then) < 0.1 * chance(case)
    assert lapped(then, expected(then, stacked.belief())) is None, "once is enough"


def test_more_is_left_for_the_lap_where_the_size_is_wider() -> None:
    left = []
    for seat in (0.005, 0.02):
        wide = stacked.belief(device_vise__seating=seat)
        way = lapped(limit("height"), expected(limit("height"), wide))
        assert way is not None
        left.append(apply_edits(limit("height").route, way.edits).operations["under"].leaves)
    assert left[0] < left[1]


def test_what_stands_in_a_corner_is_not_lapped() -> None:
    """A wall beside the face stands out over it: no plate goes there."""
    block = builders.block()
    high = builders.HEIGHT + 5.0
    wall = replace(block.faces[5], number=6, low=(50.0, 0.0, high), high=(60.0, 5.0, high))
    assert lies_on_a_plate(block, block.faces[5])
    beside = replace(block, faces=(*block.faces, wall))
    assert not lies_on_a_plate(beside, block.faces[5]) and lies_on_a_plate(beside, block.faces[4])


def test_free_numbers() -> None:
    route = stacked.route()
    assert numbers_after(route, 10, 3) == (11, 12, 13) and numbers_before(route, 20, 2) == (18, 19)
    assert numbers_after(route, 10, 10) == () and numbers_before(route, 20, 10) == ()
    assert numbers_after(route, 60, 2) == (61, 62) and numbers_before(route, 10, 9) == (1, 2, 3, 4, 5, 6, 7, 8, 9)


def test_edits_of_fields_and_of_the_cut() -> None:
    edits = dict(changed("under", leaves=0.05, cut_depth_of_cut=0.1, measure=("a", "b")))
    assert edits == {"operations.under.leaves": "0.05 mm", "operations.under.cut.depth_of_cut": "0.1 mm",
                     "operations.under.measure": '["a", "b"]'}
    then = apply_edits(stacked.route(), edits.items()).operations["under"]
    assert then.leaves == 0.05 and then.cut.depth_of_cut == 0.1 and np.all(np.array(then.measure) == ["a", "b"])
