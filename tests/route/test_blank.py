"""The stock about a part: allowances, sides, thinness."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.job.models import PartWanted
from firstoff.part.shapes import Feature
from firstoff.route.blank import blank_of, opposite, too_small
from tests.route.made import blank, block, example_job, example_parts, wanted

OVER = st.floats(0.0, 20.0).map(lambda v: round(v, 3))


@given(OVER, OVER, OVER)
def test_stock_is_part_and_what_comes_off_both_sides(x: float, y: float, z: float) -> None:
    size = [f"{60.0 + x} mm", f"{40.0 + y} mm", f"{20.0 + z} mm"]
    laid = blank(stock={"size": size})
    for axis, over in zip("XYZ", (x, y, z), strict=True):
        assert laid.allowance[f"+{axis}"] == pytest.approx(laid.allowance[f"-{axis}"], abs=2e-6)
        assert laid.stock_extent(axis) == pytest.approx(laid.extent(axis) + over, abs=2e-6)
    assert too_small(laid) == ""


def test_the_job_may_say_where_the_part_lies() -> None:
    laid = blank(stock={"size": ["62 mm", "44 mm", "22 mm"], "offset": ["0.5 mm", "1 mm", "0 mm"]})
    assert laid.allowance == {"-X": 0.5, "+X": 1.5, "-Y": 1.0, "+Y": 3.0, "-Z": 0.0, "+Z": 2.0}


def test_stock_that_does_not_hold_the_part_is_told() -> None:
    assert "too small at -Y: 39 mm along Y" in too_small(blank(stock={"size": ["62 mm", "39 mm", "22 mm"]}))


def test_every_side_of_a_block_has_its_owner() -> None:
    laid = blank()
    assert [laid.sides[s] for s in ("-X", "+X", "-Y", "+Y", "-Z", "+Z")] == [f"stock-{i}" for i in range(1, 7)]
    assert {f.id for f in laid.features()} == {"pocket-1", "hole-1"}
    assert laid.by_size == ("Z", "Y", "X")
    assert not laid.is_thin


def test_a_dome_is_no_side_to_rest_on() -> None:
    laid = blank_of("cap", example_job().parts["cap"], example_parts()["cap"])
    assert not laid.is_flat("+Z")
    assert laid.is_flat("-Z")
    assert laid.is_thin


def test_a_plate_with_a_rolled_skin_springs() -> None:
    plate = PartWanted.model_validate(wanted(stock={"size": ["62 mm", "44 mm", "8 mm"], "condition": "hot_rolled"}))
    thin = block((60.0, 40.0, 6.0))
    assert blank_of("plate", plate, thin).springs
    assert not blank(thin, stock={"size": ["62 mm", "44 mm", "8 mm"], "condition": "milled"}).springs
    assert not blank().springs


@pytest.mark.parametrize("side", ["+X", "-Y", "+Z"])
def test_across(side: str) -> None:
    assert opposite(side)[1] == side[1]
    assert opposite(opposite(side)) == side


def test_a_top_that_a_slot_parts_is_one_flat() -> None:
    part = block()
    top = part.faces[next(f for f in part.features if f.id == "stock-6").faces[0]]
    half = replace(top, number=len(part.faces), area=top.area / 2.0)
    parted = replace(part, faces=(*part.faces, half),
                     features=(*part.features, Feature("stock-9", "stock", (half.number,))))
    laid = blank(parted)
    side = next(name for name, owner in laid.sides.items() if owner == "stock-6")
    assert laid.flats(side) == ("stock-6", "stock-9")
    assert all(len(laid.flats(name)) == 1 for name in laid.sides if name != side)
