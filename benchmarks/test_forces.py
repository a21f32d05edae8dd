"""Forces of 5,000 windows over 2048 rows, beside the textbook's loops on a few of them.

Wanted: under 1 s on one core. Run with `make benchmark`; only the results are held, never the clock.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from benchmarks.peers.milling_force import peak_side_force
from firstoff.cutting.edge import Profile
from firstoff.cutting.force import Coefficients
from firstoff.cutting.window_force import ManyCuts, many_forces

ROWS, WINDOWS, FEW = 2048, 5000, 20
DIAMETER, TEETH, HELIX, DEPTH = 0.006, 3, 0.5, 0.002
FLAT, BALL = Profile(DIAMETER, 0.0, 0.0, DIAMETER), Profile(DIAMETER, DIAMETER / 2.0, 0.0, 0.0)


def law() -> Coefficients:
    """Rows about a published aluminium (cjme2021, table 5)."""
    rng = np.random.default_rng(4)
    return Coefficients(*(k * rng.lognormal(0.0, 0.3, ROWS) for k in (767e6, 169e6, 222e6, 27.7e3, 26.6e3, 0.7e3)))


def windows(number: int, slices: int) -> ManyCuts:
    """Windows of a climb cut, each of another width and feed."""
    rng = np.random.default_rng(5)
    arc = np.arccos(1.0 - 2.0 * rng.uniform(0.03, 1.0, number))[:, None] * np.ones(slices)
    thick = np.full(slices, DEPTH / slices)
    return ManyCuts(DEPTH * (np.arange(slices) + 0.5) / slices, thick, np.pi - arc, np.full_like(arc, np.pi),
                    rng.uniform(1e-5, 6e-5, number))


@pytest.mark.parametrize(("profile", "slices"), [(FLAT, 1), (BALL, 6)], ids=["flat", "ball in 6 slices"])
def test_5000_windows_by_2048_rows(benchmark: Any, profile: Profile, slices: int) -> None:
    found = benchmark.pedantic(many_forces, args=(law(), profile, TEETH, HELIX, windows(WINDOWS, slices)),
                               rounds=3, warmup_rounds=1)
    assert found.peak_side.shape == (ROWS,)


def test_20_windows_by_2048_rows_in_the_textbooks_loops(benchmark: Any) -> None:
    """A two hundred and fiftieth of the work."""
    cuts, rows = windows(FEW, 1), law()

    def loops() -> Any:
        plain = tuple(np.asarray(k) for k in rows)
        return np.max([peak_side_force(plain, DIAMETER, TEETH, HELIX, DEPTH, float(a), float(b), float(f))
                       for a, b, f in zip(cuts.entry[:, 0], cuts.exit[:, 0], cuts.feed_per_tooth, strict=True)],
                      axis=0)

    slow = benchmark.pedantic(loops, rounds=1)
    assert many_forces(rows, FLAT, TEETH, HELIX, cuts).peak_side == pytest.approx(slow, rel=0.05)
