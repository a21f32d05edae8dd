"""Words for machines and metals, and what else they could have meant."""

from __future__ import annotations

import pytest

from firstoff.errors import InputError, NameUnknown
from firstoff.route.meant import doubtful, machine_meant, material_meant, mill_meant
from firstoff.shop.library import load_shop

SHOP = load_shop(None)


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


def test_a_metal_that_is_not_in_the_book_is_asked_for_its_group() -> None:
    for word in ("titanium", "copper"):
        with pytest.raises(NameUnknown) as caught:
            material_meant(word, SHOP)
        assert "known: s275" in caught.value.right and "ISO 513 group" in caught.value.right


def test_who_asks_for_a_cut_may_name_a_machine_by_a_word_or_a_class() -> None:
    assert mill_meant("gantry", SHOP).key == "light_gantry" and mill_meant("knee", SHOP).key == "knee"
    assert mill_meant("anvil", SHOP).key == "anvil", "that is refused where machines and classes are known"
    read = {"machine": mill_meant("mill", SHOP), "material": material_meant("brass", SHOP)}
    assert doubtful(read) == (("machine", "light_gantry", ("small_column", "knee")),)
