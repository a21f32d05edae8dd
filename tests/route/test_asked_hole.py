"""What a person asks of a hole: read as it is meant, refused where it could mean two things."""

from __future__ import annotations

import pytest

from firstoff.errors import FirstoffError, InputError, NameUnknown, UnitError
from firstoff.route.asked_hole import depth_asked, hole_asked, machine_meant, material_meant
from firstoff.shop.library import load_shop

SHOP = load_shop(None)


@pytest.mark.parametrize(("text", "kind", "diameter"), [
    ("M5", "thread", 5.0), ("1/4-20", "thread", 6.35), ("10", "plain", 10.0), ("6.5 mm", "plain", 6.5),
    ("1/4 in", "plain", 6.35), ('1/4"', "plain", 6.35), ("Ø4 H7", "ream", 4.0), ("4 H7", "ream", 4.0),
    ("4 mm H7", "ream", 4.0), ("Ø10", "plain", 10.0), ("clearance M5", "clearance", 5.5),
    ("M5 clearance", "clearance", 5.5), ("csk M4", "countersink", 4.5), ("M4 countersunk", "countersink", 4.5),
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


@pytest.mark.parametrize(("word", "key"), [
    ("s275", "s275_hot_rolled"), ("c45", "c45"), ("6082", "al_6082"), ("brass", "brass_cz121"),
    ("304", "stainless_304"), ("aluminium 6082", "al_6082"),
])
def test_words_for_materials(word: str, key: str) -> None:
    assert material_meant(word, SHOP).key == key


def test_other_meanings_are_told() -> None:
    assert "s275_cold_drawn" in material_meant("s275", SHOP).others


def test_words_for_machines() -> None:
    assert machine_meant("press", SHOP).key == "drill_press"
    assert machine_meant(None, SHOP).key == "drill_press"
    assert machine_meant("knee", SHOP).key == "knee"


def test_an_unknown_name_tells_what_is_known() -> None:
    for word in ("unobtainium", "", "?"):
        with pytest.raises(NameUnknown) as caught:
            material_meant(word, SHOP)
        assert caught.value.right
    still = SHOP.model_copy(update={"machines": {"hand_tools": SHOP.machines["hand_tools"]}})
    with pytest.raises(InputError, match="spindle"):
        machine_meant(None, still)
