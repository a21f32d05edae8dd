"""What a person asks of a hole: read as it is meant, refused where it could mean two things."""

from __future__ import annotations

import pytest

from firstoff.errors import FirstoffError, InputError, UnitError
from firstoff.route.asked_hole import (
    Own,
    depth_asked,
    hole_asked,
    own_asked,
)
from firstoff.shop.library import load_shop

SHOP = load_shop(None)


@pytest.mark.parametrize(("text", "kind", "diameter"), [
    ("M5", "thread", 5.0), ("1/4-20", "thread", 6.35), ("10", "plain", 10.0), ("6.5 mm", "plain", 6.5),
    ("1/4 in", "plain", 6.35), ('1/4"', "plain", 6.35), ("Ø4 H7", "ream", 4.0), ("4 H7", "ream", 4.0),
    ("4 mm H7", "ream", 4.0), ("Ø10", "plain", 10.0), ("clearance M5", "clearance", 5.5),
    ("M5 tapped", "thread", 5.0), ("tap M5", "thread", 5.0), ("M5 6H", "thread", 5.0), ("No. 7", "plain", 5.105),
    ("F", "plain", 6.528), ("M5 clearance", "clearance", 5.5),
    ("csk M4", "countersink", 4.5), ("M4 countersunk", "countersink", 4.5),
])
def test_ways_to_ask(text: str, kind: str, diameter: float) -> None:
    found = hole_asked(text, "mm")
    assert (found.kind, found.said) == (kind, text)
    assert found.diameter == pytest.approx(diameter)


@pytest.mark.parametrize("text", ["M7", "0", "-3 mm", "nan", "1e400 mm", "90 mm", "4 H3", "csk", "csk M2", "hole", "",
                                  "M5x12", "5 kg"])
def test_what_cannot_be_drilled_is_refused_with_what_would_be_right(text: str) -> None:
    with pytest.raises(FirstoffError) as caught:
        hole_asked(text, "mm")
    assert isinstance(caught.value, InputError) and caught.value.right


@pytest.mark.parametrize("text", ["3/8", "1 3/8", "Ø1/4"])
def test_a_fraction_without_its_unit_is_asked_for_it(text: str) -> None:
    with pytest.raises(InputError, match="has no unit") as caught:
        hole_asked(text, "mm")
    assert caught.value.right == f'"{text.removeprefix("Ø")} in"'


def test_a_bare_number_in_a_shop_of_inches_is_refused() -> None:
    with pytest.raises(UnitError, match="mm or inches"):
        hole_asked("10", "in")
    assert hole_asked("10 mm", "in").diameter == 10.0


def test_depths() -> None:
    hole = hole_asked("M5", "mm")
    assert depth_asked(None, hole, "mm", "--depth") is None
    assert depth_asked("8 mm", hole, "mm", "--depth") == 8.0
    assert depth_asked("3/8 in", hole, "in", "--depth") == pytest.approx(9.525)
    for text in ("0 mm", "-1 mm", "500 mm", "deep", "8"):
        with pytest.raises(InputError) as caught:
            depth_asked(text, hole, "in", "--depth")
        assert caught.value.where == "--depth" and caught.value.right


def test_a_depth_below_nothing_is_told_as_such() -> None:
    with pytest.raises(InputError, match="-3 mm deep"):
        depth_asked("-3", hole_asked("M5", "mm"), "mm", "--depth")


def test_own_numbers() -> None:
    ten, m5 = hole_asked("10", "mm"), hole_asked("M5", "mm")
    assert own_asked({}, ten, "mm") == Own()
    for text in ("6 mm, 10 mm", "6 mm,10 mm", "6, 10", "6 mm then 10 mm"):
        assert own_asked({"drills": text}, ten, "mm").drills == (6.0, 10.0)
    own = own_asked({"drills": "4.3", "speed": "500 rpm", "feed": "0.1 mm"}, m5, "mm")
    assert own.drilled(m5) == 4.3 and own.drilled(ten) is None
    assert own.turn == pytest.approx(52.36, rel=1e-3) and own.a_turn(52.36) == 0.1
    table = own_asked({"feed": "60 mm/min"}, ten, "mm")
    assert table.a_turn(500.0 * 3.14159265 / 30.0) == pytest.approx(60.0 / 500.0)


def test_slopes() -> None:
    ten = hole_asked("10", "mm")
    assert own_asked({"slope": "20 deg"}, ten, "mm").slope == pytest.approx(0.349, abs=1e-3)
    for text in ("-5 deg", "85 deg", "20", "steep"):
        with pytest.raises(InputError) as caught:
            own_asked({"slope": text}, ten, "mm")
        assert caught.value.where == "--slope" and caught.value.right


@pytest.mark.parametrize(("drills", "speed", "feed", "where"), [
    ("3,10", None, None, "--drills"),
    ("10 mm, 6 mm", None, None, "--drills"), ("12 mm", None, None, "--drills"), ("six", None, None, "--drills"),
    ("-6 mm", None, None, "--drills"), (None, "0 rpm", None, "--speed"), (None, "500", None, "--speed"),
    (None, "nan rpm", None, "--speed"), (None, None, "2 mm", "--feed"), (None, None, "0 mm", "--feed"),
    (None, None, "-5 mm/min", "--feed"), (None, None, "fast", "--feed"),
])
def test_own_numbers_that_cannot_be(drills: str | None, speed: str | None, feed: str | None, where: str) -> None:
    with pytest.raises(InputError) as caught:
        own_asked({"drills": drills, "speed": speed, "feed": feed}, hole_asked("10", "mm"), "mm")
    assert caught.value.where == where and caught.value.right


def test_a_tap_must_find_metal_and_a_reamer_too() -> None:
    for size, drill in (("M5", "5 mm"), ("M5", "4.95 mm"), ("4 H7", "4 mm")):
        with pytest.raises(InputError, match="leaves nothing to"):
            own_asked({"drills": drill}, hole_asked(size, "mm"), "mm")


def test_a_speed_that_the_spindle_has_not_is_told_with_those_that_it_has() -> None:
    press, mill = SHOP.machines["drill_press"].spindle, SHOP.machines["small_column"].spindle
    assert press is not None and mill is not None
    own = own_asked({"speed": "600 rpm"}, hole_asked("10", "mm"), "mm")
    own.on(mill)
    with pytest.raises(InputError) as caught:
        own.on(press)
    assert "500 rpm, 900 rpm" in caught.value.right
    with pytest.raises(InputError, match="no speed"):
        own_asked({"speed": "9000 rpm"}, hole_asked("10", "mm"), "mm").on(mill)
