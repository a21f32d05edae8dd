"""A setting proves that it can be held: rest and grips there, parallel, deep enough, within the jaws."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.job.faces import DIRECTIONS, dot
from firstoff.part.shapes import Feature, Vector
from firstoff.route.blank import blank_of
from firstoff.route.proof import ABOVE, Now, across_of, corners, flat_now, seat_of, stands_out, why_not
from firstoff.route.settings import GRIP, Draft, Work
from firstoff.shop.models import Device
from tests.route.made import blank, block, example_job, example_parts, shop

VISE: Device = shop().devices["vise_100"]
Z = DIRECTIONS["+Z"]


def draft(up: Vector = Z, rest: str = "-Z", grip: tuple[str, ...] = ("+Y", "-Y"), *work: Work) -> Draft:
    return Draft("vise", up, rest, grip, work)


def fresh() -> Now:
    return Now(dict(blank().allowance))


def test_a_raw_block_can_be_held() -> None:
    why, seat = why_not(blank(), draft(Z, "-Z", ("+Y", "-Y"), Work("face", "+Z", 1.0)), fresh(), VISE)
    assert why == ""
    assert seat.grip_height + seat.stick_up == pytest.approx(22.0)
    assert seat.grip_height >= GRIP
    assert seat.stick_up >= 1.0 + ABOVE


@given(st.floats(12.0, 90.0), st.floats(0.1, 2.0))
def test_the_cut_stays_above_the_jaws(height: float, over: float) -> None:
    size = ["62 mm", "44 mm", f"{height + 2 * over} mm"]
    laid = blank(block((60.0, 40.0, height)), stock={"size": size})
    why, seat = why_not(laid, draft(Z, "-Z", ("+Y", "-Y"), Work("face", "+Z", over)), Now(dict(laid.allowance)), VISE)
    assert why == ""
    assert seat.stick_up >= over + ABOVE - 1e-9
    assert seat.parallels + seat.grip_height == pytest.approx(VISE.jaw_height or 0.0) or seat.grip_height < 32.0


@pytest.mark.parametrize(("grip", "words"), [
    (("+Y", "+X"), "not parallel"), (("+Z", "-Z"), "not parallel and upright"), ((), "no two parallel sides"),
])
def test_grips_must_be_parallel_and_upright(grip: tuple[str, ...], words: str) -> None:
    assert words in why_not(blank(), draft(Z, "-Z", grip), fresh(), VISE)[0]


def test_wider_than_the_jaws() -> None:
    laid = blank(block((200.0, 140.0, 20.0)), stock={"size": ["202 mm", "142 mm", "22 mm"]})
    assert "wider than the 100 mm" in why_not(laid, draft(), Now(dict(laid.allowance)), VISE)[0]


def test_too_little_between_the_jaws() -> None:
    why, _ = why_not(blank(), draft(Z, "-Z", ("+Y", "-Y"), Work("face", "+Z", 20.5)), fresh(), VISE)
    assert "would be between the jaws" in why


def test_a_dome_that_is_cut_is_no_rest_any_more() -> None:
    laid = blank_of("cap", example_job().parts["cap"], example_parts()["cap"])
    before = Now(dict(laid.allowance))
    upside_down = draft(DIRECTIONS["-Z"], "+Z")
    assert why_not(laid, upside_down, before, VISE)[0] == "", "raw stock still lies flat"
    glued = Draft("carrier", Z, "-Z", (), (Work("face", "+Z", 1.0), Work("feature", "free_form-1")))
    after = before.after(laid, glued)
    assert "no flat at +Z to rest on" in why_not(laid, upside_down, after, VISE)[0]


def test_glue_wants_a_milled_flat() -> None:
    laid = blank_of("cap", example_job().parts["cap"], example_parts()["cap"])
    glued = Draft("carrier", Z, "-Z", (), ())
    now = Now(dict(laid.allowance))
    assert "not yet flat" in why_not(laid, glued, now, shop().devices["carrier"])[0]
    flat = now.after(laid, Draft("vise", DIRECTIONS["-Z"], "+Z", ("+Y", "-Y"), (Work("face", "-Z", 1.25),)))
    assert why_not(laid, glued, flat, shop().devices["carrier"])[0] == ""


def test_grips_that_a_feature_has_eaten_are_gone() -> None:
    """A step that takes the upper half of +Y away: jaws that reach only there find nothing."""
    part = block()
    step = Feature("step-1", "step", (13,), access=(Z,), size={"depth": 15.0, "width": 5.0})
    short = tuple(replace(f, high=(f.high[0], f.high[1], 5.0)) if f.number == 3 else f for f in part.faces)
    cut_part = replace(part, faces=short, features=(*part.features, step))
    laid = blank(cut_part, stock={"size": ["60 mm", "40 mm", "20 mm"], "condition": "milled"})
    up_side_down = draft(DIRECTIONS["-Z"], "+Z")
    whole, eaten = Now(dict(laid.allowance)), Now(dict(laid.allowance), frozenset({"step-1"}))
    assert why_not(laid, up_side_down, whole, VISE)[0] == ""
    assert "flat on both sides" in why_not(laid, up_side_down, eaten, VISE)[0]


def test_the_box_shrinks_as_sides_come_off() -> None:
    now = fresh().after(blank(), draft(Z, "-Z", ("+Y", "-Y"), Work("face", "+Z", 0.7, leaves=0.3)))
    assert corners(blank(), now)[1][2] == pytest.approx(20.3)
    assert corners(blank(), now)[0] == corners(blank(), fresh())[0]
    assert flat_now(blank(), "+Z", now) == corners(blank(), now)


def test_what_goes_through_is_kept_off_the_vise() -> None:
    through = draft(Z, "-Z", ("+Y", "-Y"), Work("feature", "hole-1"))
    assert seat_of(blank(), through, fresh(), VISE).parallels > 0.0


def test_a_slot_that_opens_into_a_jaw_stands_out_of_it() -> None:
    part = block()
    slot = Feature("slot-1", "slot", (3,), access=(Z,), size={"depth": 9.0, "width": 5.0})
    faces = tuple(replace(f, low=(f.low[0], f.low[1], 11.0)) if f.number == 3 else f for f in part.faces)
    opened = blank(replace(part, faces=faces, features=(*part.features, slot)))
    assert stands_out(opened, draft(Z, "-Z", ("+Y", "-Y"), Work("feature", "slot-1"))) == pytest.approx(9.0)
    assert stands_out(blank(), draft(Z, "-Z", ("+Y", "-Y"), Work("feature", "pocket-1"))) == 0.0


@pytest.mark.parametrize("up", ["+Z", "-Z", "+X", "-Y"])
def test_the_fixed_jaw_is_at_the_back(up: str) -> None:
    grip = next((f"+{a}", f"-{a}") for a in "XYZ" if a != up[1])
    right = across_of(blank(), draft(DIRECTIONS[up], "-Z", grip))
    u = DIRECTIONS[up]
    back = (u[1] * right[2] - u[2] * right[1], u[2] * right[0] - u[0] * right[2], u[0] * right[1] - u[1] * right[0])
    assert dot(back, DIRECTIONS[grip[0]]) == pytest.approx(1.0)
    assert dot(right, u) == pytest.approx(0.0)
