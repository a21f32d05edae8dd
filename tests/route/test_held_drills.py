"""Drills that are held and driven; where one is not, what the shop has to make the hole with."""

from __future__ import annotations

import pytest

from firstoff.errors import InputError
from firstoff.route.drills import worst
from firstoff.route.held_drills import held_row, holds, too_thin
from firstoff.route.hole_bench import SET
from firstoff.shop.library import load_shop
from firstoff.shop.models import Shop

SHOP = load_shop(None)
STEEL = "s275_hot_rolled"


def with_drill(diameter: float, shank: float) -> Shop:
    drill = SHOP.tools["drill_10"].model_copy(update={"diameter": diameter, "shank": shank})
    return SHOP.model_copy(update={"tools": {**SHOP.tools, "wide": drill}})


@pytest.mark.parametrize("size", [17.0, 20.0, 25.0, 32.0])
def test_what_the_chuck_does_not_hold_is_not_planned(size: float) -> None:
    press = SHOP.machines["drill_press"]
    row, beyond = held_row(SHOP, press, STEEL, size, SET)
    assert beyond is not None and "opens to 16 mm" in beyond.because and beyond.diameter == size
    assert worst(row) <= SHOP.close and len(row) <= 2
    assert all(holds(SHOP, press, step.diameter) for step in row) and row[-1].diameter < size
    assert any("boring head" in way for way in beyond.ways)


def test_a_cutter_goes_round_where_it_fits_into_the_hole_or_cuts_over_its_centre() -> None:
    row, beyond = held_row(SHOP, SHOP.machines["drill_press"], STEEL, 25.0, SET)
    assert beyond is not None
    way = next(way for way in beyond.ways if way.startswith("milled round"))
    name = way.split("--tool ")[1].split()[0]
    tool = SHOP.tools[name]
    assert tool.diameter <= 20.0 and (tool.centre_cutting or tool.diameter < row[-1].diameter)


def test_a_drill_that_is_held_but_not_driven_is_not_planned_either() -> None:
    row, beyond = held_row(SHOP, SHOP.machines["light_gantry"], STEEL, 10.0, SET)
    assert beyond is not None and "would stall the spindle" in beyond.because
    assert "opens to" not in beyond.because and row[-1].load.p <= SHOP.close


def test_a_thin_shank_is_held() -> None:
    press = SHOP.machines["drill_press"]
    assert not holds(SHOP, press, 20.0) and holds(with_drill(20.0, 13.0), press, 20.0)
    _, beyond = held_row(with_drill(17.0, 13.0), press, "acetal", 17.0, SET)
    assert beyond is None


def test_where_only_the_shank_is_too_thick_a_thinner_one_is_told() -> None:
    _, beyond = held_row(SHOP, SHOP.machines["drill_press"], "acetal", 17.0, SET)
    assert beyond is not None and beyond.ways[0] == "a drill of 17 mm with a shank of at most 16 mm"


def test_another_machine_that_does_it_is_named() -> None:
    _, beyond = held_row(SHOP, SHOP.machines["light_gantry"], STEEL, 6.0, SET)
    assert beyond is None or any("drilled on the" in way for way in beyond.ways)
    _, none = held_row(SHOP, SHOP.machines["light_gantry"], "al_6082", 11.0, SET)
    assert none is not None and any(way.startswith("drilled on the") for way in none.ways)


def test_a_machine_that_does_nothing_of_it_is_refused_with_what_does() -> None:
    weak = SHOP.machines["light_gantry"]
    assert weak.spindle is not None and weak.spindle.power is not None
    power = weak.spindle.power.model_copy(update={"value": 5.0})
    weak = weak.model_copy(update={"spindle": weak.spindle.model_copy(update={"power": power})})
    with pytest.raises(InputError, match="would stall the spindle") as raised:
        held_row(SHOP, weak, STEEL, 8.0, SET)
    assert "drilled on the" in str(raised.value) or "milled round on the" in str(raised.value)


def test_a_thin_drill_is_held_in_a_pin_chuck() -> None:
    press = SHOP.machines["drill_press"]
    assert holds(SHOP, press, 1.0) and too_thin(SHOP, press, 1.0) == 3.0 and too_thin(SHOP, press, 5.0) is None


def test_what_holds_where_nobody_says_what_grips() -> None:
    bare = SHOP.machines["knee"].model_copy(update={"collets": ()})
    assert holds(SHOP, bare, 40.0)
