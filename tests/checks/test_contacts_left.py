from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.checks._contacts_left import BEHIND, STRETCHES, lost_at, milled_before, stages, standing
from firstoff.checks._past import past_of
from firstoff.checks._run import Run, Spot
from firstoff.checks._touching import touching
from firstoff.checks.base import Case, State
from firstoff.checks.holding import CHECK
from firstoff.part.shapes import Face, Feature
from firstoff.removal.windows import Slices, Windows
from tests.checks.builders import HEIGHT, LENGTH, WIDTH, block, case, found, operation, setting

CUTTER = 6.0
ORIGIN = (0.0, 0.0, 0.0)
RUN = Run("a.nc", "mm", 10, 60.0, 100.0, *(ORIGIN,) * 6, Spot(0, "", -1.0))


def milled(tips: list[tuple[float, float, float]], depth: float = 1.0, **holding: Any) -> Case:
    """A program whose windows go 6 mm along x about each tip [mm]."""
    this = case(op=operation(cut={"depth_of_cut": f"{depth} mm"}), place=setting(holding=holding))
    windows = this.windows
    assert windows is not None
    n = len(tips)
    first = np.zeros(n, dtype=np.intp)
    s0 = CUTTER * np.arange(n, dtype=np.float64)
    made = Windows(np.arange(n) + 10, s0, s0 + CUTTER, windows.seconds[first], np.array(tips, dtype=np.float64),
                   windows.direction[first], windows.volume[first], windows.depth[first], windows.width[first],
                   windows.entry[first], windows.exit[first], windows.feed_per_tooth[first], windows.corner[first],
                   np.zeros(n), np.zeros(n, dtype=np.int64), Slices.none(n))
    return replace(this, windows=made, run=RUN)


def along_the_fixed_jaw(height: float, number: int = 10) -> list[tuple[float, float, float]]:
    """Along the lower edge of -Y, on the jaw."""
    return [(CUTTER * (i + 0.5), 0.0, height) for i in range(number)]


def share(this: Case, name: str) -> float:
    """Of the squares of a contact, the share that stays to the end."""
    assert this.windows is not None
    patches = touching(this)
    at = [gone for patch, gone in zip(patches, lost_at(this, patches), strict=True) if patch.name == name]
    return float(np.mean(np.concatenate(at) >= len(this.windows)))


def test_above_the_jaws_nothing_goes() -> None:
    this = milled(along_the_fixed_jaw(12.0))
    assert [len(item) > 0 and int(item.min()) for item in lost_at(this, touching(this))] == [10, 10, 10]
    only = list(stages(this))
    assert len(only) == 1 and only[0].patches == touching(this) and only[0].least == ("", 1.0)


def test_what_the_cutter_goes_through_is_no_longer_held() -> None:
    this = milled(along_the_fixed_jaw(5.0))
    assert share(this, "fixed jaw") == pytest.approx(0.5, abs=0.05), "from 5 of the 10 mm of grip upwards"
    assert share(this, "moving jaw") == 1.0 and share(this, "rest") == 1.0
    assert share(milled(along_the_fixed_jaw(5.0, 5)), "fixed jaw") == pytest.approx(0.75 - 0.5 * 3.0 / 60.0, abs=0.05)


def test_behind_is_what_must_stand() -> None:
    near = milled([(x, -CUTTER / 2.0 + BEHIND - 0.1, z) for x, _, z in along_the_fixed_jaw(5.0)])
    deep = milled([(x, -CUTTER / 2.0 + BEHIND + 0.1, z) for x, _, z in along_the_fixed_jaw(5.0)])
    assert share(near, "fixed jaw") == 1.0 > share(deep, "fixed jaw")


def test_a_ball_takes_less_beside_its_tip() -> None:
    flat = milled(along_the_fixed_jaw(8.0))
    ball = flat.shop.tools["em6"].model_copy(update={"kind": "ball"})
    ball_case = replace(flat, shop=flat.shop.model_copy(update={"tools": {**flat.shop.tools, "em6": ball}}))
    aside = [(x, -2.2, z) for x, _, z in along_the_fixed_jaw(8.0)]
    windows = ball_case.windows
    assert windows is not None
    moved = replace(windows, point=np.array(aside))
    assert share(replace(ball_case, windows=moved), "fixed jaw") > share(replace(flat, windows=moved), "fixed jaw")


def test_stretches_tell_the_line_and_what_is_left() -> None:
    found_ = list(stages(milled([(30.0, 20.0, 15.0), *along_the_fixed_jaw(5.0)])))
    assert 2 <= len(found_) <= STRETCHES + 1
    assert found_[0].line == 0 and found_[0].least == ("", 1.0)
    shares = [stage.least[1] for stage in found_[1:]]
    assert shares == sorted(shares, reverse=True) and all(stage.least[0] == "fixed jaw" for stage in found_[1:])
    lines = [stage.line for stage in found_]
    assert lines == sorted(lines) and lines[1] >= 10
    seconds = [float(stage.case.windows.seconds.sum()) for stage in found_ if stage.case.windows is not None]
    whole = milled([(30.0, 20.0, 15.0), *along_the_fixed_jaw(5.0)]).windows
    assert whole is not None and sum(seconds) == pytest.approx(float(whole.seconds.sum()))


def test_patches_shrink_and_move_to_what_is_left() -> None:
    last = list(stages(milled(along_the_fixed_jaw(5.0))))[-1]
    jaw = next(patch for patch in last.patches if patch.name == "fixed jaw")
    assert jaw.area == pytest.approx(LENGTH * 5.0, rel=0.1)
    assert float(jaw.points[:, 2].max()) < 5.0


def test_a_program_that_mills_its_hold_away_bad_on_purpose() -> None:
    finding = found(CHECK, milled([(30.0, 20.0, 15.0), *along_the_fixed_jaw(-1.0, 11)]))
    assert finding.p_fail == pytest.approx(1.0)
    assert "comes loose: the fixed jaw does not touch -Y" in finding.because and "from line" in finding.because


def test_half_a_grip_milled_away_is_told_and_holds_less() -> None:
    this = milled(along_the_fixed_jaw(-1.0, 7), 4.0)
    half, whole = found(CHECK, this), found(CHECK, replace(this, run=None))
    assert whole.capacity is not None and half.capacity is not None
    assert half.capacity.median < whole.capacity.median
    assert "of the fixed jaw is left, the rest is milled away" in half.because and "left" not in whole.because


def test_without_a_program_what_is_left_at_the_end_counts() -> None:
    wall = Face(6, 0, "plane", 1.0, (LENGTH / 2, 2.0, 8.0), (0.0, -1.0, 0.0), (0.0, 2.0, 4.0), (LENGTH, 2.0, HEIGHT))
    floor = Face(7, 0, "plane", 1.0, (LENGTH / 2, 1.0, 4.0), (0.0, 0.0, 1.0), (0.0, 0.0, 4.0), (LENGTH, 2.0, 4.0))
    side = Face(2, 0, "plane", 1.0, (LENGTH / 2, 0.0, 2.0), (0.0, -1.0, 0.0), (0.0, 0.0, 0.0), (LENGTH, 0.0, 4.0))
    part = block(Feature("step-1", "step", (6, 7), open=True), faces=(wall, floor))
    part = replace(part, sha256="1" * 64, faces=tuple(side if face.number == 2 else face for face in part.faces))
    this = case(op=operation(features=["step-1"]), part=part, state=State("block"))
    only = next(stages(this))
    jaw = next(patch for patch in only.patches if patch.name == "fixed jaw")
    assert jaw.area == pytest.approx(LENGTH * 4.0, rel=0.15) and only.line == 0


def test_a_long_program_looks_at_fewer_squares() -> None:
    rng = np.random.default_rng(0)
    tips = [tuple(tip) for tip in rng.uniform((0.0, -3.0, 2.0), (LENGTH, WIDTH, 9.0), (20000, 3))]
    this = milled(tips)
    gone = lost_at(this, touching(this))
    assert sum(len(item) for item in gone) == sum(len(patch.cells) for patch in touching(this))


def test_the_first_move_may_take_the_hold_away() -> None:
    first = next(stages(milled(along_the_fixed_jaw(5.0))))
    assert first.line == 10 and first.least[0] == "fixed jaw" and first.least[1] < 1.0


def drill_after(tips: list[tuple[float, float, float]]) -> Case:
    """A drill in the same setting, after a program has gone along these."""
    hole = Feature("hole-1", "hole", (), axis=(0.0, 0.0, 1.0), axis_point=(55.0, 20.0, 20.0),
                   size={"diameter": 4.2, "depth": 20.0})
    op = operation(features=["hole-1"], role="tap", tool="tap5", number=20,
                   cut={"feed_per_tooth": None, "direction": None, "depth_of_cut": None, "width_of_cut": None})
    this = case(op=op, part=block(hole), place=setting(holding={"tightness": "fingers"}))
    before = milled(tips, tightness="fingers")
    return replace(this, before=(past_of(before),))


def test_what_a_program_took_stays_gone_for_the_taps_and_drills_after_it() -> None:
    whole, half = drill_after(along_the_fixed_jaw(12.0)), drill_after(along_the_fixed_jaw(-1.0, 7))
    assert whole.before[0].gone == () and not milled_before(whole) and standing(whole) == touching(whole)
    assert milled_before(half) and half.before[0].setting == "first"
    taken = {patch.name: patch.area for patch in touching(half)}
    left = {patch.name: patch.area for patch in standing(half)}
    assert left["fixed jaw"] == pytest.approx(taken["fixed jaw"] * (1.0 - 45.0 / 60.0), abs=0.06 * taken["fixed jaw"])
    assert left["moving jaw"] == taken["moving jaw"]
    elsewhere = replace(half, before=(replace(half.before[0], setting="second"),))
    assert standing(elsewhere) == touching(elsewhere), "clamped anew it is held by what the new setting grips"


def test_a_tap_after_it_is_held_by_what_is_left() -> None:
    whole, half, none = (found(CHECK, drill_after(tips)) for tips in (
        along_the_fixed_jaw(12.0), along_the_fixed_jaw(-1.0, 7), along_the_fixed_jaw(-1.0, 11)))
    assert whole.capacity is not None and half.capacity is not None
    assert half.capacity.median != whole.capacity.median, "a couple of two jaws: how it lies, not how much there is"
    assert "of the fixed jaw is left for it, the rest was milled away before" in half.because
    assert "is left" not in whole.because
    assert none.p_fail == pytest.approx(1.0) and "after what was milled before it here it comes loose" in none.because
    assert "it would move towards -Y" in none.because


def test_its_finding_stands_on_what_was_milled_before() -> None:
    assert CHECK.looks_back_at is not None
    assert CHECK.looks_back_at(drill_after(along_the_fixed_jaw(-1.0, 7)))
    assert not CHECK.looks_back_at(drill_after(along_the_fixed_jaw(12.0)))
