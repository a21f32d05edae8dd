"""So much left for the lap: every way is an edit that a route takes, and the size follows from the edited route."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from firstoff.checks.base import Case
from firstoff.checks.size import bounds, chance_by_row, expected
from firstoff.dryrun.lapping import bore_lapped, by_lapping, lapped_together
from firstoff.dryrun.otherwise import LEAST_CUT, Otherwise
from firstoff.dryrun.walk import walk
from firstoff.job.edits import apply_edits
from firstoff.job.models import Limit
from firstoff.job.possible import route_can_be
from tests.checks import builders
from tests.dryrun import small, stacked
from tests.dryrun.test_assembled import chance, made, milled_last


def bored(role: str = "pocket_finish", tool: str = "em3", tolerance: str = "+0.012 mm / 0 mm",
          tools: dict[str, Any] | None = None, **limit: Any) -> Case:
    """The block's hole of 5 mm, milled round or cut by a tool of its size."""
    shop = small.shop(em3=builders.tool(name="end mill 3 mm", diameter="3 mm"), **(tools or {}))
    wanted = Limit.model_validate({"kind": "size", "part": "block", "between": ["hole-1"], "size": "5 mm",
                                   "tolerance": tolerance, "instrument": "mic", **limit})
    bought = {"pin": {"name": "pin 5", "size": {"diameter": "5 mm"}, "tolerance": "m6"}}
    job = small.job(bought=bought).model_copy(update={"limits": {"bore": wanted}})
    route = small.route()
    face = route.operations[small.FACE].model_copy(update={"measure": ()})
    drill = route.operations[small.DRILL].model_copy(update={
        "role": role, "tool": tool, "removes": 2.5 if tool == "em3" else 20.0})
    route = route.model_copy(update={"operations": {**route.operations, small.FACE: face, small.DRILL: drill}})
    return next(c for c in walk(job, shop, route, small.parts()) if c.name == "bore" and c.subject == "limit")


def edited(case: Case, way: Otherwise | None) -> Case:
    """The same limit on the edited route, which is one that a route can be."""
    assert way is not None
    route = apply_edits(case.route, way.edits)
    route_can_be(route, case.job, case.shop, case.parts)
    return next(c for c in walk(case.job, case.shop, route, case.parts) if c.name == "bore" and c.subject == "limit")


def out(case: Case) -> float:
    assert case.limit is not None
    return float(chance_by_row(expected(case, small.belief()), small.belief(), *bounds(case.limit)).mean())


def test_a_milled_bore_is_left_smaller_and_lapped_to_the_gauge() -> None:
    case = bored()
    way = bore_lapped(case, expected(case, small.belief()))
    then = edited(case, way)
    cut, lap = then.route.operations[small.DRILL], then.route.operations[f"{small.DRILL}-lap"]
    assert lap.role == "lap" and lap.removes == cut.leaves > 0.0 and cut.removes >= LEAST_CUT
    assert cut.removes + cut.leaves == pytest.approx(2.5), "what comes off in all stays"
    assert way is not None and "of its diameter for the lap" in way.text and "the micrometer reads right" in way.text
    assert out(then) < 0.5 * out(case)
    assert bore_lapped(then, expected(then, small.belief())) is None, "once is enough"


def test_a_reamed_bore_needs_a_smaller_reamer_that_the_shop_has() -> None:
    ream = builders.tool(name="reamer 5 mm", kind="reamer", material="hss", diameter="5 mm", flutes=4)
    less = builders.tool(name="reamer 4.95 mm", kind="reamer", material="hss", diameter="4.95 mm", flutes=4)
    alone, both = (bored("ream", "ream5", "±0.006 mm", tools=tools) for tools in (
        {"ream5": ream}, {"ream5": ream, "ream495": less}))
    assert bore_lapped(alone, expected(alone, small.belief())) is None
    way = bore_lapped(both, expected(both, small.belief()))
    assert way is not None and "leave 0.05 mm of its diameter" in way.text
    then = edited(both, way)
    assert then.route.operations[small.DRILL].tool == "ream495" and out(then) < out(both)


def test_a_bore_for_a_bought_pin_is_lapped_until_it_goes_in() -> None:
    case = bored(kind="clearance", piece="pin", size=None, tolerance="+0.008 mm / -0.012 mm", instrument=None)
    way = bore_lapped(case, expected(case, small.belief()))
    assert way is not None and way.text.endswith("until the pin 5 goes in as it should")
    assert out(edited(case, way)) < 0.3 * out(case)


def test_nothing_proves_it_or_it_needs_more_than_a_hand_laps() -> None:
    bare = bored(instrument=None)
    assert list(by_lapping(bare, expected(bare, small.belief()))) == []
    case = bored()
    loose = builders.belief(machine_mill__positioning=0.2)
    assert bore_lapped(case, expected(case, loose)) is None


def test_a_loose_chain_is_lapped_with_the_parts_together() -> None:
    case = milled_last(gains=(1.0, -2.0))
    way = lapped_together(case, expected(case, small.belief()))
    assert way is not None and "put the lid and the block together, and lap it until the micrometer" in way.text
    then = made(case, way)
    lap = then.route.operations["lid-end-lap"]
    assert then.route.settings[lap.setting].workpiece == "lid+block" and lap.measure == ("ends",)
    assert lap.number > max(op.number for name, op in then.route.operations.items() if name != "lid-end-lap")
    assert then.route.operations["lid-end"].leaves == lap.removes
    assert chance(then) < 0.3 * chance(case)
    assert lapped_together(then, expected(then, small.belief())) is None, "once is enough"


def test_what_is_set_by_a_reading_already_leaves_nothing_for_the_lap() -> None:
    case = milled_last(gains=(1.0, -2.0))
    rough = case.route.operations["lid-rough"].model_copy(update={"measure": ("ends",)})
    ops = {**case.route.operations, "lid-rough": rough}
    aimed = replace(case, route=case.route.model_copy(update={"operations": ops}))
    came = expected(aimed, small.belief())
    assert came.found.aimed and lapped_together(aimed, came) is None


def test_a_size_within_one_part_is_none_of_these() -> None:
    height = next(case for case in stacked.cases() if case.name == "height")
    assert list(by_lapping(height, expected(height, stacked.belief()))) == []
