"""Tools: one that fits, held short; none where none fits."""

from __future__ import annotations

import math

import pytest

from firstoff.job.route import Role
from firstoff.route.tools import CLEAR, MILLS, OFF_FLUTES, SHORTEST, Held, Need, collet_for, find, stickout, too_fast
from tests.route.made import shop

SHOP = shop()
MILL, PRESS = SHOP.machines["mill"], SHOP.machines["press"]
STEEL, ALUMINIUM = SHOP.materials["s275_hot_rolled"], SHOP.materials["al_6082"]


def best(need: Need, role: Role = "pocket_finish") -> Held | None:
    return find(SHOP, MILL, ALUMINIUM, role, need)


@pytest.mark.parametrize("widest", [3.0, 4.5, 6.0, 7.9, 30.0])
def test_the_stiffest_that_goes_in(widest: float) -> None:
    held = best(Need(MILLS, widest=widest, cuts=2.0, reach=2.0))
    fitting = [t.diameter for t in SHOP.tools.values() if t.kind in MILLS and t.diameter <= widest]
    assert held is not None
    assert held.tool.diameter == max(fitting)


def test_none_where_none_fits() -> None:
    assert best(Need(MILLS, widest=1.0)) is None
    assert best(Need(MILLS, widest=6.0, reach=45.0)) is None
    assert best(Need(("tap",), thread="M3"), "tap") is None
    assert best(Need(MILLS, cuts=40.0, whole=True)) is None


def test_held_as_short_as_it_reaches() -> None:
    tool = SHOP.tools["end_mill_6_3f"]
    assert stickout(tool, 2.0) == tool.flute_length + OFF_FLUTES
    assert stickout(tool, 24.0) == 24.0 + CLEAR
    assert stickout(SHOP.tools["chamfer_6"], 0.0) == SHORTEST


def test_a_wall_deeper_than_the_flutes_is_told() -> None:
    short = best(Need(MILLS, widest=6.0, cuts=10.0, reach=10.0))
    deep = best(Need(MILLS, widest=6.0, cuts=24.0, reach=24.0))
    assert short is not None and deep is not None
    assert short.note == ""
    assert "flutes 13 of 24 deep" in deep.note


def test_the_collet_grips_the_shank() -> None:
    for name in ("end_mill_6_3f", "drill_3_8", "reamer_4"):
        collet = collet_for(SHOP, MILL, SHOP.tools[name])
        assert collet is not None
        low, high = SHOP.collets[collet].grips
        assert low <= (SHOP.tools[name].shank or 0.0) <= high
    assert collet_for(SHOP, MILL, SHOP.tools["drill_4_2"]) == "collet_5"
    without = MILL.model_copy(update={"collets": ("collet_4", "collet_6")})
    assert collet_for(SHOP, without, SHOP.tools["drill_4_2"]) is None
    assert collet_for(SHOP, PRESS, SHOP.tools["drill_4_2"]) == "drill_chuck_10"
    unwritten = PRESS.model_copy(update={"collets": ()})
    assert collet_for(SHOP, unwritten, SHOP.tools["drill_4_2"]) == "drill_chuck_10", "a press has a chuck"


def test_a_fast_spindle_burns_a_drill_in_steel() -> None:
    drill = SHOP.tools["drill_4_5"]
    assert too_fast(MILL, drill, STEEL, "drill")
    assert not too_fast(PRESS, drill, STEEL, "drill")
    assert not too_fast(MILL, drill, ALUMINIUM, "drill")


def test_a_countersink_is_wide_enough_and_no_wider_than_it_must() -> None:
    held = find(SHOP, PRESS, STEEL, "countersink", Need(("countersink",), narrowest=9.6, angle=math.pi / 2.0))
    assert held is not None and held.name == "countersink_10"
    wider = Need(("countersink",), narrowest=12.0, angle=math.pi / 2.0)
    assert find(SHOP, PRESS, STEEL, "countersink", wider) is None


def test_a_spot_has_a_point() -> None:
    held = best(Need(("chamfer",), centre=True, tip=0.3, angle=math.pi / 2.0), "spot")
    assert held is not None and held.name == "chamfer_6"
