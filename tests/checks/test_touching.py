from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.checks._gives_way import Cutting, push_borne
from firstoff.checks._touching import ALONG, PARALLEL, STIFF, TIP, contacts_of, missing, touching
from firstoff.checks.base import Case, State
from firstoff.holding.contact import settle
from firstoff.part.shapes import Face, Feature
from tests.checks.builders import LENGTH, WIDTH, block, case, setting


def placed(part: Any = None, state: State | None = None, **holding: Any) -> Case:
    return case(place=setting(holding=holding), part=part, state=state)


def by_name(found: Case) -> dict[str, list[Any]]:
    names: dict[str, list[Any]] = {}
    for patch in touching(found):
        names.setdefault(patch.name, []).append(patch)
    return names


def test_jaws_touch_as_high_as_the_grip_and_press_on_one_another() -> None:
    there = by_name(placed())
    fixed, moving = there["fixed jaw"][0], there["moving jaw"][0]
    assert fixed.area == pytest.approx(LENGTH * 10.0) and moving.area == pytest.approx(LENGTH * 10.0)
    assert np.allclose(fixed.normal, -moving.normal) and (fixed.clamp, moving.clamp) == (-1, 0)
    assert np.average(fixed.points, axis=0, weights=fixed.areas) == pytest.approx([LENGTH / 2, 0.0, 5.0])


def test_parallels_are_two_strips_and_a_bare_bed_is_all_of_it() -> None:
    assert sum(p.area for p in by_name(placed())["rest"]) == pytest.approx(LENGTH * WIDTH)
    strips = by_name(placed(parallels="10 mm"))["rest"]
    assert [p.area for p in strips] == pytest.approx([LENGTH * PARALLEL] * 2)
    assert sorted(float(p.points[:, 1].mean()) for p in strips) == pytest.approx([2.5, WIDTH - 2.5])


def test_a_jaw_is_no_longer_than_it_is() -> None:
    narrow = placed()
    vise = narrow.shop.devices["vise"].model_copy(update={"width": 20.0})
    shop = narrow.shop.model_copy(update={"devices": {**narrow.shop.devices, "vise": vise}})
    assert by_name(replace(narrow, shop=shop))["fixed jaw"][0].area == pytest.approx(20.0 * 10.0)


def slotted() -> Any:
    """A slot of 12 from below through the block's -Z face, along x between y 14 and 26."""
    walls = Face(6, 0, "plane", 1.0, (30.0, 20.0, 5.0), (0.0, 0.0, -1.0), (0.0, 14.0, 0.0), (60.0, 26.0, 5.0))
    part = block(Feature("slot-1", "slot", (6,)), faces=(walls,))
    outline = tuple((x, y, 0.0) for x, y in ((0, 0), (60, 0), (60, 14), (0, 14)))
    other = tuple((x, y, 0.0) for x, y in ((0, 26), (60, 26), (60, 40), (0, 40)))
    below = replace(part.faces[4], outlines=(outline, other))
    return replace(part, faces=(*part.faces[:4], below, *part.faces[5:]))


def test_what_is_cut_away_does_not_touch_and_what_still_stands_does() -> None:
    before = by_name(placed(slotted(), State("block", frozenset())))["rest"]
    after = by_name(placed(slotted(), State("block", frozenset({"slot-1"}))))["rest"]
    assert sum(p.area for p in before) == pytest.approx(LENGTH * WIDTH)
    assert sum(p.area for p in after) == pytest.approx(LENGTH * (WIDTH - 12.0), rel=0.05)


def test_clamps_press_on_top_at_both_ends() -> None:
    clamps = by_name(placed(device="clamps", grip=[], grip_height="0 mm"))["clamp"]
    assert [c.clamp for c in clamps] == [0, 1] and [c.area for c in clamps] == pytest.approx([TIP**2] * 2)
    assert all(np.allclose(c.normal, (0.0, 0.0, -1.0)) for c in clamps)
    assert [float(c.points[:, 0].mean()) for c in clamps] == pytest.approx([TIP, LENGTH - TIP])


def test_clamps_press_where_the_setting_says_on_what_stands_there() -> None:
    pressed: dict[str, Any] = {"device": "clamps", "grip": [], "grip_height": "0 mm"}
    clamps = by_name(placed(**pressed, clamps=[["10 mm", "20 mm"], ["50 mm", "5 mm"], ["30 mm", "35 mm"]]))["clamp"]
    assert [c.clamp for c in clamps] == [0, 1, 2]
    middles = [tuple(np.round(c.points.mean(axis=0)[:2], 6)) for c in clamps]
    assert middles == [(10.0, 20.0), (50.0, 5.0), (30.0, 35.0)]
    off = by_name(placed(**pressed, clamps=[["90 mm", "20 mm"], ["10 mm", "20 mm"]]))["clamp"]
    assert [c.clamp for c in off] == [1], "beside the part a clamp presses on nothing"


def test_a_clamp_on_a_step_presses_lower() -> None:
    step = Face(6, 0, "plane", 800.0, (50.0, 20.0, 12.0), (0.0, 0.0, 1.0), (40.0, 0.0, 12.0), (60.0, 40.0, 12.0))
    wall = Face(7, 0, "plane", 320.0, (40.0, 20.0, 16.0), (1.0, 0.0, 0.0), (40.0, 0.0, 12.0), (40.0, 40.0, 20.0))
    low = block(Feature("step-1", "step", (6, 7)), faces=(step, wall))
    top = replace(low.faces[5], low=(0.0, 0.0, 20.0), high=(40.0, 40.0, 20.0))
    part = replace(low, faces=(*low.faces[:5], top, *low.faces[6:]))
    pressed = {"device": "clamps", "grip": [], "grip_height": "0 mm", "clamps": [["50 mm", "20 mm"]]}
    cut = by_name(placed(part, State("block", frozenset({"step-1"})), **pressed))["clamp"][0]
    assert cut.points[:, 2] == pytest.approx(12.0)


def test_a_rod_is_a_line_half_way_up_the_grip() -> None:
    there = by_name(placed(rod=True))
    (rod,) = there["rod"]
    assert "moving jaw" not in there and rod.clamp == 0
    assert rod.points[:, 2] == pytest.approx(5.0, abs=0.01) and len(rod.points) == 3
    assert missing(placed(rod=True), touching(placed(rod=True))) == ""


def test_a_wedge_clamp_presses_down_too() -> None:
    flat = placed()
    pulls = flat.shop.devices["vise"].model_copy(update={"pull_down": 0.1})
    down = replace(flat, shop=flat.shop.model_copy(update={"devices": {**flat.shop.devices, "vise": pulls}}))
    moving = by_name(down)["moving jaw"][0]
    assert moving.normal == pytest.approx([0.0, -np.cos(0.1), -np.sin(0.1)])
    # tightened, the rest carries the sine of its force
    contacts = contacts_of(touching(down))
    found = settle(contacts, np.full((1, 1), 0.0), np.full((1, 1), 1000.0))
    rests = np.array([p.name == "rest" for p in touching(down) for _ in p.areas])
    assert found.pressing[0, rests].sum() == pytest.approx(1000.0 * np.sin(0.1), rel=0.02)


def test_two_clamps_of_unequal_area_are_as_stiff_as_each_other() -> None:
    places = [["10 mm", "20 mm"], ["58 mm", "20 mm"]]
    patches = touching(placed(device="clamps", grip=[], grip_height="0 mm", clamps=places))
    contacts = contacts_of(patches)
    assert [contacts.stiffness[contacts.clamp == k].sum() for k in (0, 1)] == pytest.approx([STIFF["clamp"]] * 2)


def test_a_stop_stands_low_at_its_face() -> None:
    stop = by_name(placed(stop="-X"))["stop"][0]
    assert np.allclose(stop.normal, (1.0, 0.0, 0.0)) and stop.points[:, 2].max() < TIP
    assert stop.clamp == -1


def test_springs_share_a_thing_by_area() -> None:
    patches = touching(placed(parallels="10 mm"))
    contacts = contacts_of(patches)
    assert contacts.clamps == 1 and len(contacts.point) == sum(len(p.areas) for p in patches)
    assert contacts.stiffness.sum() == pytest.approx(STIFF["fixed jaw"] + STIFF["moving jaw"] + STIFF["rest"])
    assert contacts.side_stiffness == pytest.approx(ALONG * contacts.stiffness)
    assert contacts.point.max() < 0.1       # metres
    assert len(contacts_of(()).point) == 0


def test_what_should_touch_and_does_not_is_named() -> None:
    whole = placed()
    assert missing(whole, touching(whole)) == ""
    assert "moving jaw does not touch +Y" in missing(
        whole, tuple(p for p in touching(whole) if p.name != "moving jaw"))
    assert "nothing lies under it" in missing(whole, tuple(p for p in touching(whole) if p.name != "rest"))
    pressed = placed(device="clamps", grip=[], grip_height="0 mm")
    assert "no clamp" in missing(pressed, tuple(p for p in touching(pressed) if p.name != "clamp"))
    lost = placed(rest="keel")
    assert "nothing lies under it: keel" in missing(lost, touching(lost))


def test_how_stiff_each_thing_is_hardly_matters_for_what_a_vise_bears(monkeypatch: pytest.MonkeyPatch) -> None:
    """The stiffnesses are judged, × and ÷ 2; what the part bears moves by less than 5 % with them."""
    this, rng = case(), np.random.default_rng(0)
    cutting = Cutting(np.ones(1), np.eye(3)[:1], np.eye(3)[2], np.array([0.3]), np.array([[0.05, 0.02, 0.02]]),
                      np.zeros((1, 3)))

    def borne() -> float:
        contacts = contacts_of(touching(this))
        return float(push_borne(contacts, np.array([0.15]), np.array([8000.0]), cutting)[0])

    as_judged = borne()
    for _ in range(6):
        for name, stiff in STIFF.items():
            monkeypatch.setitem(STIFF, name, stiff * 2.0 ** rng.uniform(-1.0, 1.0))
        assert borne() == pytest.approx(as_judged, rel=0.05)
