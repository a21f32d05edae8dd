"""A Gauss rule integrates polynomials exactly, and is the library's."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.quadrature import gauss_rule


@pytest.mark.parametrize("points", [1, 2, 8, 24, 48])
def test_it_is_exact_up_to_twice_its_points(points: int) -> None:
    nodes, weights = gauss_rule(points)
    for power in range(2 * points):
        exact = 0.0 if power % 2 else 2.0 / (power + 1)
        assert float(weights @ nodes**power) == pytest.approx(exact, abs=2e-14)
    assert not abs(float(weights @ nodes ** (2 * points)) - 2.0 / (2 * points + 1)) < 1e-16


@pytest.mark.parametrize("points", [2, 8, 24, 48])
def test_it_is_the_librarys(points: int) -> None:
    nodes, weights = np.polynomial.legendre.leggauss(points)
    assert gauss_rule(points)[0] == pytest.approx(nodes, abs=1e-14)
    assert gauss_rule(points)[1] == pytest.approx(weights, abs=1e-14)
