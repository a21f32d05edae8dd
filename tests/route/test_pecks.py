"""Pecks: by depth, and by how the chips come."""

from __future__ import annotations

import pytest

from firstoff.route.pecks import chips, pecks_of
from firstoff.shop.library import load_shop

MATERIALS = load_shop(None).materials


@pytest.mark.parametrize(("name", "how"), [
    ("brass_cz121", "short"), ("cast_iron_gg25", "short"), ("s275_hot_rolled", "usual"), ("al_6082", "long"),
    ("stainless_304", "long"), ("acetal", "long"),
])
def test_how_chips_come(name: str, how: str) -> None:
    assert chips(MATERIALS[name]) == how


def test_up_to_three_diameters_in_one_go_in_steel() -> None:
    assert pecks_of(MATERIALS["c45"], 4.0, 12.0) is None
    assert pecks_of(MATERIALS["c45"], 4.0, 13.0) == (12.0, 4.0)


def test_long_chips_are_fetched_sooner_and_short_ones_later() -> None:
    first = {name: (pecks_of(MATERIALS[name], 5.0, 60.0) or (0.0, 0.0)) for name in ("al_6082", "c45", "brass_cz121")}
    assert first["al_6082"] < first["c45"] < first["brass_cz121"]


def test_pecks_can_be_set_by_eye() -> None:
    for size in (0.7, 1.3, 3.3, 7.9):
        found = pecks_of(MATERIALS["c45"], size, 100.0)
        assert found is not None and all(length > 0.0 and round(length * 10.0, 6).is_integer() for length in found)
