"""What sources of error do to a surface or to a length, a row for each source: sums, shifts, turns."""

from __future__ import annotations

import numpy as np

from ._locators import Array

#: what one unit of each source of error does: rotation [rad] and translation [m] about the model's origin, a row for
#: each source in the order in which they became known; those that became known later do nothing. Shape (S, 6)
Form = Array
#: the same to one length, shape (S,)
Moves = Array


def about(turn: Array, point: Array) -> Array:
    """A rotation about a line through a point."""
    return np.concatenate([turn, -np.cross(turn, point)])


def plus(*parts: tuple[Array, float]) -> Array:
    """A sum of forms, or of what is done to lengths, each so many times."""
    out = np.zeros((max(len(part) for part, _ in parts), *parts[0][0].shape[1:]))
    for part, times in parts:
        out[:len(part)] += times * part
    return out


def shifted(moves: Moves, way: Array) -> Form:
    """What shifts along a direction do to a surface."""
    form = np.zeros((len(moves), 6))
    form[:, 3:] = np.outer(moves, way)
    return form


def along(form: Form, point: Array, way: Array) -> Moves:
    """What one unit of each source does to a point of a surface along a direction [m].

    Args:
        form: of the surface.
        point: in the part's axes [m], shape (3,).
        way: a unit vector [1], shape (3,).

    Returns:
        For each source what it does [m], shape (S,).
    """
    x, y, z = (float(item) for item in point)
    a, b, c = (float(item) for item in way)
    # way · (t + r × p) = r · (p × way) + t · way
    lever = np.array([y * c - z * b, z * a - x * c, x * b - y * a, a, b, c])
    return np.asarray(form @ lever)
