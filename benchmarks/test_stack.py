"""Sizes of a job: forwards over all rows, and what a measurement does to them. Wanted: an update under 5 ms."""

from __future__ import annotations

from typing import Any

import numpy as np

from firstoff.dryrun.sizes import sizes_of
from firstoff.stack.causes import explain
from tests.dryrun import stacked

SOURCES, SIZES, READ = 120, 12, 4


def test_update_by_a_measurement(benchmark: Any) -> None:
    """Twelve sizes over 120 sources in 40 causes, four of them read."""
    rng = np.random.default_rng(1)
    lines = rng.standard_normal((SIZES, SOURCES)) * (rng.random((SIZES, SOURCES)) < 0.3)
    given = {"readings": np.full(READ, 2e-5), "lines": lines[:READ], "expected": np.zeros(SOURCES),
             "covariance": np.diag(np.full(SOURCES, 1e-10)), "reading_sd": np.full(READ, 3e-6), "sizes": lines}
    benchmark(explain, causes=np.arange(SOURCES) * 0, **given)


def test_which_of_forty_causes(benchmark: Any) -> None:
    """The same, asking which of forty causes is at work."""
    rng = np.random.default_rng(1)
    lines = rng.standard_normal((SIZES, SOURCES)) * (rng.random((SIZES, SOURCES)) < 0.3)
    given = {"readings": np.full(READ, 2e-5), "lines": lines[:READ], "expected": np.zeros(SOURCES),
             "covariance": np.diag(np.full(SOURCES, 1e-10)), "reading_sd": np.full(READ, 3e-6), "sizes": lines}
    benchmark(explain, causes=np.arange(SOURCES) // 3, **given)


def test_three_sizes_forwards(benchmark: Any) -> None:
    """A block milled all round: mean, spread, chance, shares, cures."""
    cases, belief = stacked.cases(), stacked.belief()
    benchmark(sizes_of, cases, belief)
