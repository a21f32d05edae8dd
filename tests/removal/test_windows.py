"""Windows: as many as there are seconds, minutes of them all, and a name for their contents."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.removal.windows import Slices, Windows, joined, without_residue

COLUMNS = [f.name for f in fields(Windows) if f.name != "slices"]
VALUES = [f.name for f in fields(Slices) if f.name != "offsets"]


def made(seconds: list[float], slices: int = 2) -> Windows:
    """Windows of some times, each of some slices, all else counted up so that no two fields are alike."""
    w = len(seconds)
    columns: dict[str, Any] = {
        name: np.arange(w, dtype=np.float64) + 100.0 * i for i, name in enumerate(COLUMNS)}
    values = {name: np.arange(slices * w, dtype=np.float64) + 1e4 * i for i, name in enumerate(VALUES)}
    columns["slices"] = Slices(slices * np.arange(w + 1), **values)
    columns["seconds"] = np.array(seconds, dtype=np.float64)
    columns |= {name: np.arange(3.0 * w).reshape(w, 3) + 7.0 * k for k, name in enumerate(("point", "direction"))}
    columns |= {"line": np.arange(w, dtype=np.int64), "corner": np.zeros(w, dtype=np.bool_),
                "flags": np.zeros(w, dtype=np.int64)}
    return Windows(**columns)


@given(st.lists(st.floats(0.0, 1e4), max_size=20))
def test_minutes_are_sixty_seconds_each(seconds: list[float]) -> None:
    windows = made(seconds)
    assert len(windows) == len(seconds)
    assert windows.minutes == pytest.approx(sum(seconds) / 60.0)


def test_none_is_no_time_and_says_so() -> None:
    assert not len(made([])) and made([]).minutes == 0.0


@pytest.mark.parametrize("name", COLUMNS)
def test_every_field_is_in_the_name(name: str) -> None:
    """A finding is used again by this: a field that were left out would give stale verdicts."""
    windows = made([1.0, 2.0, 3.0])
    column = getattr(windows, name).copy()
    column[1] = ~column[1] if column.dtype == np.bool_ else column[1] + 1
    assert replace(windows, **{name: column}).digest != windows.digest


@pytest.mark.parametrize("name", [*VALUES, "offsets"])
def test_every_field_of_the_slices_is_in_the_name(name: str) -> None:
    windows = made([1.0, 2.0, 3.0])
    column = getattr(windows.slices, name).copy()
    column[1] += 1
    other = replace(windows, slices=replace(windows.slices, **{name: column}))
    assert other.digest != windows.digest


def test_joined_windows_keep_their_own_slices() -> None:
    one, two = made([1.0, 2.0], 3), made([4.0], 1)
    both = joined([one, two])
    assert both.seconds.tolist() == [1.0, 2.0, 4.0] and len(both.slices) == 7
    assert both.slices.offsets.tolist() == [0, 3, 6, 7]
    assert both.slices.low[6] == two.slices.low[0] and both.slices.low[3] == one.slices.low[3]


def test_some_windows_keep_their_slices() -> None:
    windows = made([1.0, 2.0, 3.0], 2)
    some = windows.take(np.array([True, False, True]))
    assert some.seconds.tolist() == [1.0, 3.0] and some.slices.offsets.tolist() == [0, 2, 4]
    assert some.slices.low.tolist() == windows.slices.low[[0, 1, 4, 5]].tolist()


def test_windows_without_slices_own_none() -> None:
    none = Slices.none(3)
    assert len(none) == 0 and none.offsets.tolist() == [0, 0, 0, 0]


def test_the_same_contents_bear_the_same_name_however_they_lie_in_memory() -> None:
    windows = made([1.0, 2.0, 3.0])
    strided = replace(windows, point=np.asfortranarray(windows.point), seconds=np.repeat(windows.seconds, 2)[::2])
    assert not strided.point.flags.c_contiguous
    assert strided.digest == windows.digest == made([1.0, 2.0, 3.0]).digest


def test_order_counts() -> None:
    windows = made([1.0, 2.0])
    turned = Windows(**{name: getattr(windows, name)[::-1] for name in COLUMNS}, slices=windows.slices)
    assert turned.digest != windows.digest
    assert turned.minutes == windows.minutes


def test_what_the_grid_left_on_a_wall_is_no_cut() -> None:
    cut = Slices(np.array([0, 2, 3]), np.array([0.0, 1.0, 0.0]), np.array([1.0, 2.0, 1.0]), np.array([1.0, 2.9, 2.9]),
                 np.full(3, np.pi), np.full(3, 0.01), np.array([0.5, 0.03, 0.03]))
    windows = replace(made([1.0, 1.0]), s0=np.array([0.0, 1.0]), s1=np.array([1.0, 2.0]), depth=np.array([2.0, 1.0]),
                      floor=np.zeros(2), volume=np.array([0.53, 0.03]), slices=cut)
    clean = without_residue(windows, 0.05)
    assert clean.depth.tolist() == [1.0, 0.0] and clean.entry.tolist() == [1.0, 0.0]
    assert clean.width[1] == 0.0 and clean.slices.offsets.tolist() == [0, 1, 1]
    assert clean.volume.tolist() == windows.volume.tolist() and clean.minutes == windows.minutes


def test_a_cut_on_both_sides_is_told_by_its_larger_side() -> None:
    cut = Slices(np.array([0, 2, 4]), np.zeros(4), np.ones(4), np.array([0.0, 2.0, 0.0, 2.5]),
                 np.array([1.0, np.pi, 0.6, np.pi]), np.full(4, 0.01), np.array([0.5, 0.6, 0.4, 0.3]))
    windows = replace(made([1.0, 1.0]), s0=np.arange(2.0), s1=np.arange(1.0, 3.0), floor=np.zeros(2), slices=cut)
    hull, larger = without_residue(windows, 0.05), without_residue(windows, 0.05, True)
    assert hull.entry.tolist() == [0.0, 0.0] and hull.exit.tolist() == [np.pi, np.pi]
    assert larger.entry.tolist() == [2.0, 0.0] and larger.exit.tolist() == [np.pi, 0.6]


def test_what_the_end_of_the_tool_takes_stays() -> None:
    windows = replace(made([1.0], slices=0), floor=np.array([5.0]), volume=np.array([5.0]))
    assert without_residue(windows, 0.05).digest == windows.digest
