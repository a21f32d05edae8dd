"""Jaws, parallels, bed and stop about a part."""

from __future__ import annotations

from typing import Any

from firstoff.dryrun.fouls import STOP, STRAP, THIN, TIP, boxes_of
from firstoff.dryrun.placing import Placed
from firstoff.removal.collisions import Box
from tests.checks.builders import case, setting


def boxes(**holding: Any) -> dict[str, list[Box]]:
    this = case(place=setting(holding=holding))
    placed = Placed(this.part, this.wanted, this.setting, this.shop.devices[this.setting.holding.device])
    zero = placed.zero()
    assert zero is not None
    found: dict[str, list[Box]] = {}
    for box in boxes_of(placed, zero)[0]:
        found.setdefault(box.name, []).append(box)
    return found


def test_jaws_stand_against_the_work_as_high_as_they_grip() -> None:
    found = boxes()
    fixed, moving = found["fixed jaw"][0], found["moving jaw"][0]
    assert fixed.high[1] == 0.0 and moving.low[1] == 40.0
    assert fixed.high[2] == moving.high[2] == -10.0          # 10 mm up a part of 20, zero on top
    assert found["bed"][0].high[2] == -20.0 and "parallel" not in found


def test_jaws_are_as_thick_as_their_vise_says() -> None:
    this = case()
    device = this.shop.devices[this.setting.holding.device].model_copy(update={"jaw_thickness": 45.0})
    placed = Placed(this.part, this.wanted, this.setting, device)
    drawn, told = (
        {box.name: box for box in boxes_of(Placed(this.part, this.wanted, this.setting, one), (0.0, 0.0, 0.0))[0]}
        for one in (this.shop.devices[this.setting.holding.device], device))
    assert placed.device is device
    assert told["fixed jaw"].high[1] - told["fixed jaw"].low[1] == 45.0 == (
        told["moving jaw"].high[1] - told["moving jaw"].low[1])
    assert told["fixed jaw"].high[1] == drawn["fixed jaw"].high[1], "against the work as before"
    assert told["moving jaw"].low[1] == drawn["moving jaw"].low[1]


def test_parallels_are_thin_strips_along_both_jaws() -> None:
    strips = boxes(parallels="12 mm")["parallel"]
    assert [(s.low[1], s.high[1]) for s in strips] == [(0.0, THIN), (40.0 - THIN, 40.0)]
    assert all((s.low[2], s.high[2]) == (-32.0, -20.0) for s in strips)


def test_a_stop_is_beyond_its_face_and_no_higher_than_the_jaws() -> None:
    stop = boxes(stop="+X")["stop"][0]
    assert (stop.low[0], stop.high[0]) == (60.0, 60.0 + STOP) and stop.high[2] == -10.0


def test_straps_reach_from_where_they_press_over_the_nearest_edge() -> None:
    places = [["8 mm", "20 mm"], ["30 mm", "36 mm"]]
    left, back = boxes(device="clamps", grip=[], grip_height="0 mm", clamps=places)["clamp"]
    assert (left.low[0], left.high[0]) == (-STRAP[2], 8.0 + TIP / 2), "over the left edge"
    assert (back.low[1], back.high[1]) == (36.0 - TIP / 2, 40.0 + STRAP[2]), "over the back edge"
    assert left.low[2] == 0.0 and left.high[2] == STRAP[1], "on top, where zero is"
    this = case(place=setting(holding={"device": "clamps", "grip": [], "grip_height": "0 mm", "clamps": places}))
    placed = Placed(this.part, this.wanted, this.setting, this.shop.devices["clamps"])
    assert boxes_of(placed, (0.0, 0.0, 0.0))[1] == (), "nothing is unknown then"


def test_where_nobody_knows_what_stands_there_it_is_told() -> None:
    this = case(place=setting(holding={"device": "carrier", "grip": [], "grip_height": "0 mm"}))
    placed = Placed(this.part, this.wanted, this.setting, this.shop.devices["carrier"])
    found, lacking = boxes_of(placed, (0.0, 0.0, 0.0))
    assert [box.name for box in found] == ["bed"] and "carrier" in lacking[0]
