"""Heaps are found where they are and nowhere else; a cloud is left as it is by its own moves."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.records.modes import Cloud, gaussian, heaps


def two(many: int = 1024, share: float = 0.3, columns: int = 12) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Rows of which a share lies two to the right in the third column, the rest two to the left."""
    random = np.random.default_rng(1)
    z = random.standard_normal((many, columns))
    z[:, 2] = np.where(np.arange(many) < share * many, 2.0, -2.0) + 0.4 * z[:, 2]
    return z


def test_two_heaps_are_found_with_their_shares() -> None:
    found = heaps(two())
    assert found is not None
    assert abs(found.way[2]) > 0.95
    assert abs(found.between) < 0.6 and min(found.upper, 1.0 - found.upper) == pytest.approx(0.3, abs=0.02)
    assert found.above(two()).mean() == pytest.approx(found.upper, abs=0.01)


@pytest.mark.parametrize("seed", range(5))
def test_one_heap_is_one(seed: int) -> None:
    random = np.random.default_rng(seed)
    plain = random.standard_normal((1024, 30))
    assert heaps(plain) is None
    skew = plain.copy()
    skew[:, 0] = np.exp(0.3 * plain[:, 0])
    assert heaps(skew) is None


def test_a_handful_of_strays_is_no_heap() -> None:
    assert heaps(two(share=0.03)) is None


@pytest.mark.parametrize("stride", [1.0, 0.7])
def test_its_own_moves_leave_a_cloud_as_it_is(stride: float) -> None:
    z, random = two(8000, columns=3), np.random.default_rng(2)
    cloud = Cloud.of(z, np.eye(3)[:, 1:])
    assert len(cloud.shares) == 2
    for _ in range(3):
        z = cloud.moved(z, stride, random)
    assert np.mean(z[:, 2] > 0.0) == pytest.approx(0.3, abs=0.02)
    assert z[z[:, 2] > 0.0, 2].std() == pytest.approx(0.4, abs=0.03)
    assert z[:, 0].std() == pytest.approx(1.0, abs=0.04)


def test_the_density_is_that_of_a_mixture() -> None:
    """Times the prior's it adds up to one."""
    steps = np.linspace(-6.0, 6.0, 241)
    x, y = np.meshgrid(steps, steps)
    cloud = Cloud.of(two(4000, columns=3)[:, 1:], np.eye(2))
    assert len(cloud.shares) == 2
    z = np.column_stack([x.ravel(), y.ravel()])
    prior = np.exp(-0.5 * np.sum(z**2, axis=1)) / (2.0 * np.pi)
    assert np.sum(np.exp(cloud.over_prior(z)) * prior) * (steps[1] - steps[0]) ** 2 == pytest.approx(1.0, rel=0.01)


def test_it_is_the_prior_but_along_its_ways() -> None:
    random = np.random.default_rng(3)
    few, way = random.standard_normal((128, 40)), np.zeros((40, 1))
    few[:, 0], way[0] = 2.0 + 0.05 * few[:, 0], 1.0
    found = gaussian(few, way)
    assert found.deviations == pytest.approx(0.05, rel=0.3) and np.abs(found.mean) == pytest.approx(2.0, abs=0.05)
    z = found.moved(np.zeros((4000, 40)), 1.0, random.standard_normal((4000, 40)))
    assert z[:, 0].mean() == pytest.approx(2.0, abs=0.05) and z[:, 0].std() == pytest.approx(0.05, rel=0.3)
    assert np.abs(z[:, 1:].mean(axis=0)).max() < 0.08 and z[:, 1:].std(axis=0) == pytest.approx(np.ones(39), abs=0.06)
    assert gaussian(few, np.zeros((40, 0))).over_prior(few) == pytest.approx(np.zeros(128))
