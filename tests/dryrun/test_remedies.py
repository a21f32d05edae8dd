"""What to do instead: it cures or halves, is what it says when it stands in the route, and is worth its price."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._past import past_of
from firstoff.checks.base import Case, Check, Finding, Knob, Remedy
from firstoff.dryrun import remedies as room
from firstoff.dryrun.choosing import Chooser, thinned, with_operation
from firstoff.dryrun.cost import expected_loss
from firstoff.dryrun.findings import Findings
from firstoff.dryrun.nominal import table_feed
from firstoff.dryrun.quick import Quick
from firstoff.dryrun.registry import all_checks
from firstoff.dryrun.remedies import MOST, RISK, WORTH_IT, Others, changed_case, cut_changes, remedies_for
from firstoff.dryrun.totals import chance_spoiled
from firstoff.job.edits import apply_edits
from firstoff.job.models import ScrewJoint
from firstoff.shop.models import Figure, Rates
from tests.checks import builders
from tests.dryrun import small
from tests.dryrun.small import DRILL, FACE, POCKET

BOLD = ((f"operations.{FACE}.cut.width_of_cut", "5 mm"), (f"operations.{FACE}.cut.feed_per_tooth", "0.05 mm"))


@cache
def believed() -> Belief:
    """A mill of some stiffness that has hardly any power."""
    return small.belief(machine_mill__power=60.0, machine_mill__stiffness_x=4e7,
                        machine_mill__stiffness_y=4e7).thinned(np.arange(0, 256, 4))


def check(name: str) -> Check:
    return next(c for c in all_checks() if c.name == name)


def of(case: Case, name: str, belief: Belief | None = None) -> tuple[list[Finding], tuple[Remedy, ...]]:
    store = Findings(belief or believed())
    before = [kept.finding for kept in store.of(case)]
    return before, remedies_for(check(name), case, before, store, thinned(store.belief), ())


@cache
def stalled() -> tuple[Case, list[Finding], tuple[Remedy, ...]]:
    """A cut that the spindle cannot bear, and what to do instead."""
    case = small.cases(small.route(BOLD))[FACE]
    return case, *of(case, "power")


def again(case: Case, remedy: Remedy, belief: Belief | None = None) -> list[Finding]:
    """All findings of the operation or joint, with the edits in the route and walked anew."""
    walked = small.cases(apply_edits(case.route, remedy.edits))[case.name]
    return [kept.finding for kept in Findings(belief or believed()).of(walked)]


def test_something_is_found_at_most_three_and_the_best_value_first() -> None:
    case, before, found = stalled()
    assert 0 < len(found) <= MOST
    p_before = chance_spoiled(before, believed().rows)
    assert p_before > 0.5
    risk = RISK * expected_loss([(f, case) for f in before])
    prices = [r.money + risk * r.p_after / p_before for r in found]
    assert prices == sorted(prices)


def test_each_cures_its_check_or_halves_the_chance() -> None:
    case, before, found = stalled()
    p_before = chance_spoiled(before, believed().rows)
    for remedy in found:
        after = again(case, remedy)
        power = next(f.p_fail for f in after if f.check == "power")
        cured = power is not None and power <= case.shop.good and remedy.p_after <= p_before
        assert cured or remedy.p_after <= WORTH_IT * p_before, remedy.text


def test_the_edits_give_what_is_told_when_the_route_is_checked_again() -> None:
    case, _, found = stalled()
    for remedy in found:
        assert chance_spoiled(again(case, remedy), believed().rows) == remedy.p_after, remedy.text


def test_minutes_are_those_of_the_changed_route() -> None:
    case, _, found = stalled()
    for remedy in found:
        walked = small.cases(apply_edits(case.route, remedy.edits))[FACE]
        assert walked.windows is not None and case.windows is not None
        assert remedy.minutes == pytest.approx(walked.windows.minutes - case.windows.minutes)
        assert remedy.money == pytest.approx(remedy.minutes / 60.0 * case.shop.rates.hour)


def test_what_gives_way_next_is_named() -> None:
    case, _, found = stalled()
    titles = {c.name: c.title for c in all_checks()}
    for remedy in found:
        after = again(case, remedy)
        worst = max(after, key=lambda f: f.p_fail or 0.0)
        assert remedy.breaks == (titles[worst.check] if (worst.p_fail or 0.0) > case.shop.good else "")


def test_a_drill_that_would_stall_is_fed_slower() -> None:
    case, belief = small.cases()[DRILL], small.belief()
    before, found = of(case, "drilling", belief)
    assert found and any(path.endswith("feed_per_tooth") for path, _ in found[0].edits)
    assert found[0].p_after <= WORTH_IT * chance_spoiled(before, belief.rows)
    assert chance_spoiled(again(case, found[0], belief), belief.rows) == found[0].p_after


def test_a_joint_gets_another_screw() -> None:
    case = small.cases()["screws"]
    before, found = of(case, "screw length")
    (edit,) = found[0].edits
    assert edit[0] == "joints.screws.screw" and edit[1] in found[0].text
    assert chance_spoiled(again(case, found[0]), believed().rows) == found[0].p_after
    assert found[0].p_after < 0.2 < 0.9 < chance_spoiled(before, believed().rows)
    walked = small.cases(apply_edits(case.route, found[0].edits))["screws"]
    assert isinstance(walked.joint, ScrewJoint) and walked.joint.screw == edit[1]


def own_check(p_of: Any, knobs: tuple[Knob, ...]) -> Check:
    """A check made for a test: its chance by the depth of cut."""
    def find(case: Case, belief: Belief) -> Finding:
        p = np.full(belief.rows, p_of(case))
        return Finding("own", "operation", case.name, "size", p, None, None, "", "so")

    return Check("own", "own check", "size", "operation", lambda case: case.operation is not None, find, knobs)


def depths(*values: float) -> Knob:
    return Knob("cut.depth_of_cut", lambda case: list(values), lambda case, value: f"{value} mm deep")


def only(check: Check, monkeypatch: pytest.MonkeyPatch, others: tuple[Check, ...] = ()) -> None:
    small.only_checks(monkeypatch, check, *others)
    monkeypatch.setattr(room, "choosable", lambda case: False)


def asked(check: Check, case: Case | None = None, others: Others = ()) -> tuple[Remedy, ...]:
    case = case or small.cases()[FACE]
    store = Findings(Belief.of(builders.columns(), 16))
    before = [kept.finding for kept in store.of(case)]
    return remedies_for(check, case, before, store, thinned(store.belief), others)


def depth(case: Case) -> float:
    return case.op.cut.depth_of_cut or 0.0


def test_the_mildest_change_that_cures_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    own = own_check(lambda case: 0.9 if depth(case) > 0.6 else 0.0, (depths(0.9, 0.7, 0.5, 0.3),))
    only(own, monkeypatch)
    (told,) = asked(own)
    assert told.edits == ((f"operations.{FACE}.cut.depth_of_cut", "0.5 mm"),)
    assert (told.text, told.p_after, told.breaks) == ("0.5 mm deep", 0.0, "")


def test_where_nothing_cures_the_best_that_halves_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    chances = {1.0: 0.9, 0.8: 0.6, 0.6: 0.3, 0.4: 0.2}
    own = own_check(lambda case: chances[depth(case)], (depths(0.8, 0.6, 0.4),))
    only(own, monkeypatch)
    (told,) = asked(own)
    assert told.text == "0.4 mm deep" and told.p_after == pytest.approx(0.2)
    assert told.breaks == "own check"


def test_what_helps_too_little_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    own = own_check(lambda case: 0.9 if depth(case) == 1.0 else 0.5, (depths(0.8, 0.5),))
    only(own, monkeypatch)
    assert asked(own) == ()


def test_what_cures_this_and_spoils_more_elsewhere_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    own = own_check(lambda case: 0.3 if depth(case) == 1.0 else 0.0, (depths(0.5),))
    other = replace(own_check(lambda case: 0.0 if depth(case) == 1.0 else 0.4, ()), name="other")
    only(own, monkeypatch, (other,))
    assert asked(own) == ()


def test_what_costs_more_than_it_saves_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred times as many passes: cheap where an hour is cheap beside the part, else not worth it."""
    own = replace(own_check(lambda case: 0.3 if depth(case) > 0.02 else 0.0, (depths(0.01),)), at_risk="part")

    def find(case: Case, belief: Belief) -> Finding:
        return replace(own.evaluate(case, belief), check="dear", at_risk="part")

    dear = replace(own, name="dear", evaluate=find)
    only(dear, monkeypatch)
    cheap_hour = small.shop().model_copy(update={"rates": Rates(hour=0.01)})
    dear_hour = small.shop().model_copy(update={"rates": Rates(hour=1000.0)})
    assert len(asked(dear, small.cases(in_shop=cheap_hour)[FACE])) == 1
    assert asked(dear, small.cases(in_shop=dear_hour)[FACE]) == ()


def test_what_puts_a_limit_out_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    own = own_check(lambda case: 0.9 if depth(case) > 0.6 else 0.0, (depths(0.5),))

    def height(case: Case, belief: Belief) -> Finding:
        shallow = (case.route.operations[FACE].cut.depth_of_cut or 0.0) < 0.6
        p = np.full(belief.rows, 0.3 if shallow and spoils else 0.0)
        return Finding("height", "limit", case.name, "size", p, None, None, "", "so")

    limit = Check("height", "height", "size", "limit", lambda case: True, height)
    only(own, monkeypatch, (limit,))
    cases = small.cases()
    spoils = False
    anyway, on_it, on_others = (((cases["height"], frozenset(ops)),) for ops in ((), (FACE,), ("block-drill",)))
    assert len(asked(own, others=anyway)) == 1
    spoils = True
    assert asked(own, others=anyway) == asked(own, others=on_it) == ()
    assert len(asked(own, others=on_others)) == 1, "it stands on cuts that are not changed: it is not looked at"


def test_of_how_it_is_held_the_next_stronger_is_tried_where_few_rows_were_too_hopeful(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Cured on few rows, not on all: of a cut's numbers that is the end of it, of a clamp the next one is tried."""
    def p_of(case: Case, rows: int) -> float:
        height = case.setting.holding.grip_height
        return 0.9 if height <= 10.0 else 0.0 if rows < 16 or height > 11.0 else 0.5

    def find(case: Case, belief: Belief) -> Finding:
        p = np.full(belief.rows, p_of(case, belief.rows))
        return Finding("own", "operation", case.name, "size", p, None, None, "", "so")

    deeper = Knob("holding.grip_height", lambda case: [11.0, 12.0], lambda case, value: f"{value} in the jaws")
    own = Check("own", "own check", "size", "operation", lambda case: case.operation is not None, find, (deeper,))
    only(own, monkeypatch)
    case, store = small.cases()[FACE], Findings(Belief.of(builders.columns(), 16))
    before = [kept.finding for kept in store.of(case)]
    few = Quick(Belief.of(builders.columns(), 8))
    (told,) = remedies_for(own, case, before, store, few, ())
    assert told.text == "12.0 in the jaws" and told.p_after == 0.0


def test_what_cannot_stand_in_a_route_is_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    wild = Knob("cut.direction", lambda case: ["backwards", "conventional"], lambda case, value: str(value))
    own = own_check(lambda case: 0.9 if case.op.cut.direction == "climb" else 0.0, (wild,))
    only(own, monkeypatch)
    (told,) = asked(own)
    assert told.edits == ((f"operations.{FACE}.cut.direction", "conventional"),)


def test_what_the_table_cannot_follow_is_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """It feeds at half of its rapid, 9 mm/s here, at most: three times the 6 mm/s that there are is not told."""
    slow = small.shop().machines["mill"].model_copy(update={
        "table_speed": Figure(value=18.0, factor=1.1, source="measured")})
    case = small.cases(small.route())[FACE]
    case = replace(case, shop=case.shop.model_copy(update={"machines": {**case.shop.machines, "mill": slow}}))
    feed = case.op.cut.feed_per_tooth or 0.0
    faster = Knob("cut.feed_per_tooth", lambda case: [3.0 * feed, 1.5 * feed], lambda case, value: str(value))
    own = own_check(lambda case: 0.9 if (case.op.cut.feed_per_tooth or 0.0) < 1.4 * feed else 0.0, (faster,))
    only(own, monkeypatch)
    found = [t.case for t in room.trials(own, case, faster, thinned(believed()))]
    assert [c.op.cut.feed_per_tooth for c in found] == pytest.approx([1.5 * feed]), table_feed(case)


def test_a_change_may_bring_others_and_leave_nothing_to_check(monkeypatch: pytest.MonkeyPatch) -> None:
    by_hand = Knob("tool", lambda case: ["drill5"], lambda case, value: "by hand",
                   also=lambda case, value: (("role", "file"),))
    own = replace(own_check(lambda case: 1.0, (by_hand,)),
                  applies=lambda case: case.operation is not None and case.op.role != "file")
    only(own, monkeypatch)
    (told,) = asked(own)
    assert told.edits == ((f"operations.{FACE}.tool", "drill5"), (f"operations.{FACE}.role", "file"))
    assert str(told.p_after) == "0.0"
    only(replace(own, knobs=(replace(by_hand, also=None),)), monkeypatch)
    assert asked(replace(own, knobs=(replace(by_hand, also=None),))) == (), "another tool alone cures nothing here"


def test_where_no_single_number_helps_all_are_chosen_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither half the depth nor half the feed is enough; both are. Speeds stand in the route as whole turns."""
    case = small.cases(small.route((*BOLD, (f"operations.{FACE}.cut.spindle_speed", "5937 rpm"))))[FACE]
    plain = replace(check("power"), knobs=())
    store = Findings(believed())
    before = [kept.finding for kept in store.of(case)]
    (told,) = remedies_for(plain, case, before, store, thinned(store.belief), ())
    assert len(told.edits) > 1
    assert len(told.edits) == told.text.count(",") + 1
    assert chance_spoiled(again(case, told), believed().rows) == told.p_after
    assert told.p_after <= WORTH_IT * chance_spoiled(before, believed().rows)


def test_a_locked_cut_is_not_chosen_anew() -> None:
    locked = small.cases(small.route((*BOLD, (f"operations.{FACE}.locked", "true"))))[FACE]
    store = Findings(believed())
    before = [kept.finding for kept in store.of(locked)]
    plain = replace(check("power"), knobs=())
    assert remedies_for(plain, locked, before, store, thinned(store.belief), ()) == ()


def test_changes_of_a_cut_in_words_and_edits() -> None:
    case = small.cases()[FACE]
    cut = case.op.cut.model_copy(update={"depth_of_cut": 0.5, "feed_per_tooth": 0.0123, "direction": "conventional"})
    edits, text = cut_changes(case, case.op.model_copy(update={"cut": cut}))
    root = f"operations.{FACE}.cut"
    assert edits == ((f"{root}.depth_of_cut", "0.5 mm"), (f"{root}.feed_per_tooth", "0.0123 mm"),
                     (f"{root}.direction", "conventional"))
    assert text == "0.5 mm deep, 0.012 mm a tooth, conventional milling"
    assert apply_edits(case.route, edits).operations[FACE].cut == cut
    assert cut_changes(case, case.op) == ((), "")


def test_what_is_chosen_is_what_the_edits_say() -> None:
    case = small.cases(small.route(BOLD))[FACE]
    best = Chooser(case, thinned(believed())).best(0.01)
    edits, _ = cut_changes(case, best.case.op)
    told, chosen = apply_edits(case.route, edits).operations[FACE].cut, best.case.op.cut
    assert told.model_copy(update={"spindle_speed": None}) == chosen.model_copy(update={"spindle_speed": None})
    assert told.spindle_speed == pytest.approx(chosen.spindle_speed, abs=0.06), "half a turn a minute"


def test_another_route_makes_the_same_case_otherwise() -> None:
    cases = small.cases()
    route = small.route((("joints.screws.screw", "M4 x 25"), (f"operations.{FACE}.cut.depth_of_cut", "0.5 mm")))
    assert changed_case(cases[FACE], route).op.cut.depth_of_cut == 0.5
    assert changed_case(cases[FACE], route).state is cases[FACE].state
    joint = changed_case(cases["screws"], route).joint
    assert isinstance(joint, ScrewJoint) and joint.screw == "M4 x 25"
    assert changed_case(cases["height"], route).route is route
    other = with_operation(cases[POCKET], cases[POCKET].op)
    was = cases[POCKET].windows
    assert other.windows is not None and was is not None
    assert other.windows.digest == was.digest


def test_a_new_tool_is_told_with_its_price_while_it_is_worth_it() -> None:
    stiff = small.belief(machine_mill__stiffness_x=6e7, machine_mill__stiffness_y=6e7).thinned(np.arange(0, 256, 4))
    calm = ((f"operations.{FACE}.cut.depth_of_cut", "0.1 mm"), (f"operations.{FACE}.cut.width_of_cut", "0.5 mm"),
            (f"operations.{FACE}.cut.feed_per_tooth", "0.05 mm"))
    for price, told in ((1.0, True), (500.0, False)):
        kit = small.shop().model_copy(deep=True)
        kit.tools["em6"] = kit.tools["em6"].model_copy(update={"price": price})
        fresh = small.cases(small.route(calm), kit)[FACE]
        worn = replace(fresh, before=(replace(past_of(fresh), edge_time=900.0 * 60.0),))
        _, found = of(worn, "wear", stiff)
        new = [remedy for remedy in found if remedy.edits[0][0].endswith(".fresh")]
        assert bool(new) is told
        assert all(remedy.money == pytest.approx(price + remedy.minutes / 60.0 * kit.rates.hour) for remedy in new)
