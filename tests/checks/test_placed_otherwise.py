"""The same setting held another way: what can be turned, what stands in the way, and what it then comes to."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._placed_otherwise import OTHER_JAWS, STOP, TURNED, other_pair
from firstoff.checks.base import Case, Check, Finding, Knob
from firstoff.checks.holding import CHECK
from firstoff.checks.squeezed import CHECK as SQUEEZED
from firstoff.checks.squeezed import FILLED
from firstoff.dryrun import remedies
from firstoff.dryrun.choosing import thinned
from firstoff.dryrun.findings import Findings
from firstoff.dryrun.remedies import Others, changed_case, remedies_for
from firstoff.dryrun.totals import chance_spoiled
from firstoff.job.edits import apply_edits
from firstoff.part.shapes import Face, Feature
from tests.checks.builders import LENGTH, belief, block, case, column, columns, operation, setting, shop
from tests.dryrun import small

ON_ENDS = {"across": [0, -1, 0], "datums": ["-Z", "-X", "-Y"], "zero": {"x": "-Y", "y": "-X", "z": "+Z"}}
#: so deep in the jaws that they press on the walls beside the pocket
DEEP = small.route((("settings.block-1.holding.grip_height", "18 mm"), ("settings.block-1.holding.stick_up", "2 mm"),
                    (f"operations.{small.POCKET}.leaves", "0 mm")))
ONLY_TURNED = replace(SQUEEZED, knobs=(TURNED,))
ONLY_FILLED = replace(SQUEEZED, knobs=(FILLED,))


def held(*grip: str, place: dict[str, Any] | None = None, **holding: Any) -> Case:
    own = {"grip": list(grip or ("-Y", "+Y")), **holding}
    return case(op=operation(cut={"depth_of_cut": "2 mm"}), place=setting(holding=own, **(place or {})))


def edits_of(knob: Knob, this: Case, value: object) -> tuple[tuple[str, str], ...]:
    pairs = ((knob.path, str(value)), *(knob.also(this, value) if knob.also else ()))
    return tuple((f"settings.first.{path}", text) for path, text in pairs)


def turned(this: Case) -> Case:
    (value,) = TURNED.values(this)
    return replace(this, route=apply_edits(this.route, edits_of(TURNED, this, value)))


def test_turned_a_quarter_the_other_faces_are_gripped_and_all_that_places_it_goes_along() -> None:
    now = turned(held()).setting
    assert now.holding.grip == ("-X", "+X") and now.datums == ("-Z", "-X", "-Y")
    assert (now.zero.x, now.zero.y, now.zero.z) == ("-Y", "-X", "+Z")
    # the fixed jaw stays where it stood, in front: what looked right looks towards it or away
    before, after = (np.cross(s.up, s.across) @ np.array(normal)
                     for s, normal in ((held().setting, (0.0, -1.0, 0.0)), (now, (-1.0, 0.0, 0.0))))
    assert before == after == -1.0
    assert TURNED.say(held(), None) == "turned a quarter in the vise: gripped on -X and +X, not on -Y and +Y"


def test_turned_twice_it_lies_as_before() -> None:
    this = held()
    assert turned(turned(this)).setting == this.setting


def test_a_stop_where_a_jaw_comes_goes_to_where_a_jaw_was() -> None:
    assert turned(held(stop="-X")).setting.holding.stop == "-Y"
    assert turned(held()).setting.holding.stop is None


@pytest.mark.parametrize("device", ["clamps", "carrier", "hand"])
def test_only_jaws_can_be_turned_in(device: str) -> None:
    assert other_pair(held(device=device)) is None


def test_what_stands_in_the_way_of_turning() -> None:
    narrow = shop().devices["vise"].model_copy(update={"opening": LENGTH - 1.0})
    this = held()
    wide = replace(this, shop=this.shop.model_copy(update={"devices": {**this.shop.devices, "vise": narrow}}))
    assert other_pair(this) == ("-X", "+X") and other_pair(wide) is None, "longer than the jaws open"
    by_program = {"op": operation(cut={"depth_of_cut": "2 mm"}, program="top.nc")}
    assert other_pair(case(ops=by_program, place=setting())) is None, "a program goes by how the part lies"
    flank = operation(features=["stock-1"])
    assert other_pair(case(ops={"op": operation(), "flank": flank}, place=setting())) is None, "it mills that side"
    level = {"up": [0, -1, 0], "holding": {"rest": "+Y", "grip": ["-Z", "+Z"]}}
    assert other_pair(case(place=setting(**level))) == ("-X", "+X")
    tilted = {"up": [0.6, 0, 0.8], "across": [0.8, 0, -0.6]}
    assert other_pair(case(place=setting(**tilted))) is None, "the ends do not stand upright between jaws"


def test_a_side_cut_above_the_jaws_is_no_hindrance() -> None:
    wall = Face(6, 0, "plane", 1.0, (55.0, 20.0, 17.0), (1.0, 0.0, 0.0), (55.0, 0.0, 14.0), (55.0, 40.0, 20.0))
    deep = replace(wall, low=(55.0, 0.0, 6.0))
    for face, pair in ((wall, ("-X", "+X")), (deep, None)):
        part = block(Feature("step-1", "step", (6,)), faces=(face,))
        assert other_pair(case(op=operation(features=["step-1"]), part=part, place=setting())) == pair


def test_longer_jaws_bear_more_turned_than_not() -> None:
    short, long = held("-X", "+X", place=ON_ENDS), turned(held("-X", "+X", place=ON_ENDS))
    found = [CHECK.evaluate(this, belief()).capacity for this in (short, long)]
    assert found[0] is not None and found[1] is not None and found[1].median > 1.05 * found[0].median


def asked(
    monkeypatch: pytest.MonkeyPatch, others: Others = (), by: Check = ONLY_TURNED
) -> tuple[Any, ...]:
    """What a change does against bowed walls alone: of a metal that gives, so that they bow."""
    small.only_checks(monkeypatch, by)
    monkeypatch.setattr(remedies, "choosable", lambda case: False)
    soft = belief(material_steel__young=5e8, device_vise__squeeze_arm=60000.0)
    this, store = small.cases(DEEP)[small.POCKET], Findings(soft)
    before = [kept.finding for kept in store.of(this)]
    found = remedies_for(by, this, before, store, thinned(store.belief), others)
    return this, store, before, found


def test_walls_that_bow_between_the_jaws_do_not_turned_and_that_is_checked_in_full(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Gripped on its long sides the walls beside a pocket are pressed; gripped on its ends they are short."""
    this, store, before, (told,) = asked(monkeypatch)
    assert chance_spoiled(before, store.belief.rows) > 0.2
    assert told.text == "turned a quarter in the vise: gripped on -X and +X, not on -Y and +Y"
    then = changed_case(this, apply_edits(this.route, told.edits))
    assert told.p_after == chance_spoiled([kept.finding for kept in store.of(then)], store.belief.rows) == 0.0
    assert then.windows is not None and this.windows is not None
    # passes along the pocket run across the machine then
    assert abs(then.windows.direction[0, 1]) == abs(this.windows.direction[0, 0]) == 1.0


def test_a_block_in_the_hollow_leaves_no_wall_to_bow(monkeypatch: pytest.MonkeyPatch) -> None:
    _, _, _, (told,) = asked(monkeypatch, by=ONLY_FILLED)
    assert told.edits == (("settings.block-1.holding.filled", "true"),) and told.p_after == 0.0


def test_what_else_is_done_in_the_setting_must_not_become_worse(monkeypatch: pytest.MonkeyPatch) -> None:
    def spoilt(case: Case, by: Belief) -> Finding:
        p = np.full(by.rows, 0.2 * ("-X" in case.setting.holding.grip))
        return Finding("spoils", "operation", case.name, "part", p, None, None, "", "so")

    beside = small.cases(DEEP)[small.DRILL]
    others = ((beside, frozenset[str]()),)
    assert len(asked(monkeypatch, others)[-1]) == 1
    spoils = Check("spoils", "spoils", "part", "operation", lambda case: case.name == small.DRILL, spoilt)
    this, store, before, _ = asked(monkeypatch)
    small.only_checks(monkeypatch, ONLY_TURNED, spoils)
    assert remedies_for(ONLY_TURNED, this, before, store, thinned(store.belief), others) == ()


def test_a_stop_may_stand_elsewhere_and_is_the_datum_then() -> None:
    there = held(stop="-X")
    assert STOP.values(there) == ["+X"] and STOP.say(there, "+X") == "a stop against +X, not -X"
    route = apply_edits(there.route, edits_of(STOP, there, "+X"))
    assert route.settings["first"].holding.stop == "+X" and route.settings["first"].datums == ("-Z", "-Y", "+X")
    none = held()
    assert STOP.values(none) == ["+X", "-X"] and STOP.say(none, "-X") == "a stop against -X"
    assert edits_of(STOP, none, "-X") == (("settings.first.holding.stop", "-X"),)


def test_softer_jaws_rub_more_where_they_take_the_part() -> None:
    plain = held()
    softer = {"name": "vise with soft jaws", "soft": True, "opening": 90.0}
    soft = plain.shop.devices["vise"].model_copy(update=softer)
    there = {**plain.shop.devices, "soft": soft, "narrow": soft.model_copy(update={"opening": 39.0}),
             "loose": soft.model_copy(update={"squeeze": {}}), "low": soft.model_copy(update={"jaw_height": 5.0})}
    this = replace(plain, shop=plain.shop.model_copy(update={"devices": there}))
    assert OTHER_JAWS.values(this) == ["soft"] and OTHER_JAWS.say(this, "soft") == "in the vise with soft jaws"
    assert OTHER_JAWS.values(held(device="clamps", grip=[], grip_height="0 mm")) == []
    route = apply_edits(this.route, (("settings.first.holding.device", "soft"),))
    assert CHECK.evaluate(replace(this, route=route), rubs_more()).p_fail is not None


def rubs_more() -> Belief:
    """The soft jaws of that shop, with twice the friction."""
    return Belief.of([*columns(), column("device:soft", "squeeze:arm", 8000.0, 1.3),
                      column("device:soft", "friction", 0.3, 1.2)], rows=256)
