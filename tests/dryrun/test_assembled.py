"""Other ways across two parts: through both, put together and measured, to suit the part that is finished."""

from __future__ import annotations

from typing import Any

import numpy as np

from firstoff.checks.base import Case
from firstoff.checks.size import bounds, chance_by_row, expected
from firstoff.dryrun.assembled import across_parts, measured_together, through_both, to_suit
from firstoff.dryrun.otherwise import Otherwise
from firstoff.dryrun.walk import walk
from firstoff.job.edits import apply_edits
from firstoff.job.possible import route_can_be
from tests.dryrun import small
from tests.dryrun.test_cures import on_dowels, op


def ends(*cases: Case) -> Case:
    return next(case for case in cases if case.name == "ends")


def milled_last(**limit: Any) -> Case:
    """The lid's end is milled when its hole is there, so that it can be cut to suit."""
    case = ends(*on_dowels(
        drill=op(20, "hole-1", "a", role="drill", tool="drill4"),
        **{"lid-drill": op(25, "hole-1", "b", role="drill", tool="drill4"),
           "lid-rough": op(27, "stock-1", "b", role="side_rough") | {"leaves": "0.3 mm"}}))
    limits = {"ends": case.job.limits["ends"].model_copy(update={"instrument": "mic", **limit})}
    job = case.job.model_copy(update={"limits": limits})
    return ends(*walk(job, case.shop, case.route, case.parts))


def chance(case: Case) -> float:
    found = expected(case, small.belief())
    assert case.limit is not None
    return float(chance_by_row(found, small.belief(), *bounds(case.limit)).mean())


def made(case: Case, way: Otherwise | None) -> Case:
    assert way is not None
    route = apply_edits(case.route, way.edits)
    route_can_be(route, case.job, case.shop, case.parts)
    return ends(*walk(case.job, case.shop, route, case.parts))


def test_holes_through_both_in_one_go() -> None:
    case = ends(*on_dowels())
    way = through_both(case)
    assert way is not None
    assert way.text == "the block and the lid put together, hole-1 with hole-1 drilled through both in one go"
    then = made(case, way)
    route = then.route
    assert "drill" not in route.operations and "lid-drill" not in route.operations, "nothing is drilled twice"
    both = route.operations["block-lid-through-drill"]
    assert route.settings[both.setting].workpiece == "block+lid" and both.through == ("lid.hole-1",)
    was = case.route.operations
    assert both.removes == was["drill"].removes + was["lid-drill"].removes, "as deep as both are thick"
    names = expected(then, small.belief()).found.names()
    assert not any(name.startswith("wander:") for name in names) and any(name.startswith("laid:") for name in names)
    assert chance(then) < chance(case) and through_both(then) is None


def test_put_together_and_measured_before_the_last_cut() -> None:
    case = milled_last()
    way = measured_together(case, expected(case, small.belief()))
    then = made(case, way)
    found = expected(then, small.belief()).found
    assert found.measured == "lid-rough" and found.late == "lid-end"
    look = then.route.operations["lid-end-measure"]
    assert look.role == "measure" and then.route.settings[look.setting].workpiece == "lid+block"
    assert look.number < then.route.operations["lid-end"].number
    assert then.route.operations["lid-end"].setting == "b-last", "it was taken out to be measured"
    assert chance(then) < chance(case)


def test_cut_to_suit_what_was_measured_of_the_other_part() -> None:
    """Of the other part only what is measured of it is left to err; of its own, all."""
    case = milled_last()
    way = to_suit(case, expected(case, small.belief()))
    assert way is not None and way.text == "measure the finished block, and cut lid-end to suit it"
    then = made(case, way)
    found = expected(then, small.belief()).found
    assert then.route.operations["lid-end"].suits == ("ends",)
    assert found.measured == "drill" and not any(":drill:" in name for name in found.names())
    assert any(name.startswith("reading:mic") for name in found.names())
    assert any(name.startswith("repeat:lid-end") for name in found.names())
    assert chance(then) < chance(case)
    assert to_suit(then, expected(then, small.belief())) is None


def test_each_of_its_gains_counts_for_what_is_read() -> None:
    once, twice = (expected(made(case, to_suit(case, expected(case, small.belief()))), small.belief())
                   for case in (milled_last(), milled_last(gains=(2.0, -1.0))))
    read = [abs(next(size for name, size in came.found.middle.items() if name.startswith("reading:")))
            for came in (once, twice)]
    assert np.allclose(read, [1.0, 2.0])


def test_nothing_for_a_size_within_one_part_or_without_an_instrument() -> None:
    case = milled_last()
    bare = ends(*on_dowels())
    came = expected(bare, small.belief())
    assert measured_together(bare, came) is None, "nothing measures it, and a drill is not set by a reading"
    height = next(c for c in small.cases().values() if c.name == "height")
    assert list(across_parts(height, came)) == []
    assert len(list(across_parts(case, expected(case, small.belief())))) == 3
