"""Every figure of a shop has its column, at the right level and below the right parent."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from firstoff.belief import Belief, Choice, Column, Level, LogNormal, Normal
from firstoff.shop.columns import (
    BY_BATCH,
    ENTITY,
    KINDS,
    MACHINE_SCATTER,
    SIGNED,
    apart_name,
    columns_of,
    figures,
    is_place,
    judged,
    like_name,
)
from firstoff.shop.library import load_shop
from firstoff.shop.models import Figure, Shop
from firstoff.sources import BIBLIOGRAPHY

SHOP = load_shop(None)
COLUMNS = {column.key: column for column in columns_of(SHOP)}


def all_figures(value: Any) -> Iterator[Figure]:
    """Every Figure inside a model, however deep, found without knowing any field."""
    if isinstance(value, Figure):
        yield value
    elif isinstance(value, BaseModel):
        for _, inner in value:
            yield from all_figures(inner)
    elif isinstance(value, dict):
        for inner in value.values():
            yield from all_figures(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from all_figures(inner)


def with_machine(**fields: Any) -> Shop:
    """The starter shop with other figures for its light gantry mill."""
    machine = SHOP.machines["light_gantry"].model_copy(update=fields)
    return SHOP.model_copy(update={"machines": {"light_gantry": machine}})


def test_every_figure_is_walked_once() -> None:
    walked = [item.figure for item in figures(SHOP)]
    assert sorted(map(id, walked)) == sorted(map(id, all_figures(SHOP)))


def test_every_figure_has_a_column_and_no_two_share_one() -> None:
    keys = [(item.entity, item.parameter) for item in figures(SHOP)]
    assert len(keys) == len(set(keys))
    assert {key for key in keys if key[1] not in ("apart", "like")} <= COLUMNS.keys()    # drawn for each of many
    assert len(COLUMNS) == len(columns_of(SHOP))


def test_every_column_says_where_it_comes_from() -> None:
    assert {column.source for column in COLUMNS.values()} <= BIBLIOGRAPHY.keys()
    assert all(column.unit for column in COLUMNS.values())


def test_every_parent_exists_and_multiplies() -> None:
    for column in COLUMNS.values():
        for parent in column.parents:
            assert parent in COLUMNS, column.key
            assert isinstance(column.transform, LogNormal), "a Normal would add its parent"
            assert isinstance(COLUMNS[parent].transform, LogNormal)


def test_nothing_that_must_be_above_zero_can_fall_below() -> None:
    belief = Belief.of(COLUMNS.values(), 256)
    for (entity, parameter), column in COLUMNS.items():
        if parameter not in SIGNED and not isinstance(column.transform, Choice):
            assert belief.value(entity, parameter).min() > 0.0, (entity, parameter)


@pytest.mark.parametrize(("entity", "parameter", "unit", "level"), [
    ("material:c45", "tangential", "Pa", Level.SHOP),
    ("material:c45", "tangential_edge", "N/m", Level.SHOP),
    ("material:c45", "batch", "1", Level.BATCH),
    ("material:c45", "cutting_speed:hss", "m/s", Level.SHOP),
    ("material:s275_hot_rolled", "scale_thickness", "mm", Level.BATCH),
    ("class:light_gantry", "stiffness_x", "N/m", Level.SHOP),
    ("machine:light_gantry", "stiffness_z", "N/m", Level.MACHINE),
    ("machine:light_gantry", "mode_frequency", "rad/s", Level.MACHINE),
    ("machine:light_gantry", "power", "W", Level.MACHINE),
    ("machine:light_gantry", "positioning", "mm", Level.OPERATION),
    ("machine:light_gantry", "touch_off", "mm", Level.SETTING),
    ("tool_material:hss", "rupture_strength", "Pa", Level.SHOP),
    ("collet:collet_6", "runout", "mm", Level.MACHINE),
    ("device:vise_100", "squeeze:fingers", "N", Level.CLAMPING),
    ("device:vise_100", "friction", "1", Level.CLAMPING),
    ("instrument:caliper", "uncertainty", "mm", Level.SHOP),
    ("discrepancy:force", "factor", "1", Level.SHOP),
    ("shop", "rubbing_ratio", "1", Level.SHOP),
    ("material:unknown_bar", "which", "1", Level.BATCH),
])
def test_columns_by_name(entity: str, parameter: str, unit: str, level: Level) -> None:
    column = COLUMNS[entity, parameter]
    assert (column.unit, column.level) == (unit, level)


def test_a_bar_multiplies_its_forces_and_nothing_else() -> None:
    for (entity, parameter), column in COLUMNS.items():
        if entity.startswith("material:"):
            own_batch = (entity, "batch") in COLUMNS and parameter in BY_BATCH
            assert column.parents == (((entity, "batch"),) if own_batch else ()), column.key


def test_a_machine_without_its_own_figure_stands_below_its_class() -> None:
    column, above = COLUMNS["machine:light_gantry", "stiffness_x"], COLUMNS["class:light_gantry", "stiffness_x"]
    assert column.parents == (above.key,)
    assert column.transform == LogNormal(1.0, MACHINE_SCATTER)
    rows = Belief.of(COLUMNS.values()).value(*column.key)
    assert np.median(rows) == pytest.approx(2e6, rel=0.02)
    assert np.log(rows).std() == pytest.approx(math.hypot(math.log(2.0), math.log(MACHINE_SCATTER)), rel=0.03)


def test_a_signed_figure_of_a_class_is_the_spread_of_its_machines() -> None:
    column = COLUMNS["machine:light_gantry", "squareness"]
    assert column.parents == ()
    assert column.transform == Normal(0.0, 5e-4)


def test_a_measured_machine_stands_alone() -> None:
    stiffness = Figure(value=2e6, sd=2e5, source="measured")
    own = SHOP.classes["light_gantry"].stiffness
    assert own is not None
    shop = with_machine(stiffness=own.model_copy(update={"x": stiffness, "y": stiffness, "z": stiffness}))
    columns = {column.key: column for column in columns_of(shop)}
    column = columns["machine:light_gantry", "stiffness_x"]
    assert (column.parents, column.source) == ((), "measured")
    assert columns["machine:light_gantry", "lost_motion"].parents == (("class:light_gantry", "lost_motion"),)
    rows = Belief.of([column], 4096).value(*column.key)
    assert (rows.mean(), rows.std()) == pytest.approx((2e6, 2e5), rel=0.01)


@given(st.floats(0.1, 1e3), st.floats(0.01, 2.0))
def test_a_deviation_keeps_mean_and_spread_above_zero(value: float, share: float) -> None:
    shop = with_machine(lost_motion=Figure(value=value, sd=value * share, source="measured"))
    found = next(c for c in columns_of(shop) if c.key == ("machine:light_gantry", "lost_motion"))
    law = found.transform
    assert isinstance(law, LogNormal)
    log_sd = math.log(law.factor)
    assert law.median * math.exp(log_sd**2 / 2.0) == pytest.approx(value)
    assert math.sqrt(math.expm1(log_sd**2)) == pytest.approx(share)


def test_a_mixture_chooses_among_its_materials() -> None:
    choice = COLUMNS["material:unknown_bar", "which"].transform
    assert isinstance(choice, Choice)
    weights = SHOP.materials["unknown_bar"].one_of
    assert choice == Choice(tuple(f"material:{name}" for name in weights), tuple(weights.values()))
    belief = Belief.of(COLUMNS.values())
    for parameter in ("tangential", "radial_edge", "drilling_force", "tensile_strength", "young", "batch"):
        assert belief.value("material:unknown_bar", parameter).shape == (belief.rows,)


def test_judged_figures_are_named_and_counted() -> None:
    names = judged(SHOP)
    assert len(names) == len(set(names)) == sum(f.source == "judged" for f in all_figures(SHOP))
    assert "classes.light_gantry.stiffness_x" in names
    assert "devices.vise_100.squeeze:fingers" in names
    assert "materials.s275_hot_rolled.tangential" not in names


def test_every_section_of_a_shop_has_a_word() -> None:
    tables = {name for name, value in SHOP if isinstance(value, dict)}
    assert tables == ENTITY.keys()


def test_a_new_tool_moves_no_other_row() -> None:
    tool = SHOP.tools["end_mill_6_2f"].model_copy(
        update={"edge_radius": Figure(value=0.01, factor=2.0, source="judged")})
    more = SHOP.model_copy(update={"tools": {"mine": tool, **SHOP.tools}})
    extra = {column.key: column for column in columns_of(more)}
    mills = ("light_gantry", "small_column", "knee")
    assert extra.keys() - COLUMNS.keys() == {("tool:mine", "edge_radius"), *(
        (f"machine:{mill}", apart_name("chatter", "tool:mine")) for mill in mills)}
    one, other = Belief.of(COLUMNS.values(), 64), Belief.of(extra.values(), 64)
    for key, column in COLUMNS.items():
        assert isinstance(column, Column)
        assert np.array_equal(one.value(*key), other.value(*key))


def test_a_mill_has_a_share_for_each_cutter_and_each_metal() -> None:
    for of in ("tool:end_mill_6_2f", "material:al_6082"):
        own = COLUMNS["machine:light_gantry", apart_name("chatter", of)]
        assert own.level is Level.MACHINE and own.source == "chenz2020" and own.parents == ()
    told = {key for key in COLUMNS if key[1].startswith("chatter_apart")}
    assert not any("drill_" in parameter or entity == "machine:drill_press" for entity, parameter in told)
    assert not {("discrepancy:chatter", "apart"), ("machine:light_gantry", "chatter_apart")} & COLUMNS.keys()


def test_a_mill_has_a_share_for_each_kind_of_cut() -> None:
    own = [COLUMNS["machine:light_gantry", like_name("chatter", number)] for number in range(KINDS)]
    assert {column.level for column in own} == {Level.MACHINE} and not any(column.parents for column in own)
    assert all(is_place(column.parameter) for column in own) and not is_place("chatter_factor")
    assert not any(is_place(parameter) for entity, parameter in COLUMNS if entity == "machine:drill_press")
    assert not {("discrepancy:chatter", "like"), ("machine:light_gantry", "chatter_like")} & COLUMNS.keys()


def test_a_mill_has_its_own_share_of_what_leans_with_the_direction() -> None:
    lean = COLUMNS["machine:light_gantry", "chatter_lean"]
    assert lean.parents == (("discrepancy:chatter", "lean"),) and lean.level is Level.MACHINE
    assert ("machine:drill_press", "chatter_lean") not in COLUMNS
    assert ("machine:light_gantry", "force_factor") not in COLUMNS
    found = Belief.of(COLUMNS.values())
    assert found.digest_of([lean.key]) != found.digest_of([("discrepancy:chatter", "lean")])
