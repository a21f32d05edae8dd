"""A material of which little is known still has forces, wide enough to cover what is published of such."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.shop.columns import columns_of
from firstoff.shop.fill import RATIOS, filled, group_rows
from firstoff.shop.library import load_shop
from firstoff.shop.models import Figure, Material
from firstoff.tomlfile import KEPT

MM2 = 1e6


def made(**values: Any) -> Material:
    return Material.model_validate({"name": "bar", **values}, context=KEPT)


def figure(material: Material, name: str) -> Figure:
    found = getattr(material, name)
    assert isinstance(found, Figure)
    return found


@pytest.mark.parametrize("group", ["P", "M", "K", "N", "S", "H", "plastic", "wood"])
def test_a_group_alone_is_enough(group: str) -> None:
    whole = filled(made(group=group))
    for name in ("tangential", "tangential_edge", *RATIOS, "drilling_force"):
        assert figure(whole, name).value > 0.0
    kc = [row.kc11.value for row in group_rows() if row.group == group]
    assert min(kc) * (1 - 1e-9) <= figure(whole, "drilling_force").value <= max(kc) * (1 + 1e-9)


def test_strength_picks_the_rows_of_the_list() -> None:
    def strong(value: float) -> Material:
        return filled(made(group="S", tensile_strength={"value": value * MM2, "factor": 1.1, "source": "en10083"}))

    # vdi3323: titanium 400 N/mm2 1160, 1050 N/mm2 1245; nickel alloys, without strength there, 3300
    assert 1160 * MM2 <= figure(strong(600), "drilling_force").value <= 1245 * MM2
    assert figure(filled(made(group="S")), "drilling_force").value > 1.3 * figure(strong(600), "drilling_force").value
    assert (figure(filled(made(group="S")), "drilling_force").factor or 0) > 1.5
    assert "at 600 N/mm2" in figure(strong(600), "drilling_force").note


def test_the_own_power_law_comes_first() -> None:
    # klocke2011: St 37/42, 1780 N/mm2 and 0.17: what the starter library says of mild steel
    bare = made(group="P", drilling_force={"value": 1780 * MM2, "factor": 1.25, "source": "klocke2011"},
                drilling_exponent=0.17)
    whole, book = filled(bare), load_shop(None).materials["s275_hot_rolled"]
    for name in ("tangential", "tangential_edge", *RATIOS):
        assert figure(whole, name).value == pytest.approx(figure(book, name).value, rel=0.02)
    assert figure(whole, "tangential").source == "klocke2011"


@pytest.mark.parametrize("key", ["s275_hot_rolled", "c45", "stainless_304", "cast_iron_gg25", "al_6082",
                                 "brass_cz121"])
def test_the_group_covers_what_is_published_of_the_material(key: str) -> None:
    # the force at a chip of 0.05 mm by group and strength, two spreads wide, holds that of the book
    book = load_shop(None).materials[key]
    bare = filled(Material(name=book.name, group=book.group, tensile_strength=book.tensile_strength))

    def force(material: Material) -> float:
        return figure(material, "tangential").value * 5e-5 + figure(material, "tangential_edge").value

    spread = math.log(figure(bare, "tangential").factor or 1.0)
    assert abs(math.log(force(bare) / force(book))) < 2.0 * spread


def test_what_is_written_is_left_alone() -> None:
    own = {"value": 9e8, "factor": 1.1, "source": "measured"}
    whole = filled(made(group="N", tangential=own))
    assert figure(whole, "tangential").value == 9e8
    assert figure(whole, "radial").value == pytest.approx(0.4 * 9e8)
    book = load_shop(None).materials["al_6082"]
    assert filled(book) is book
    mixture = load_shop(None).materials["unknown_bar"]
    assert filled(mixture) is mixture


def test_a_shop_may_name_a_material_by_its_group(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text('name = "small"\n[materials.bar]\nname = "some steel"\ngroup = "P"\n')
    shop = load_shop(tmp_path)
    rows = Belief.of(columns_of(shop), rows=256).value("material:bar", "tangential")
    assert np.all(rows > 0.0)
    assert np.std(np.log(rows)) > 0.25
