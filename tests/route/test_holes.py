"""Holes: the stages in the order in which they can be done, with published drills."""

from __future__ import annotations

import math

import pytest

from firstoff.dryrun.seen import point_length
from firstoff.part.shapes import Feature
from firstoff.route.holes import COARSE, REAM_LEAVES, Wish, plan_hole, wish_of

#: tap drills of ISO 2306 for coarse threads [mm]
ISO_2306 = {"M2": 1.6, "M2.5": 2.05, "M3": 2.5, "M4": 3.3, "M5": 4.2, "M6": 5.0, "M8": 6.8, "M10": 8.5, "M12": 10.2}


def hole(through: bool = False, **size: float) -> Feature:
    return Feature("hole-1", "hole", (0,), through=through, size={"diameter": 4.0, "depth": 12.0, **size})


def roles(feature: Feature, wish: Wish) -> list[str]:
    return [stage.role for stage in plan_hole(feature, wish, 12.0).stages]


@pytest.mark.parametrize(("text", "thread", "depth"), [
    ("M4 x 9 deep", "M4", 9.0), ("M5", "M5", 0.0), ("M2.5 x 6.5 deep", "M2.5", 6.5), ("", "", 0.0),
])
def test_threads_are_read(text: str, thread: str, depth: float) -> None:
    assert wish_of(text, "") == Wish(thread, depth, "")


def test_the_order_of_stages() -> None:
    assert roles(hole(), Wish()) == ["spot", "drill"]
    assert roles(hole(), Wish(ream="H7")) == ["spot", "drill", "ream"]
    assert roles(hole(), Wish("M5", 9.0)) == ["spot", "drill", "tap"]
    sunk = hole(countersink_diameter=9.0, countersink_angle=90.0)
    assert roles(sunk, Wish()) == ["spot", "drill", "countersink"]
    assert roles(sunk, Wish("M5", 9.0)) == ["spot", "drill", "countersink", "tap"]
    assert roles(hole(counterbore_diameter=8.0, counterbore_depth=4.0), Wish()) == ["spot", "drill", "pocket_rough"]


@pytest.mark.parametrize(("thread", "drill"), sorted(ISO_2306.items()))
def test_tap_drills_are_those_of_the_standard(thread: str, drill: float) -> None:
    stages = {s.role: s for s in plan_hole(hole(), Wish(thread, 9.0), 12.0).stages}
    assert stages["drill"].need.diameter == pytest.approx(drill, abs=0.051)
    assert stages["tap"].pitch == COARSE[thread]
    assert stages["tap"].need.thread == thread


def test_a_reamer_finds_something_to_cut() -> None:
    stages = {s.role: s for s in plan_hole(hole(), Wish(ream="H7"), 12.0).stages}
    assert stages["drill"].need.diameter == pytest.approx(4.0 - REAM_LEAVES)
    assert stages["drill"].leaves == pytest.approx(REAM_LEAVES / 2.0)
    assert stages["drill"].need.diameter + stages["drill"].need.within < 4.0
    assert stages["ream"].need.diameter == 4.0


def test_a_through_hole_lets_the_point_out_and_what_is_below() -> None:
    blind = plan_hole(hole(), Wish(), 12.0).stages[1]
    through = plan_hole(hole(through=True), Wish(), 12.0, 1.25).stages[1]
    assert blind.depth == 12.0
    assert through.depth == pytest.approx(12.0 + point_length(4.0, None) + 1.25)


def test_a_countersink_goes_as_deep_as_its_cone() -> None:
    sunk = hole(countersink_diameter=9.0, countersink_angle=90.0)
    stage = plan_hole(sunk, Wish(), 12.0).stages[-1]
    assert stage.depth == pytest.approx((9.0 - 4.0) / 2.0 / math.tan(math.radians(45.0)))
    assert stage.need.narrowest == 9.0


def test_little_room_below_a_thread_is_told() -> None:
    tight = plan_hole(hole(depth=10.0), Wish("M5", 9.5), 12.0).stages[-1]
    roomy = plan_hole(hole(depth=14.0), Wish("M5", 9.5), 12.0).stages[-1]
    assert any("bottoming tap" in note for note in tight.notes)
    assert not any("bottoming tap" in note for note in roomy.notes)


def test_a_thread_that_is_not_known_is_told() -> None:
    stage = plan_hole(hole(), Wish("M7", 9.0), 12.0).stages[-1]
    assert stage.lacking == "the pitch of M7 is not known here"
