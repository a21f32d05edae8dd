from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._gives_way import Cutting, gives_way
from firstoff.checks._round import ROUND, round_face, rounds
from firstoff.checks._touching import contacts_of, device_of, grip_said, missing, touching
from firstoff.checks.base import Case
from firstoff.checks.holding import CHECK
from firstoff.part.shapes import Face, Part
from tests.checks.builders import ROWS, block, case, column, columns, operation, setting, shop

RADIUS, LONG = 10.0, 60.0


def bar(axis: tuple[float, float, float] = (1.0, 0.0, 0.0)) -> Part:
    """A round bar along x, or along z, in the place of the block."""
    way = np.array(axis)
    low = tuple(float(v) for v in np.where(way > 0, 0.0, -RADIUS))
    high = tuple(float(v) for v in np.where(way > 0, LONG, RADIUS))
    middle = tuple(float(v) for v in way * LONG / 2)
    wall = Face(0, 0, "cylinder", 6.2832 * RADIUS * LONG, middle, (0.0, 0.0, 1.0), low, high,     # type: ignore[arg-type]
                axis_point=(0.0, 0.0, 0.0), axis=axis, radius=RADIUS, sweep=6.2832)
    flat = tuple(0.0 if v > RADIUS or w else v for v, w in zip(high, axis, strict=True))
    foot = Face(1, 0, "plane", 314.0, (0.0, 0.0, 0.0), tuple(float(v) for v in -way), low, flat)  # type: ignore[arg-type]
    return replace(block(), faces=(wall, foot), features=(), low=low, high=high)                  # type: ignore[arg-type]


def held(kind: str, axis: tuple[float, float, float] = (1.0, 0.0, 0.0), **holding: Any) -> Case:
    place = setting(holding={"device": kind, "grip": ["face 0"], "rest": "face 1", "grip_height": "30 mm", **holding})
    there = shop()
    device = there.devices["vise"].model_copy(update={"kind": kind, "name": kind})
    return case(op=operation(), place=place, part=bar(axis),
                in_shop=there.model_copy(update={"devices": {**there.devices, kind: device}}))


def test_a_v_block_bears_a_lying_bar_on_two_lines_and_the_yoke_presses_on_top() -> None:
    this = held("v_block")
    patches = touching(this)
    below = [patch for patch in patches if patch.name == "fixed jaw"]
    (yoke,) = [patch for patch in patches if patch.name == "moving jaw"]
    assert len(below) == 2 and np.allclose(yoke.normal, (0.0, 0.0, -1.0)) and yoke.clamp == 0
    assert sorted(float(p.normal[1]) for p in below) == pytest.approx([-np.sqrt(0.5), np.sqrt(0.5)])
    assert all(float(p.normal[2]) == pytest.approx(np.sqrt(0.5)) for p in below), "a V of 90 degrees"
    assert yoke.points[:, 0].min() == pytest.approx(15.0 + 3.0) and yoke.points[:, 2] == pytest.approx([RADIUS] * 2)
    assert missing(this, patches) == "" and grip_said(this)


def test_a_three_jaw_holds_a_standing_bar_at_its_foot() -> None:
    this = held("three_jaw", (0.0, 0.0, 1.0))
    lines = [patch for patch in touching(this) if patch.name != "rest"]
    assert len(lines) == 3 and all(patch.points[:, 2].max() <= 30.0 for patch in lines)
    assert sum(patch.normal for patch in lines) == pytest.approx(np.zeros(3), abs=1e-9), "120 degrees apart"
    assert device_of(this).kind in ROUND and round_face(this) is not None


def turned(this: Case, torque_up: bool) -> float:
    """Torque about the bar that it bears, by one newton of each jaw and friction 0.1, over 0.1 x radius."""
    axis = np.array([0.0, 0.0, 1.0]) if torque_up else np.array([1.0, 0.0, 0.0])
    cutting = Cutting(np.full(4, 10.0), np.zeros((1, 3)), np.array([0.0, 0.0, 1.0]), np.zeros(4),
                      np.zeros((1, 3)), (0.01 * axis)[None])
    lines = tuple(patch for patch in touching(this) if patch.name != "rest")
    found = gives_way(contacts_of(lines), np.full(4, 0.1), np.full(4, 1000.0), cutting)
    return float(np.median(found.bears)) * 0.01 / (0.1 * 1000.0 * RADIUS * 1e-3)


def test_a_chuck_turns_in_its_hand_at_three_times_friction_by_radius() -> None:
    assert turned(held("three_jaw", (0.0, 0.0, 1.0)), True) == pytest.approx(3.0, rel=0.02)


def test_a_v_holds_a_turn_by_its_half_angle() -> None:
    """The yoke presses C: each side of a V of 90 degrees C/sqrt 2, less what friction itself tips over."""
    free = 1.0 + np.sqrt(2.0)
    assert free * 0.9 < turned(held("v_block"), False) <= free * 1.03


def test_round_parts_are_checked_and_what_is_not_gripped_is_named() -> None:
    finding = CHECK.evaluate(held("v_block"), _believed("v_block"))
    assert finding.p_rows is not None and "v_block" in finding.because
    square = held("v_block", grip=["face 1"])
    assert round_face(square) is None and not grip_said(square)
    hollow = replace(square, parts={"block": replace(bar(), faces=(replace(bar().faces[0], hollow=True),))})
    assert round_face(replace(hollow, route=held("v_block").route)) is None


def _believed(kind: str) -> Belief:
    return Belief.of([*columns(), column(f"device:{kind}", "squeeze:arm", 8000.0),
                      column(f"device:{kind}", "friction", 0.15)], rows=ROWS)


def test_a_grip_longer_than_the_bar_is_the_bar() -> None:
    face = bar().faces[0]
    lines = rounds(held("v_block", grip_height="100 mm"), "v_block", face)
    assert max(patch.points[:, 0].max() for patch in lines) == pytest.approx(0.9 * LONG)
