"""A chatter map of 200 x 100 points beside the published algorithm, and a limit over many rows.

Wanted: 100 times as fast as point by point, 15 times as fast as in batches, with limits within 1 % of the converged
ones; a limit over 512 rows under 2 s. Run with `make benchmark`; only the results are held, never the clock.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from benchmarks.peers.semi_discretization import Array, OneMode, map_in_batches, map_point_by_point
from firstoff.cutting.chatter import Mode, depth_limit, directional_factors
from firstoff.cutting.stability import Regeneration, sings, stability_limit

MILL = OneMode(mass=0.03993, damping=0.011, natural=2 * np.pi * 922.0, tangential=6e8, radial=2e8, teeth=2)
MODE = Mode(MILL.mass * MILL.natural**2, MILL.damping, MILL.natural)
SLOT = Regeneration(MILL.tangential, MILL.radial, MILL.teeth, 0.0, float(np.pi))
SPEEDS, DEPTHS = np.linspace(5000.0, 10000.0, 200) * 2 * np.pi / 60, np.linspace(0.0, 4e-3, 101)[1:]
STEPS, ROWS = 40, 512


def test_map(benchmark: Any) -> None:
    chart = benchmark.pedantic(sings, args=(SLOT, [MODE], [], SPEEDS[:, None], DEPTHS[None, :]), rounds=3,
                               warmup_rounds=1)
    assert chart.shape == (200, 100)


def test_limits_of_the_map(benchmark: Any) -> None:
    """The line of the map alone, held to the published algorithm with so many steps that it has converged."""
    limits = benchmark.pedantic(stability_limit, args=(SLOT, [MODE], [], SPEEDS, 2e-5, 4e-3), rounds=3,
                                warmup_rounds=1)
    for at in range(3, len(SPEEDS), 40):
        below, above = map_in_batches(MILL, SPEEDS[at:at + 1], limits[at] * np.array([0.99, 1.01]), 400)[0]
        assert below < 1.0 < above, f"limit at {SPEEDS[at]:.0f} rad/s is out by more than 1 %"


def test_map_in_batches(benchmark: Any) -> None:
    chart = benchmark.pedantic(map_in_batches, args=(MILL, SPEEDS, DEPTHS, STEPS), rounds=1)
    assert chart.shape == (200, 100)


def test_map_point_by_point(benchmark: Any) -> None:
    chart = benchmark.pedantic(map_point_by_point, args=(MILL, SPEEDS, DEPTHS, STEPS), rounds=1)
    assert chart[::40] == pytest.approx(map_in_batches(MILL, SPEEDS[::40], DEPTHS, STEPS), rel=1e-6)


def rows() -> tuple[Mode, Array]:
    """A mode and a cutting coefficient as they are believed of a machine."""
    rng = np.random.default_rng(6)
    k, zeta, natural, force = (rng.lognormal(0.0, s, ROWS) for s in (0.4, 0.4, 0.3, 0.2))
    return Mode(float(MODE.stiffness) * k, MODE.damping * zeta, MODE.natural * natural), 6e8 * force


def test_limit_over_512_rows_by_discretization(benchmark: Any) -> None:
    mode, force = rows()
    limit = benchmark.pedantic(stability_limit, args=(SLOT._replace(tangential=force), [mode], [], 700.0, 1e-5, 0.1),
                               rounds=3, warmup_rounds=1)
    assert np.median(limit) > 0.0


def test_limit_over_512_rows_of_zero_order(benchmark: Any) -> None:
    mode, force = rows()
    factors = directional_factors(MILL.radial / force, 0.0, np.pi)
    limit = benchmark.pedantic(depth_limit, args=(force, 2, factors, [mode], [], 700.0), rounds=3, warmup_rounds=1)
    assert np.median(limit) > 0.0
