from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.checks._bores import bored
from firstoff.checks._drills import MOST, USUAL
from firstoff.checks._makers import Broken
from firstoff.checks.base import Case
from firstoff.checks.size import CHECK, expected
from firstoff.job.models import Limit
from firstoff.part.shapes import Face, Feature
from tests.checks.builders import HEIGHT, belief, block, chance, found, job, shop, tool
from tests.checks.size_cases import made, op

BORE = Face(6, 0, "cylinder", 300.0, (20.0, 10.0, HEIGHT / 2), (1.0, 0.0, 0.0), (18.0, 8.0, 0.0),
            (22.0, 12.0, HEIGHT), axis_point=(20.0, 10.0, 0.0), axis=(0.0, 0.0, 1.0), radius=2.0, hollow=True)
PART = block(Feature("hole-1", "hole", (6,), axis=(0.0, 0.0, 1.0), size={"diameter": 4.0}), faces=(BORE,))
REAM = tool(name="reamer 4 mm", kind="reamer", material="hss", diameter="4 mm", flutes=4)


def of(role: str, tool_name: str, tolerance: str = "+0.012 mm / 0 mm", **changed: Any) -> Case:
    ops = {"spot": op(10, "hole-1", role="spot", tool="drill4"), "make": op(20, "hole-1", role=role, tool=tool_name)}
    this, _ = made(ops, "hole-1", kind="size", size="4 mm", tolerance=tolerance, **changed)
    return replace(this, parts={"block": PART}, shop=shop(ream4=REAM))


def test_a_drill_cuts_larger_than_it_is() -> None:
    came = expected(of("drill", "drill4"), belief())
    assert np.median(came.offset) == pytest.approx((USUAL[0] + USUAL[1] * 4.0) * 1e-3)
    assert np.median(came.offset + 2.0 * came.sd) == pytest.approx((MOST[0] + MOST[1] * 4.0) * 1e-3, rel=0.1)


def test_drilled_to_a_fit_bad_on_purpose_reamed_better_wide_just_good() -> None:
    drilled, reamed = chance(CHECK, of("drill", "drill4")), chance(CHECK, of("ream", "ream4"))
    assert drilled > 0.9 and reamed < 0.3
    assert chance(CHECK, of("drill", "drill4", "+0.3 mm / -0.05 mm")) <= 0.01


def test_a_drill_that_is_not_the_nominal_one_is_out_by_the_difference() -> None:
    this = of("drill", "drill4")
    assert this.limit is not None
    other = replace(this, limit=this.limit.model_copy(update={"size": 3.9}))
    moved = expected(other, belief()).offset - expected(this, belief()).offset
    assert moved == pytest.approx(0.1e-3)


def test_milled_round_counts_the_cutter_on_both_sides() -> None:
    came = expected(of("pocket_finish", "em6"), belief())
    assert came.found.middle["radius:em6"] == 2.0 and set(came.spreads.labels) == {
        "the radius of the cutter", "lost motion", "the repeat of the axes"}


def pin(tolerance: str | None = "m6", **changed: Any) -> Case:
    """The reamed hole of 4 mm with a dowel in it: H7 in m6 runs from 12 um too tight to 8 um of room."""
    this = of("ream", "ream4")
    bought = {"dowel": {"name": "dowel 4", "size": {"diameter": "4 mm"}, **({"tolerance": tolerance} if tolerance
                                                                            else {})}}
    limit = Limit.model_validate({"kind": "clearance", "part": "block", "between": ["hole-1"], "piece": "dowel",
                                  "tolerance": "+0.008 mm / -0.012 mm", "instrument": "mic", **changed})
    return replace(this, limit=limit, name="pin", job=job(bought=bought))


def lapped(this: Case, measure: tuple[str, ...], leaves: float = 0.02, removes: float = 0.02) -> Case:
    """The same hole, its last cut a little smaller and then lapped out by hand."""
    ops = dict(this.route.operations)
    ops["make"] = ops["make"].model_copy(update={"leaves": leaves})
    ops["lap"] = ops["make"].model_copy(update={"number": 30, "role": "lap", "tool": None, "removes": removes,
                                                "leaves": 0.0, "measure": measure})
    assert this.limit is not None
    return replace(this, route=this.route.model_copy(update={"operations": ops}),
                   job=this.job.model_copy(update={"limits": {this.name: this.limit}}))


def test_lapped_until_the_gauge_reads_right_the_reading_and_the_lap_err() -> None:
    this = of("pocket_finish", "em6", instrument="mic")
    came, plain = expected(lapped(this, (this.name,)), belief()), expected(this, belief())
    assert came.found.lapped and set(came.spreads.labels) == {"the micrometer", "how true it is lapped out"}
    assert np.median(came.offset) == pytest.approx(6e-6), "it is lapped for the middle"
    assert np.median(came.sd) < 0.5 * np.median(plain.sd)
    assert chance(CHECK, lapped(this, (this.name,))) < 0.5 * chance(CHECK, this)


def test_lapped_without_trying_it_is_larger_by_what_the_lap_takes_and_as_far_out_as_it_was_cut() -> None:
    this = of("pocket_finish", "em6")
    blind, plain = expected(lapped(this, (), removes=0.03), belief()), expected(this, belief())
    assert blind.offset - plain.offset == pytest.approx(2.0 * (0.03 - 0.02) * 1e-3)
    assert np.median(blind.sd) >= np.median(plain.sd) and not blind.found.aimed


def test_lapped_to_its_pin_neither_the_pin_nor_an_instrument_counts() -> None:
    this = pin()
    came = expected(lapped(this, (this.name,)), belief())
    assert came.found.lapped and came.spreads.labels == ("how true it is lapped out",)
    assert np.median(came.offset) == pytest.approx(-2e-6), "the middle of the room that is wanted"


def test_lapped_to_a_reading_without_an_instrument_is_told() -> None:
    this = of("pocket_finish", "em6")
    assert "no instrument is named" in found(CHECK, lapped(this, (this.name,))).because


def test_room_of_a_bought_pin_is_the_hole_less_the_pin() -> None:
    about, this = belief(), pin()
    came = expected(this, about)
    hole = expected(of("ream", "ream4"), about)
    assert came.offset == pytest.approx(hole.offset - 8e-6), "a dowel m6 is 8 um over in the middle"
    scale = about.value("discrepancy:size", "factor") if about.has("discrepancy:size", "factor") else 1.0
    assert came.sd**2 == pytest.approx(hole.sd**2 + (8e-6 / np.sqrt(12.0) * scale) ** 2)
    assert chance(CHECK, pin(tolerance="h6")) > chance(CHECK, this), "a smaller pin is loose in it"
    assert chance(CHECK, pin(size="0.05 mm")) > 0.9


def test_a_pin_of_which_nothing_is_said_is_told() -> None:
    assert "one size and its tolerance" in found(CHECK, pin(tolerance=None)).because
    assert "no bought-in piece 'bolt'" in found(CHECK, pin(piece="bolt")).because


def test_what_is_no_hole_or_not_made() -> None:
    this = of("drill", "drill4")
    assert this.limit is not None
    with pytest.raises(Broken, match="write a size between two faces as a distance"):
        bored(this, this.limit.model_copy(update={"between": ("+Z",)}), belief())
    spotted = replace(this, route=this.route.model_copy(update={"operations": {
        "spot": this.route.operations["spot"]}}))
    with pytest.raises(Broken, match="makes hole-1 to size"):
        bored(spotted, this.limit, belief())
