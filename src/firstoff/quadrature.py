"""Gauss rules, computed where they are needed: the library's own loads all of its polynomials."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def gauss_rule(points: int) -> tuple[Array, Array]:
    """Nodes and weights of the Gauss-Legendre rule from -1 to 1, exact for polynomials up to degree 2 n - 1.

    Args:
        points: n, 1 or more.

    Returns:
        Nodes, ascending, and weights, each of shape (n,).

    Source: golub1969, sections 1 and 2: eigenvalues of the matrix of the recurrence, and their vectors' first parts.
    """
    order = np.arange(1, points)
    beside = np.diag(order / np.sqrt(4.0 * order**2 - 1.0), 1)
    nodes, vectors = np.linalg.eigh(beside + beside.T)
    nodes, weights = np.asarray(nodes), 2.0 * np.asarray(vectors[0] ** 2)
    return 0.5 * (nodes - nodes[::-1]), 0.5 * (weights + weights[::-1])      # they are even about the middle
