"""A lone cut is a case like any of a job: its windows take off what is asked, every check can look at it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstoff.dryrun.nominal import table_feed
from firstoff.dryrun.registry import all_checks
from firstoff.job.models import Job
from firstoff.job.route import Cut, Route
from firstoff.route.lone import LENGTH, Block, lone_case, role_of
from firstoff.shop.library import load_shop
from firstoff.tomlfile import KEPT

SHOP = load_shop(None)
TOOL = SHOP.tools["end_mill_6_3f"]


def cut(direction: str = "conventional", depth: float = 1.5, width: float = 2.0) -> Cut:
    return Cut.model_validate({"spindle_speed": 900.0, "feed_per_tooth": 0.03, "depth_of_cut": depth,
                               "width_of_cut": width, "direction": direction}, context=KEPT)


@pytest.mark.parametrize(("tool", "block", "role"), [
    ("end_mill_6_3f", Block(3.0, 2.0), "side_rough"),
    ("end_mill_6_3f", Block(3.0, 6.0), "slot"),
    ("end_mill_6_3f", Block(3.0, 2.0, roughness=0.0016), "side_finish"),
    ("end_mill_6_3f", Block(3.0, 2.0, within=0.03), "side_finish"),
    ("end_mill_6_3f", Block(1.0, 4.0, bow=0.3), "face_rough"),
    ("ball_6", Block(0.5, 0.4), "form"),
])
def test_what_it_is_called(tool: str, block: Block, role: str) -> None:
    assert role_of(SHOP.tools[tool], block) == role


def test_a_step_is_taken_off_in_passes() -> None:
    case = lone_case(SHOP, "small_column", "end_mill_6_3f", "al_6082", "collet_6", Block(3.0, 4.0), cut())
    windows = case.windows
    assert windows is not None
    assert windows.volume.sum() == pytest.approx(3.0 * 4.0 * LENGTH)
    cutting = windows.s1[-1] - windows.s0[0]
    assert cutting == pytest.approx(2 * 2 * LENGTH), "two layers of two widths"
    assert windows.seconds.sum() > cutting / table_feed(case)


def test_a_slot_is_as_wide_as_its_cutter() -> None:
    case = lone_case(SHOP, "small_column", "end_mill_6_3f", "al_6082", "collet_6", Block(3.0, 6.0),
                     cut("slot", width=6.0))
    windows = case.windows
    assert windows is not None
    assert np.all(windows.entry == 0.0) and np.allclose(windows.exit, math.pi)
    assert windows.volume.sum() == pytest.approx(3.0 * 6.0 * LENGTH)
    assert np.allclose(windows.direction, (1.0, 0.0, 0.0)), "along itself, never across"


@pytest.mark.parametrize("block", [
    Block(2.0, 3.0, 0.0016, 0.05), Block(0.6, 4.0, bow=0.3), Block(3.0, 6.0, down=0.1)])
def test_it_is_as_if_a_person_had_written_it(block: Block) -> None:
    """Its job and route are put together unread: read, they would be the same."""
    shop = load_shop(None)
    cut = Cut.model_validate({"spindle_speed": 600.0, "feed_per_tooth": 0.03, "depth_of_cut": 0.5,
                              "width_of_cut": block.width, "direction": "conventional"}, context=KEPT)
    case = lone_case(shop, "light_gantry", "end_mill_6_2f", "al_6082", "collet_6", block, cut, 20.0)
    assert Job.model_validate(case.job.model_dump(), context=KEPT) == case.job
    assert Route.model_validate(case.route.model_dump(), context=KEPT) == case.route
    assert type(case.setting).model_validate(case.setting.model_dump(), context=KEPT) == case.setting


def test_checks_look_at_it_as_at_any_operation() -> None:
    case = lone_case(SHOP, "small_column", "end_mill_6_3f", "al_6082", "collet_6",
                     Block(3.0, 2.0, roughness=0.0016, within=0.02), cut())
    names = {check.name for check in all_checks() if check.subject == "operation" and check.applies(case)}
    assert {"chatter", "power", "tool strength", "rubbing", "axis thrust", "finish", "push-off", "holding"} <= names
    raw = lone_case(SHOP, "small_column", "end_mill_6_3f", "s275_hot_rolled", "collet_6", Block(1.0, 4.0, bow=0.3),
                    cut())
    assert any(check.name == "scale" and check.applies(raw) for check in all_checks())


@pytest.mark.parametrize(("tool", "block"), [
    ("end_mill_6_3f", Block(3.0, 2.0, 0.0016, 0.03)), ("end_mill_6_3f", Block(3.0, 6.0, 0.0016, 0.03)),
    ("end_mill_6_3f", Block(1.0, 4.0, 0.0016, 0.03, bow=0.3)), ("ball_6", Block(0.5, 0.4, 0.0016, 0.03)),
    ("corner_radius_8", Block(1.0, 4.0, 0.0016, 0.03)),
])
def test_what_is_asked_is_weighed(tool: str, block: Block) -> None:
    """A finish and a limit that were asked, whatever the cut is called."""
    material = "s275_hot_rolled" if block.bow else "al_6082"
    given = cut("slot" if block.width == 6.0 else "conventional", block.depth, block.width)
    collet = {"corner_radius_8": "collet_8"}.get(tool, "collet_6")
    case = lone_case(SHOP, "small_column", tool, material, collet, block, given)
    applies = {check.name for check in all_checks() if check.subject == "operation" and check.applies(case)}
    assert {"push-off", "finish"} <= applies
