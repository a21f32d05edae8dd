"""Pushes window by window: only walls that are finished then, and as the nominal cut where the cut is that."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._pushed import (
    fastest_at_wall,
    fastest_on_floor,
    left_in,
    on_floors,
    pushed,
    touching,
    worst_window,
)
from firstoff.checks.base import Case
from firstoff.checks.push_off import CHECK
from tests.dryrun import milled, small


def thin(stiffness: float = 6e6) -> Belief:
    return small.belief(machine_mill__stiffness_x=stiffness,
                        machine_mill__stiffness_y=stiffness).thinned(np.arange(32))


def finished(folder: Path) -> Case:
    return milled.pocket(folder, milled.GOOD, ("leaves", "0 mm"))


def test_only_windows_along_finished_walls_are_looked_at(tmp_path: Path) -> None:
    case = finished(tmp_path)
    assert case.windows is not None and case.run is not None
    made = touching(case)
    assert 0 < made.sum() < len(made)
    rough = milled.pocket(tmp_path, milled.GOOD, ("leaves", "0.2 mm"))
    assert not touching(rough).any() and worst_window(rough, thin()) is None


def test_a_softer_machine_is_pushed_further(tmp_path: Path) -> None:
    case = finished(tmp_path)
    soft, stiff = (np.nanmax(np.abs(pushed(case, thin(k)))) for k in (2e6, 2e7))
    assert soft > 3.0 * stiff > 0.0


def test_the_worst_window_is_the_worst(tmp_path: Path) -> None:
    case = finished(tmp_path)
    worst = worst_window(case, thin())
    assert worst is not None
    off = np.abs(pushed(case, thin()))
    assert off[worst] == np.nanmax(off)
    assert abs(np.median(left_in(case, thin(), worst))) == pytest.approx(off[worst], rel=0.05)


def test_a_thicker_chip_pushes_more(tmp_path: Path) -> None:
    case = finished(tmp_path)
    assert case.windows is not None
    worst = worst_window(case, thin())
    assert worst is not None
    faster = replace(case, windows=replace(case.windows, feed_per_tooth=2.0 * case.windows.feed_per_tooth))
    assert np.median(np.abs(left_in(faster, thin(), worst))) > np.median(np.abs(left_in(case, thin(), worst)))


def test_the_check_names_the_line(tmp_path: Path) -> None:
    case = finished(tmp_path)
    if CHECK.applies(case):
        assert "on the wall in line" in CHECK.evaluate(case, thin()).because


def test_the_finish_is_that_of_the_fastest_cut_along_a_wall(tmp_path: Path) -> None:
    """A fast cut in the middle of the pocket leaves no mark on its walls; one along the last ring does."""
    lines = milled.GOOD.splitlines()
    rim = max(k for k, line in enumerate(lines) if line.startswith("G1 X18 Y13"))
    middle = max(k for k, line in enumerate(lines) if line.startswith("G1 X23.6 Y19"))
    usual = fastest_at_wall(finished(tmp_path))
    assert usual is not None
    for place, times in ((middle, 1.0), (rim, 2.0)):
        fast = [*lines[:place], lines[place].replace("F360", "F720"), *lines[place + 1:]]
        found = fastest_at_wall(milled.pocket(tmp_path, "\n".join(fast) + "\n", ("leaves", "0 mm")))
        assert found is not None and found[0] == pytest.approx(times * usual[0], rel=0.02)
        assert times == 1.0 or found[1] in range(rim + 1, rim + 6)
    nominal = case_without(tmp_path)
    assert fastest_at_wall(nominal) is None


def test_the_floor_is_as_rough_as_the_fastest_pass_over_it(tmp_path: Path) -> None:
    """A fast cut above the floor leaves no mark on it; one along it does, wherever it goes."""
    lines = milled.GOOD.splitlines()
    last = max(k for k, line in enumerate(lines) if line.startswith("G1 X23.6 Y19"))
    first = min(k for k, line in enumerate(lines) if line.startswith("G1 X23.6 Y19"))
    usual = fastest_on_floor(finished(tmp_path))
    assert usual is not None and first < last
    for place, times in ((first, 1.0), (last, 2.0)):
        fast = [*lines[:place], lines[place].replace("F360", "F720"), *lines[place + 1:]]
        slow_again = place + 1
        fast[slow_again] += "" if "F" in fast[slow_again] else " F360"
        found = fastest_on_floor(milled.pocket(tmp_path, "\n".join(fast) + "\n", ("leaves", "0 mm")))
        assert found is not None and found[0] == pytest.approx(times * usual[0], rel=0.02)
    assert fastest_on_floor(case_without(tmp_path)) is None
    assert not on_floors(milled.pocket(tmp_path, milled.GOOD, ("leaves", "0.2 mm"))).any()


def case_without(folder: Path) -> Case:
    """The pocket without its program."""
    return replace(finished(folder), run=None)
