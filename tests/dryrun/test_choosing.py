"""Choosing a cut: what is good stays, expected cost never rises, and every number can be set."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.checks.base import Case
from firstoff.checks.si import takes
from firstoff.dryrun.choosing import (
    LEAST_DEPTH,
    THIN_ROWS,
    WEIGHTS,
    Candidate,
    Chooser,
    Search,
    choosable,
    depths,
    settable,
    thinned,
    trades,
    widths,
    with_operation,
)
from firstoff.dryrun.cost import loss, wages
from firstoff.dryrun.nominal import table_feed
from firstoff.dryrun.quick import Quick
from firstoff.job.route import Cut
from firstoff.shop.models import CuttingSpeeds, Shop
from firstoff.tomlfile import KEPT
from tests.checks import builders
from tests.dryrun import small
from tests.dryrun.small import DRILL, FACE, POCKET, SINK

RPM = 2.0 * math.pi / 60.0
BOLD = (("cut.depth_of_cut", "1 mm"), ("cut.width_of_cut", "5 mm"), ("cut.feed_per_tooth", "0.05 mm"))


@cache
def thin() -> Quick:
    """Few rows, and a mill that bears what a fair cut asks of it."""
    steady = small.belief(machine_mill__stiffness_x=4e7, machine_mill__stiffness_y=4e7)
    return Quick(steady.thinned(np.arange(0, 256, 8)))


def case(name: str = FACE, shop: Shop | None = None, edits: tuple[tuple[str, str], ...] = ()) -> Case:
    full = tuple((f"operations.{name}.{key}", text) for key, text in edits)
    return small.cases(small.route(full), shop)[name]


class Noted(Chooser):
    """Keeps every candidate in the order in which it was looked at."""

    def __init__(self, this: Case, rows: Quick | None = None) -> None:
        super().__init__(this, rows or thin())
        self.looked: list[Candidate] = []

    def look(self, cut: Cut) -> Candidate:
        found = super().look(cut)
        self.looked.append(found)
        return found


def bold() -> Case:
    """A cut that the mill cannot bear: a heavy bite, and a spindle that has no power for it."""
    return case(edits=BOLD)


@cache
def searched() -> tuple[Noted, Candidate]:
    weak = small.belief(machine_mill__power=40.0).thinned(np.arange(0, 256, 8))
    chooser = Noted(bold(), Quick(weak))
    return chooser, chooser.best(0.01)


def test_a_good_cut_stays_and_nothing_else_is_tried() -> None:
    calm = case(edits=(("cut.depth_of_cut", "0.1 mm"), ("cut.width_of_cut", "0.5 mm")))
    chooser = Noted(calm)
    best = chooser.best(0.01)
    assert best.p_spoil <= calm.shop.close
    assert best.case.op == calm.op and len(chooser.looked) == 1


def test_a_bad_cut_is_mended() -> None:
    chooser, best = searched()
    before = chooser.look(bold().op.cut)
    assert before.p_spoil > 0.5
    assert best.cost(0.0) < before.cost(0.0)
    assert best.p_spoil < before.p_spoil


@pytest.mark.parametrize("weight", WEIGHTS)
def test_the_least_cost_of_all_that_was_looked_at_never_lies_above_where_it_began(weight: float) -> None:
    """Nor above any candidate: each step down is taken from the best so far."""
    chooser = Noted(bold())
    end = chooser._descend(weight)
    start = chooser.look(bold().op.cut)
    assert end.cost(weight) <= start.cost(weight)
    assert end.cost(weight) == min(c.cost(weight) for c in chooser.looked)


def test_the_weight_is_raised_until_the_part_is_not_likely_lost() -> None:
    """Axes that stall at 150 N: what is cheapest loses the part in one of a hundred, and that is not enough."""
    weak = small.belief(machine_mill__axis_thrust=150.0, machine_mill__stiffness_x=4e7, machine_mill__stiffness_y=4e7)
    chooser = Noted(bold(), Quick(weak.thinned(np.arange(0, 256, 8))))
    cheapest = chooser._descend(0.0)
    enough = cheapest.p_lost / 4.0
    best = chooser.best(enough)
    assert cheapest.p_lost > enough >= best.p_lost
    assert chooser.best(2.0 * cheapest.p_lost) is cheapest


def test_cost_by_hand() -> None:
    candidate = Noted(bold()).look(bold().op.cut)
    plain = wages(candidate.minutes, bold().shop) + sum(
        (f.p_fail or 0.0) * loss(f, candidate.case) for f in candidate.findings)
    heavier = sum((f.p_fail or 0.0) * loss(f, candidate.case) for f in candidate.findings
                  if f.at_risk in ("part", "tool"))
    assert candidate.cost(0.0) == pytest.approx(plain)
    assert candidate.cost(5.0) == pytest.approx(plain + 5.0 * heavier)
    parts = [f for f in candidate.findings if f.at_risk == "part" and f.p_rows is not None]
    survives = np.prod([1.0 - np.asarray(f.p_rows) for f in parts], axis=0)
    assert candidate.p_lost == pytest.approx(float(np.mean(1.0 - survives)))


def test_steps_of_a_belt_far_below_the_first_speed_are_not_tried() -> None:
    from firstoff.dryrun.choosing import SLOWEST, Search, speeds

    this = bold()
    now = this.op.cut.spindle_speed or 0.0
    steps = tuple(share * now for share in (0.1, 0.3, 0.5, 1.0))
    spindle = small.shop().machines["mill"].spindle
    assert spindle is not None
    stepped = small.shop().machines["mill"].model_copy(update={"spindle": spindle.model_copy(
        update={"steps": steps, "slowest": steps[0], "fastest": steps[-1]})})
    shop = this.shop.model_copy(update={"machines": {**this.shop.machines, "mill": stepped}})
    tried = [cut.spindle_speed or 0.0 for cut in speeds(replace(this, shop=shop), this.op.cut, Search())]
    assert tried and min(tried) >= SLOWEST * now


def test_the_same_numbers_are_computed_once() -> None:
    chooser = Noted(bold())
    assert chooser.look(bold().op.cut) is chooser.look(bold().op.cut)


def is_settable(length: float) -> bool:
    """On a scale of 0.05 mm, below a millimetre of 0.01 mm."""
    step = 0.05 if length >= 1.0 else 0.01
    return abs(length / step - round(length / step)) < 1e-6


def tried() -> Iterator[Cut]:
    start = bold().op.cut
    yield from (c.case.op.cut for c in searched()[0].looked if c.case.op.cut != start)


def test_every_number_that_is_tried_can_be_set() -> None:
    depths, widths, feeds = zip(*((c.depth_of_cut, c.width_of_cut, c.feed_per_tooth) for c in tried()), strict=True)
    assert all(is_settable(d) and d >= LEAST_DEPTH for d in depths)
    assert all(is_settable(w) for w in widths)
    assert all(f == round(f, 4) > 0.0 for f in feeds)
    assert len(set(depths)) > 1 and len(set(widths)) > 1 and len(set(feeds)) > 1


def test_the_direction_stays_as_lost_motion_decided_it() -> None:
    assert len({c.direction for c in tried()}) == 1
    slot = Noted(case(edits=(*BOLD, ("cut.direction", "slot"))))
    slot._descend(0.0)
    assert {c.case.op.cut.direction for c in slot.looked} == {"slot"}
    assert {c.case.op.cut.width_of_cut for c in slot.looked} == {5.0}


def test_a_finishing_pass_keeps_its_width() -> None:
    """What is left on a wall is taken in one."""
    chooser = Noted(case(POCKET, edits=(*BOLD, ("role", "pocket_finish"), ("removes", "5 mm"))))
    chooser._descend(0.0)
    assert {c.case.op.cut.width_of_cut for c in chooser.looked} == {5.0}


def speeds(this: Case) -> set[int]:
    chooser = Noted(this)
    chooser._descend(0.0)
    return {round((c.case.op.cut.spindle_speed or 0.0) / RPM) for c in chooser.looked}


def with_spindle(**changed: Any) -> Shop:
    shop = small.shop()
    spindle = shop.machines["mill"].spindle
    assert spindle is not None
    mill = shop.machines["mill"].model_copy(update={"spindle": spindle.model_copy(update=changed)})
    return shop.model_copy(update={"machines": {**shop.machines, "mill": mill}})


def test_only_steps_of_the_belt() -> None:
    steps = (2500 * RPM, 4000 * RPM, 6000 * RPM, 9000 * RPM)
    assert speeds(case(shop=with_spindle(steps=steps), edits=BOLD)) == {2500, 4000, 6000, 9000}


def test_only_what_the_spindle_turns() -> None:
    found = speeds(case(shop=with_spindle(slowest=5000 * RPM, fastest=7000 * RPM), edits=BOLD))
    assert found and all(5000 <= n <= 7000 for n in found)
    assert max(speeds(bold())) > 7000 and min(speeds(bold())) < 5000


def test_the_makers_rating_is_never_exceeded() -> None:
    rated = small.shop(em6=builders.tool(rated_speed="6500 rpm"))
    assert max(speeds(case(shop=rated, edits=BOLD))) <= 6500
    stepped = with_spindle(steps=(4000 * RPM, 6000 * RPM, 9000 * RPM))
    slow = stepped.model_copy(update={"tools": {**stepped.tools, "em6": rated.tools["em6"]}})
    assert speeds(case(shop=slow, edits=BOLD)) == {4000, 6000}


def test_what_can_be_chosen() -> None:
    assert choosable(case(FACE)) and choosable(case(POCKET))
    assert not choosable(case(DRILL)) and not choosable(case(SINK))
    assert not choosable(small.cases()["height"]) and not choosable(small.cases()["block-1"])


@pytest.mark.parametrize("edit", [("locked", "true"), ("role", "measure")])
def test_what_cannot_be_chosen(edit: tuple[str, str]) -> None:
    assert not choosable(case(edits=(edit,)))


@pytest.mark.parametrize("missing", ["spindle_speed", "feed_per_tooth"])
def test_without_speed_or_feed_there_is_nothing_to_choose(missing: str) -> None:
    this = case()
    cut = this.op.cut.model_copy(update={missing: None})
    assert not choosable(with_operation(this, this.op.model_copy(update={"cut": cut})))


def test_other_numbers_change_the_operation_its_windows_and_nothing_else() -> None:
    this = case()
    other = this.op.model_copy(update={"cut": this.op.cut.model_copy(update={"depth_of_cut": 0.5})})
    changed = with_operation(this, other)
    assert changed.op is other and changed.route.operations[FACE] is other
    assert changed.windows is not None and this.windows is not None
    assert changed.windows.depth.max() == 0.5 and this.windows.depth.max() == 1.0
    rest = {name: op for name, op in changed.route.operations.items() if name != FACE}
    assert rest == {name: op for name, op in this.route.operations.items() if name != FACE}
    assert changed.route.settings == this.route.settings and changed.route.joints == this.route.joints
    for name in ("subject", "name", "job", "shop", "parts", "part_name", "setting_name", "state", "limit", "joint",
                 "minutes_so_far"):
        assert getattr(changed, name) is getattr(this, name), name
    assert this.route.operations[FACE].cut.depth_of_cut == 1.0, "the case that it came from stays as it was"


@given(st.floats(0.01, 60.0))
def test_settable_is_near_and_stays(length: float) -> None:
    once = settable(length)
    assert is_settable(once)
    assert abs(once - length) <= (0.025 if length >= 1.0 else 0.005) + 1e-9
    assert settable(once) == once


def test_thinned_rows_are_spread_over_all_and_are_rows_of_them() -> None:
    full = small.belief()
    few = thinned(full).belief
    assert few.rows == THIN_ROWS
    whole, some = full.value("machine:mill", "power"), few.value("machine:mill", "power")
    assert some[0] == whole[0] and some[-1] == whole[-1] and set(some) <= set(whole)
    assert thinned(few).belief.rows == THIN_ROWS
    assert np.median(some) == pytest.approx(np.median(whole), rel=0.05)


def test_no_speed_that_the_edge_does_not_bear() -> None:
    """Heat and wear are not computed yet: the book's usual speed, with its spread, is the bound."""
    shop = small.shop()
    name = case().material_name
    slow = {"value": "100 m/min", "factor": 2.0, "source": "judged"}
    bound = CuttingSpeeds.model_validate({"carbide": slow})
    material = shop.materials[name].model_copy(update={"cutting_speed": bound})
    bounded = shop.model_copy(update={"materials": {**shop.materials, name: material}})
    this = case(shop=bounded, edits=BOLD)
    radius = this.tool.diameter / 2000.0
    assert max(speeds(this)) * RPM * radius <= 2.0 * 100.0 / 60.0 * (1 + 1e-3)


def test_no_faster_where_nobody_says_what_an_edge_bears() -> None:
    """Wear and heat can't be told, then: nothing else would stop a spindle from being sped up in titanium."""
    shop = small.shop()
    name = case().material_name
    material = shop.materials[name].model_copy(update={"cutting_speed": CuttingSpeeds()})
    this = case(shop=shop.model_copy(update={"materials": {**shop.materials, name: material}}), edits=BOLD)
    first = (this.op.cut.spindle_speed or 0.0) / RPM
    assert max(speeds(this)) <= first * (1 + 1e-9) and min(speeds(this)) < first


# --- how far is looked, and what stays ----------------------------------------------------------------


def looked(this: Case, search: Search, weight: float = 0.0) -> list[Candidate]:
    chooser = Noted(this)
    chooser.search = search
    chooser._descend(weight)
    return chooser.looked


def test_a_pass_may_be_deeper_and_wider_where_there_is_more_to_take() -> None:
    mild = case(edits=(("cut.depth_of_cut", "0.2 mm"), ("cut.width_of_cut", "1 mm")))
    found = looked(mild, Search(deepest=0.9, widest=5.0))
    assert max(c.case.op.cut.depth_of_cut or 0.0 for c in found) == 0.9
    assert max(c.case.op.cut.width_of_cut or 0.0 for c in found) == 5.0


def test_passes_are_equal() -> None:
    """No ladder of depths that leaves a sliver for the last pass."""
    found = {c.case.op.cut.depth_of_cut for c in looked(case(edits=BOLD), Search(deepest=5.0))}
    for depth in found - {1.0}:
        assert depth is not None
        layers = math.ceil(5.0 / depth - 1e-6)
        assert depth <= 5.0 / layers + 0.05 * 1.01


@pytest.mark.parametrize("name", ["depth_of_cut", "width_of_cut", "spindle_speed", "feed_per_tooth"])
def test_what_a_person_settled_stays(name: str) -> None:
    found = looked(case(edits=BOLD), Search(fixed=frozenset({name})))
    assert len({getattr(c.case.op.cut, name) for c in found}) == 1 and len(found) > 3


def test_the_table_must_follow() -> None:
    """Half of a rapid of 1200 mm/min: nothing faster is tried than what was there at first."""
    slow = {"value": "1200 mm/min", "factor": 2.0, "source": "judged"}
    shop = small.shop()
    mill = type(shop.machines["mill"]).model_validate(
        {**shop.machines["mill"].model_dump(exclude_unset=True), "table_speed": slow}, context=KEPT)
    bounded_shop = shop.model_copy(update={"machines": {**shop.machines, "mill": mill}})
    this = case(shop=bounded_shop, edits=(*BOLD, ("cut.feed_per_tooth", "0.02 mm")))
    fastest = max(table_feed(c.case) for c in looked(this, Search()))
    assert fastest <= max(600.0 / 60.0, table_feed(this)) * (1.0 + 1e-9)


def test_the_careful_weigh_a_finish_like_a_part() -> None:
    candidate = Noted(bold()).look(bold().op.cut)
    finish = sum((f.p_fail or 0.0) * loss(f, candidate.case) for f in candidate.findings
                 if f.at_risk in ("finish", "size"))
    assert finish > 0.0
    assert candidate.cost(5.0, careful=True) == pytest.approx(candidate.cost(5.0) + 5.0 * finish)


def test_depth_and_width_are_traded_by_steps_that_are_looked_at() -> None:
    """On a slope between depth and width neither alone is better: both together are tried."""
    this, search = case(), Search()
    now = this.op.cut
    wide = sorted({cut.width_of_cut or 0.0 for cut in widths(this, now, search)})
    deep = sorted({cut.depth_of_cut or 0.0 for cut in depths(this, now, search)})
    middle = now.model_copy(update={"width_of_cut": wide[1], "depth_of_cut": deep[1]})
    found = {(cut.depth_of_cut, cut.width_of_cut) for cut in trades(this, middle, search)}
    assert found == {(deep[0], wide[2]), (deep[2], wide[0])}
    ends = now.model_copy(update={"width_of_cut": wide[-1], "depth_of_cut": deep[-1]})
    assert list(trades(this, ends, search)) == []


def test_a_careful_search_ends_calmer() -> None:
    plain = Noted(bold()).cheapest(0.01)
    careful = Noted(bold())
    careful.search = Search(allowed=0.05)
    assert careful.cheapest(0.01).p_spoil <= plain.p_spoil


def test_from_a_good_start_only_neighbours_are_looked_at() -> None:
    far, near = Noted(bold()), Noted(bold())
    best = far.cheapest(0.01)
    again = near.cheapest(0.01, best.case.op.cut)
    assert near.cost(again, 0.0) <= far.cost(best, 0.0) + 1e-9
    assert len(near._tried) < len(far._tried)


def test_no_pass_of_a_ball_is_wider_than_the_ball_is_there() -> None:
    """0.1 mm deep a ball of 6 mm is 1.5 mm wide: rows 3 mm apart would leave ridges as high as the pass."""
    shop = small.shop(em6=builders.tool(kind="ball", corner_radius="3 mm"))
    noted = Noted(case(shop=shop, edits=BOLD))
    start = noted.case.op.cut.model_copy(update={"depth_of_cut": 0.1, "width_of_cut": 3.0})
    noted.cheapest(0.01, start)
    tried = [one.case.op.cut for one in noted.tried if one.case.op.cut not in (start, noted.case.op.cut)]
    ball = noted.case.tool
    assert tried and all(takes(ball, cut.depth_of_cut or 0.0, cut.width_of_cut or 0.0) for cut in tried)
    assert not takes(ball, 0.1, 3.0)
