"""What makes a feature: roles in order, what each leaves, and why something cannot be made."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from firstoff.job.faces import DIRECTIONS
from firstoff.part.shapes import Face, Feature, Part
from firstoff.route import holes
from firstoff.route.proof import Now
from firstoff.route.settings import LEFT_FOR_LAST, Draft, Work
from firstoff.route.steps import FACE_LEAVES, ONE_CUT, OVER, ROUGH_LEAVES, Here, Step, steps_of
from firstoff.route.tools import MILLS
from firstoff.shop.models import Shop
from firstoff.tomlfile import KEPT
from tests.route.made import blank, block, moved, shop, shop_without


def here(part: Part | None = None, there: Shop | None = None, material: str = "al_6082",
         wish: holes.Wish | None = None, **changed: Any) -> Here:
    laid = blank(part, material=material, **changed)
    stand = there or shop()
    draft = Draft("vise", DIRECTIONS["+Z"], "-Z", ("+Y", "-Y"), (), takes=True)
    return Here(laid, draft, Now(dict.fromkeys(laid.allowance, 0.0)), stand, stand.machines["mill"],
                stand.materials[material], {"hole-1": wish} if wish else {}, stand.machines["press"])


def made(at: Here, work: Work) -> list[Step]:
    steps, missing = steps_of(at, work)
    assert missing == []
    return steps


def lacking(at: Here, work: Work) -> str:
    steps, missing = steps_of(at, work)
    assert steps == [] or all(s.role == "spot" for s in steps)
    return missing[0].because


def test_a_pocket_is_roughed_wide_and_finished_into_its_corners() -> None:
    rough, finish = made(here(), Work("feature", "pocket-1"))
    assert (rough.role, finish.role) == ("pocket_rough", "pocket_finish")
    assert rough.leaves == finish.removes == ROUGH_LEAVES
    assert rough.removes == 8.0
    assert rough.held is not None and finish.held is not None
    assert finish.held.tool.diameter <= 2.0 * 5.0
    assert rough.held.tool.diameter >= finish.held.tool.diameter


def test_the_card_says_how_a_cutter_goes_in() -> None:
    part = block()
    rough = made(here(part), Work("feature", "pocket-1"))[0]
    assert rough.notes[0] == ("goes in along a slant from end to end down to the depth of the pass, then level: "
                              "not straight down")
    beside = replace(part, features=tuple(replace(f, open=f.id == "pocket-1") for f in part.features))
    assert made(here(beside), Work("feature", "pocket-1"))[0].notes[0] == "starts beside the work, at the open end"


@pytest.mark.parametrize(("corner", "diameter"), [(5.0, 10.0), (4.0, 8.0), (3.0, 6.0), (2.0, 4.0)])
def test_the_cutter_goes_into_the_corner(corner: float, diameter: float) -> None:
    finish = made(here(block(corner=corner)), Work("feature", "pocket-1"))[-1]
    assert finish.held is not None
    assert finish.held.tool.diameter == diameter


def test_a_corner_that_is_too_tight_is_told_with_the_tool_that_would_do() -> None:
    assert "at most 2.0 mm in diameter" in lacking(here(block(corner=1.0)), Work("feature", "pocket-1"))


def test_rough_now_and_finish_last() -> None:
    rough, = made(here(), Work("feature", "pocket-1", stage="rough", leaves=LEFT_FOR_LAST))
    finish, = made(here(), Work("feature", "pocket-1", stage="finish"))
    assert rough.leaves == finish.removes == LEFT_FOR_LAST


@pytest.mark.parametrize(("over", "leaves", "roles"), [
    (2.0, 0.0, ["face_rough", "face_finish"]), (ONE_CUT, 0.0, ["face_finish"]), (1.35, 0.15, ["face_rough"]),
])
def test_faces(over: float, leaves: float, roles: list[str]) -> None:
    steps = made(here(), Work("face", "+Z", removes=over, leaves=leaves))
    assert [s.role for s in steps] == roles
    assert sum(s.removes for s in steps) == pytest.approx(over)
    assert steps[-1].leaves == leaves
    assert all(s.leaves == FACE_LEAVES for s in steps[:-1])
    assert all(s.features == ("stock-6",) for s in steps)


def test_only_the_first_pass_meets_scale() -> None:
    at = here(material="s275_hot_rolled", stock={"size": ["62 mm", "44 mm", "23 mm"], "condition": "hot_rolled",
                                                 "bow": "0.3 mm"})
    raw = replace(at, now=Now(dict(at.blank.allowance)))
    assert made(raw, Work("face", "+Z", removes=1.5))[0].removal.scale == 0.3
    assert made(at, Work("face", "+Z", removes=0.15))[0].removal.scale == 0.0


def test_half_a_flank_says_so() -> None:
    steps = made(here(), Work("flank", "+X", removes=1.0, deep=10.5))
    assert [s.role for s in steps] == ["side_rough", "side_finish"]
    assert all(s.height == 10.5 and any("10.5 mm deep here" in n for n in s.notes) for s in steps)
    assert all(s.height == 0.0 for s in made(here(), Work("flank", "+X", removes=1.0)))


def test_drills_that_the_mill_cannot_hold_or_would_burn_go_to_the_press() -> None:
    tapped = moved(block(), "hole-1", size={"diameter": 4.2, "depth": 20.0})
    at = here(tapped, material="brass_cz121", wish=holes.Wish("M5", 10.0))
    steps = made(at, Work("feature", "hole-1"))
    assert [(s.role, s.aside) for s in steps] == [("spot", False), ("drill", True), ("tap", True)]
    alone = made(replace(at, press=None), Work("feature", "hole-1"))
    assert [(s.role, s.aside, s.opens) for s in alone] == [
        ("spot", False, False), ("drill", False, True), ("drill", False, False), ("tap", False, False)]
    pilot, drill = alone[1:3]
    assert pilot.key == "hole-1-pilot" and pilot.held is not None and drill.pilot == pilot.held.tool.diameter
    assert 0.17 * 4.2 <= drill.pilot < 4.2 and pilot.removes == drill.removes and pilot.leaves > drill.leaves
    without = at.machine.model_copy(update={"collets": ("collet_4", "collet_6")})
    steps = made(replace(at, machine=without), Work("feature", "hole-1"))
    assert [(s.role, s.aside) for s in steps] == [("spot", False), ("drill", True), ("tap", True)]
    sunk = moved(block(), "hole-1", size={"diameter": 4.5, "depth": 20.0})
    steel = made(here(sunk, material="s275_hot_rolled"), Work("feature", "hole-1"))
    assert [(s.role, s.aside) for s in steel] == [("spot", False), ("drill", True)]


def test_a_through_hole_goes_as_far_as_it_must_into_what_is_still_below() -> None:
    part = moved(block(), "hole-1", size={"diameter": 5.5, "depth": 20.0})
    thin = made(here(part), Work("feature", "hole-1"))[-1]
    at = here(part)
    for below, more in ((0.4, 0.4), (6.0, OVER)):       # what is thicker comes off and opens the hole
        thick = made(replace(at, now=Now({**at.now.left, "-Z": below})), Work("feature", "hole-1"))[-1]
        assert thick.removes - thin.removes == pytest.approx(more)


def test_a_hole_on_a_slope_gets_a_flat_first() -> None:
    angle = math.radians(20.0)
    part = block()
    hole = part.feature("hole-1")
    bore = replace(next(f for f in part.faces if f.number == hole.faces[0]), neighbours=(99,))
    leaning = Face(99, 0, "plane", 100.0, hole.axis_point or (0.0, 0.0, 0.0), (math.sin(angle), 0.0, math.cos(angle)),
                   (0.0, 0.0, 0.0), (10.0, 10.0, 10.0))
    others = tuple(f for f in part.faces if f.number != bore.number)
    slanting = replace(part, faces=(*others, bore, leaning))
    steps = made(here(slanting), Work("feature", "hole-1"))
    flat, spot = steps[:2]
    assert (flat.key, flat.role, spot.key) == ("hole-1-flat", "spot", "hole-1-spot")
    assert flat.held is not None and flat.held.tool.kind in MILLS
    assert flat.held.tool.diameter <= part.feature("hole-1").size["diameter"] + 1e-6
    assert "20°" in flat.notes[0]
    assert next(s.key for s in made(here(), Work("feature", "hole-1"))) == "hole-1-spot"


def test_a_hole_without_its_drill() -> None:
    part = moved(block(), "hole-1", size={"diameter": 4.2, "depth": 20.0})
    at = here(part, shop_without("drill_4_2"), wish=holes.Wish("M5", 10.0))
    _, missing = steps_of(at, Work("feature", "hole-1"))
    assert "no 4.2 mm drill that reaches" in missing[0].because


def test_a_large_hole_is_milled() -> None:
    part = moved(block(), "hole-1", size={"diameter": 12.0, "depth": 20.0})
    faces = tuple(replace(f, radius=6.0, low=(0.0, 0.0, 0.0), high=(12.0, 12.0, 20.0)) if f.number == 12 else f
                  for f in part.faces)
    roles = [s.role for s in made(here(replace(part, faces=faces)), Work("feature", "hole-1"))]
    assert roles == ["spot", "pocket_rough", "pocket_finish"]


def edge() -> Part:
    return block(extra=(Feature("chamfer-1", "chamfer", (5,), access=(DIRECTIONS["+Z"],),
                                size={"width": 0.5, "angle": 45.0}),))


def test_a_chamfer_by_cutter_or_else_by_file() -> None:
    step, = made(here(edge()), Work("feature", "chamfer-1"))
    assert step.held is not None
    assert step.held.tool.point_angle == pytest.approx(math.pi / 2.0)
    by_file, = made(here(edge(), shop_without("chamfer_6", "chamfer_10")), Work("feature", "chamfer-1"))
    assert by_file.role == "file"


def test_a_hollow_form_wants_a_ball_that_goes_in() -> None:
    hollow = block(extra=(Feature("free_form-1", "free_form", (11,), access=(DIRECTIONS["+Z"],),
                                  size={"smallest_radius": 2.0}),))
    assert "no ball nose of at most 4 mm" in lacking(here(hollow), Work("feature", "free_form-1"))
    wide = moved(hollow, "free_form-1", size={"smallest_radius": 3.5})
    rough, finish = made(here(wide), Work("feature", "free_form-1"))
    assert rough.held is not None and rough.held.tool.diameter == 6.0
    assert rough.leaves == finish.removes


def test_by_hand() -> None:
    step, = made(here(), Work("feature", "pocket-1", stage="hand"))
    assert (step.role, step.removal.depth) == ("file", 0.0)


@pytest.mark.parametrize(("thrust", "aside"), [("100 N", True), ("2000 N", False)])
def test_a_drill_that_would_stall_a_weak_axis_goes_to_the_press(thrust: str, aside: bool) -> None:
    part = moved(block(), "hole-1", size={"diameter": 3.3, "depth": 20.0})
    at = here(part)
    figure = {"value": thrust, "factor": 1.5, "source": "measured"}
    mill = type(at.machine).model_validate({**at.machine.model_dump(exclude_unset=True), "axis_thrust": figure},
                                           context=KEPT)
    drill = made(replace(at, machine=mill), Work("feature", "hole-1"))[-1]
    assert (drill.role, drill.aside) == ("drill", aside)
