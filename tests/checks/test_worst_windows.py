from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks import _forces
from firstoff.checks._forces import coefficients, loads, mean_torque, profile_of, worst
from firstoff.checks._worst_windows import ENOUGH, worst_windows
from firstoff.checks.base import Case
from firstoff.removal.windows import Slices, Windows
from tests.checks.builders import belief, case, operation, windows


def program(number: int) -> Windows:
    """Windows of a long program: each of another depth, width and feed."""
    rng = np.random.default_rng(2)
    even = windows(number=number)
    width = rng.uniform(0.2, 6.0, number)
    entry = np.arccos(2.0 * width / 6.0 - 1.0)
    fields = {name: getattr(even, name) for name in even.__dataclass_fields__}
    return Windows(**{**fields, "depth": rng.uniform(0.2, 3.0, number), "width": width, "entry": entry,
                      "feed_per_tooth": rng.uniform(0.005, 0.05, number), "seconds": rng.uniform(0.1, 1.0, number)})


def long(number: int = 200) -> Case:
    return case(op=operation(), cut=program(number))


def test_few_windows_are_all_kept() -> None:
    this = long(10)
    assert this.windows is not None
    kinds = [(i, 1.0) for i in range(10)]
    assert worst_windows(this.windows, kinds, coefficients(this, belief()), profile_of(this), 3, 0.5) is kinds


def test_the_worst_of_a_long_program_are_kept_and_its_time(monkeypatch: pytest.MonkeyPatch) -> None:
    this, believed = long(), belief()
    few = loads(this, believed)
    monkeypatch.setattr("firstoff.checks._worst_windows.ENOUGH", 10_000)
    monkeypatch.setattr(_forces, "_recent", {})
    monkeypatch.setattr(_forces, "_bitten", {})
    every = loads(this, believed)
    assert len(few) < len(every) == 200 and ENOUGH < 200
    for name in ("peak_side", "mean_torque", "peak_torque", "peak_x", "peak_z"):
        assert worst(few, name) == pytest.approx(worst(every, name), rel=1e-2), name
    assert sum(load.seconds for load in few) == pytest.approx(sum(load.seconds for load in every))
    assert mean_torque(few) == pytest.approx(mean_torque(every), rel=0.05)


def sliced(number: int = 200) -> Case:
    """The same program, its engagement told by slices: one up to each window's depth."""
    this = long(number)
    cut = this.windows
    assert cut is not None
    slices = Slices(np.arange(number + 1), np.zeros(number), cut.depth, cut.entry, cut.exit, np.zeros(number),
                    cut.volume)
    return replace(this, windows=replace(cut, slices=slices))


def test_slices_that_say_the_same_give_the_same_forces() -> None:
    few, by_slices = loads(long(), belief()), loads(sliced(), belief())
    for name in ("peak_side", "mean_torque", "peak_z"):
        assert worst(by_slices, name) == pytest.approx(worst(few, name), rel=2e-2), name


def test_a_slice_that_is_thin_above_makes_the_force_smaller() -> None:
    whole = sliced(20)
    assert whole.windows is not None
    thin = whole.windows.slices
    half = Slices(2 * np.arange(21), np.stack([thin.low, thin.high / 2], 1).ravel(),
                  np.stack([thin.high / 2, thin.high], 1).ravel(),
                  np.stack([thin.entry, np.full(20, 3.0)], 1).ravel(),
                  np.repeat(thin.exit, 2), np.zeros(40), np.zeros(40))
    less = replace(whole, windows=replace(whole.windows, slices=half))
    assert (worst(loads(less, belief()), "peak_side") < 0.8 * worst(loads(whole, belief()), "peak_side")).all()
