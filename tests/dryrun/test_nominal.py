"""Nominal windows: angles in closed form, length, time and volume that belong together."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.checks.base import Case
from firstoff.dryrun.nominal import FILE, HAND_TAP, PICKLE, engagement, nominal_windows, passes, table_feed
from firstoff.dryrun.walk import walk
from firstoff.job.edits import apply_edits
from firstoff.job.route import Cut, Route
from firstoff.route.plan import plan
from tests.route.made import block, example_job, example_parts, job, shop

MILLED = ("face_rough", "face_finish", "side_rough", "side_finish", "pocket_rough", "pocket_finish", "ramp_rough",
          "ramp_finish", "form")


@cache
def cases() -> dict[str, Case]:
    """The operations of the example."""
    route = plan(example_job(), shop(), example_parts())
    made = walk(example_job(), shop(), route, example_parts())
    return {case.name: case for case in made if case.subject == "operation"}


@cache
def blocks() -> dict[str, Case]:
    """The operations of a block whose sizes are known: pocket 30 x 20 x 8."""
    wanted, parts = job(), {"block": block()}
    made = walk(wanted, shop(), plan(wanted, shop(), parts), parts)
    return {case.name: case for case in made if case.subject == "operation"}


def changed(case: Case, **cut: str) -> Case:
    edits = [(f"operations.{case.name}.cut.{key}", text) for key, text in cut.items()]
    route: Route = apply_edits(case.route, edits)
    return replace(case, route=route, operation=route.operations[case.name])


@given(st.floats(0.05, 10.0), st.floats(1.0, 20.0))
def test_climb_is_conventional_seen_in_the_glass(width: float, diameter: float) -> None:
    entry, leave = engagement(Cut(direction="conventional"), width, diameter)
    other = engagement(Cut(direction="climb"), width, diameter)
    assert entry == 0.0 and other[1] == math.pi
    assert leave - entry == pytest.approx(other[1] - other[0])
    assert (1.0 - math.cos(leave)) * diameter / 2.0 == pytest.approx(min(width, diameter), rel=1e-6)


def test_half_immersion_is_a_quarter_turn_and_a_slot_a_half() -> None:
    assert engagement(Cut(direction="conventional"), 5.0, 10.0) == pytest.approx((0.0, math.pi / 2.0))
    assert engagement(Cut(direction="climb"), 5.0, 10.0) == pytest.approx((math.pi / 2.0, math.pi))
    assert engagement(Cut(direction="slot"), 5.0, 10.0) == (0.0, math.pi)
    assert engagement(Cut(direction="climb"), 10.0, 10.0) == (0.0, math.pi)


def test_table_feed_is_turns_times_flutes_times_feed() -> None:
    case = changed(blocks()["block-pocket-1-rough"], spindle_speed="6000 rpm", feed_per_tooth="0.05 mm")
    assert table_feed(case) == pytest.approx(100.0 * case.tool.flutes * 0.05)


@given(st.floats(0.01, 50.0), st.floats(0.01, 5.0))
def test_passes_are_just_enough(whole: float, each: float) -> None:
    number = passes(whole, each)
    assert number * each >= whole * (1.0 - 1e-6) - 1e-5
    assert number == 1 or (number - 1) * each < whole


@pytest.mark.parametrize("name", sorted(cases()))
def test_windows_follow_each_other(name: str) -> None:
    windows = nominal_windows(cases()[name])
    if cases()[name].op.role == "measure":
        assert len(windows) == 0
        return
    assert len(windows) > 0
    assert windows.s0[0] == 0.0
    np.testing.assert_allclose(windows.s0[1:], windows.s1[:-1])
    assert np.all(windows.seconds > 0.0)
    assert np.all((windows.entry >= 0.0) & (windows.entry <= windows.exit) & (windows.exit <= math.pi))
    np.testing.assert_allclose(np.linalg.norm(windows.direction, axis=1), 1.0)
    assert np.all(windows.line == 0)


@pytest.mark.parametrize("name", sorted(n for n, c in cases().items() if c.op.role in MILLED))
def test_nothing_is_removed_faster_than_the_cut_allows(name: str) -> None:
    case = cases()[name]
    windows = nominal_windows(case)
    fastest = windows.depth * windows.width * table_feed(case)
    assert np.all(windows.volume <= fastest * windows.seconds * 1.001)
    assert np.all(windows.depth <= (case.op.cut.depth_of_cut or 0.0) + 1e-9)
    assert np.all(windows.width <= case.tool.diameter + 1e-9)


def test_a_face_is_cleared_of_what_is_to_come_off() -> None:
    case = blocks()["block-top-rough"]
    windows = nominal_windows(case)
    assert windows.volume.sum() == pytest.approx(60.0 * 40.0 * case.op.removes)
    rows = math.ceil(40.0 / (case.op.cut.width_of_cut or 1.0))
    layers = passes(case.op.removes, case.op.cut.depth_of_cut)
    assert windows.s1[-1] == pytest.approx(rows * layers * (60.0 + case.tool.diameter))


def test_a_pocket_holds_what_it_holds() -> None:
    assert nominal_windows(blocks()["block-pocket-1-rough"]).volume.sum() == pytest.approx(30.0 * 20.0 * 8.0)


def test_a_pocket_is_opened_with_the_whole_cutter() -> None:
    case = blocks()["block-pocket-1-rough"]
    windows = nominal_windows(case)
    buried = windows.width >= case.tool.diameter - 1e-9
    assert np.count_nonzero(buried) == 1
    assert windows.entry[buried][0] == 0.0 and windows.exit[buried][0] == math.pi


@pytest.mark.parametrize("way", ["climb", "conventional"])
def test_engagement_jumps_in_corners(way: str) -> None:
    case = changed(blocks()["block-pocket-1-finish"], direction=way)
    windows = nominal_windows(case)
    corner = windows.corner
    assert np.count_nonzero(corner) == 1
    engaged = windows.exit - windows.entry
    assert engaged[corner][0] == pytest.approx(min(math.pi, engaged[~corner][0] + math.pi / 2.0))


def test_half_as_deep_is_twice_as_long() -> None:
    case = blocks()["block-top-rough"]
    deep = changed(case, depth_of_cut=f"{case.op.removes} mm")
    shallow = changed(case, depth_of_cut=f"{case.op.removes / 2.0} mm")
    one, other = nominal_windows(deep), nominal_windows(shallow)
    assert other.s1[-1] == pytest.approx(2.0 * one.s1[-1])
    assert other.volume.sum() == pytest.approx(one.volume.sum())


def test_twice_the_feed_halves_the_time_in_the_cut() -> None:
    case = blocks()["block-hole-1-drill"] if "block-hole-1-drill" in blocks() else cases()["body-hole-3-drill"]
    slow, fast = changed(case, feed_per_tooth="0.02 mm"), changed(case, feed_per_tooth="0.04 mm")
    saved = nominal_windows(slow).seconds.sum() - nominal_windows(fast).seconds.sum()
    length = nominal_windows(slow).s1[-1]
    assert saved == pytest.approx(length / table_feed(slow) - length / table_feed(fast))


def test_a_drill_goes_down_each_hole_once() -> None:
    case = cases()["body-hole-1-drill"]
    windows = nominal_windows(case)
    depth = case.op.cut.depth_of_cut or 0.0
    assert len(windows) == 1
    assert windows.s1[0] == pytest.approx(4.0 * depth)
    assert windows.volume[0] == pytest.approx(4.0 * math.pi / 4.0 * 3.3**2 * depth)
    assert windows.direction[0].tolist() == [0.0, 0.0, -1.0]


def test_a_reamer_takes_only_a_ring() -> None:
    case = cases()["body-hole-3-ream"]
    depth = case.op.cut.depth_of_cut or 0.0
    assert nominal_windows(case).volume[0] == pytest.approx(2.0 * math.pi / 4.0 * (4.0**2 - 3.8**2) * depth)


def test_work_by_hand_takes_time_and_nothing_else() -> None:
    tap, file = nominal_windows(cases()["body-hole-1-tap"]), nominal_windows(cases()["sole-passage-1-file"])
    assert tap.seconds.sum() == 4.0 * HAND_TAP
    assert file.seconds.sum() == FILE
    assert not np.any(tap.depth) and not np.any(file.exit)


def test_half_a_flank_is_half_as_high() -> None:
    case = cases()["body-left-rough"]
    assert case.op.height == 12.5
    whole = replace(case, operation=case.op.model_copy(update={"height": 0.0}))
    half, full = nominal_windows(case).volume.sum(), nominal_windows(whole).volume.sum()
    assert full == pytest.approx(24.0 / 12.5 * half)


def test_nothing_to_compute_without_a_speed() -> None:
    case = blocks()["block-pocket-1-rough"]
    still = case.op.model_copy(update={"cut": Cut()})
    assert len(nominal_windows(replace(case, operation=still))) == 0
    assert len(nominal_windows(replace(case, operation=case.op.model_copy(update={"tool": None})))) == 0


def test_feed_runs_along_the_end_face() -> None:
    """The end of a part that lies along the machine's x is milled along y."""
    windows = nominal_windows(cases()["sole-left-finish"])
    assert np.all(np.abs(windows.direction[:, 1]) == 1.0)


def test_pickling_costs_its_time() -> None:
    case = blocks()["block-pocket-1-finish"]
    done = replace(case, operation=case.op.model_copy(update={"pickled": True}))
    assert nominal_windows(done).seconds.sum() == pytest.approx(nominal_windows(case).seconds.sum() + PICKLE)


@pytest.mark.parametrize("angle", [math.radians(3.0), math.pi / 2.0])
def test_a_way_down_leans_by_its_angle(angle: float) -> None:
    case = next(case for case in blocks().values() if case.op.role == "pocket_rough")
    level, down = (nominal_windows(replace(case, operation=case.op.model_copy(update={"down": at})))
                   for at in (0.0, angle))
    assert np.allclose(np.linalg.norm(down.direction, axis=1), 1.0)
    assert np.allclose(down.direction[:, 2], -math.sin(angle)) and np.allclose(level.direction[:, 2], 0.0)
    assert np.allclose(down.direction[:, :2], math.cos(angle) * level.direction[:, :2])


@pytest.mark.parametrize(("included", "wide"), [(90.0, 0.5), (60.0, 0.5 * math.tan(math.radians(30.0)))])
def test_an_edge_is_as_wide_as_the_cutter_s_angle_says(included: float, wide: float) -> None:
    """0.5 mm deep: a triangle of that by its width."""
    case = next(c for c in cases().values() if c.operation is not None and c.operation.role == "chamfer")
    cutter = case.tool.model_copy(update={"point_angle": math.radians(included)})
    tools = {**case.shop.tools, case.op.tool or "": cutter}
    case = replace(changed(case, depth_of_cut="0.5 mm"), shop=case.shop.model_copy(update={"tools": tools}))
    found = nominal_windows(case)
    assert found.width == pytest.approx(np.full(len(found), wide))
    assert found.volume.sum() == pytest.approx((found.s1 - found.s0).sum() * 0.5 * wide / 2.0)
