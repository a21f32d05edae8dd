"""Small displacements of parts and surfaces: a rotation and a translation, so small that they add.

A part that sits a little wrong, or a surface that was cut a little wrong, is moved against where it should be. To
first order the move of any of its points is that of the origin plus the rotation crossed with its place: a torsor.
Errors of several sources are columns side by side: what each unit of a source does.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.stack._arrays import Array, finite

#: directions of six locators count as independent while their matrix, lengths in units of their spread, is no worse
_CONDITION = 1e6


class Torsor(NamedTuple):
    """A small displacement, one column for each source of error.

    Fields:
        rotation: about the axes through the origin [rad], shape (3, S).
        translation: of the point at the origin [m], shape (3, S).
    """

    rotation: Array
    translation: Array


def displacement(rotation: npt.ArrayLike, translation: npt.ArrayLike, point: npt.ArrayLike) -> Array:
    """How far a point moves.

    Args:
        rotation: about the axes through the origin [rad], shape (3, S).
        translation: of the origin [m], shape (3, S).
        point: where [m], shape (3,).

    Returns:
        Displacement [m], shape (3, S).

    Raises:
        OutOfRange: if a number is not finite.

    Range: rotations so small that their products do not count: below some 0.01.
    Source: bourdet1996, the small displacement torsor.
    """
    turn, shift, where = finite("rotation", rotation), finite("translation", translation), finite("point", point)
    return np.asarray(shift + np.cross(turn, where[:, None], axis=0))


def located(points: npt.ArrayLike, normals: npt.ArrayLike, advances: npt.ArrayLike) -> Torsor:
    """How a rigid part moves when each of its six locators stands off by a little.

    Args:
        points: where the locators touch [m], shape (6, 3).
        normals: unit vectors along which each of them acts [1], shape (6, 3).
        advances: how far each touched point moves along its normal [m], shape (6, S).

    Returns:
        The displacement of the part, shape (3, S) twice.

    Raises:
        OutOfRange: if the locators leave a motion free: the message names its direction.

    Range: as displacement; frictionless points on a rigid part.
    Source: cai1997, eq. (7) (locating matrix), inverted.
    """
    where, along, moved = finite("points", points), finite("normals", normals), finite("advances", advances)
    if where.shape != (6, 3) or along.shape != (6, 3) or moved.shape[0] != 6:
        raise OutOfRange(f"{where.shape[0]} locators", right="six: three below, two at a side, one at an end")
    middle = where.mean(axis=0)
    reach = float(np.abs(where - middle).max())
    matrix = np.hstack([np.cross((where - middle) / reach, along), along])
    left, singular, free = np.linalg.svd(matrix)
    if singular[-1] * _CONDITION < singular[0]:
        raise OutOfRange(f"the locators leave the part free to {_motion(free[-1])}",
                         right="three points below, two at a side, one at an end, spread apart")
    found = free.T @ ((left.T @ moved) / singular[:, None])
    turn = found[:3] / reach
    return Torsor(turn, found[3:] - np.cross(turn, middle[:, None], axis=0))


def _motion(free: Array) -> str:
    """A free motion in words."""
    turn, shift = free[:3], free[3:]
    axis = "xyz"[int(np.argmax(np.abs(turn)))] if np.abs(turn).max() > np.abs(shift).max() else ""
    return f"turn about {axis}" if axis else f"slide along {'xyz'[int(np.argmax(np.abs(shift)))]}"


def through_points(points: npt.ArrayLike, normal: npt.ArrayLike, advances: npt.ArrayLike) -> Torsor:
    """How a plane lies when three of its points stand off by a little; in its own plane it stays.

    Args:
        points: three points of the plane, not in one line [m], shape (3, 3).
        normal: unit vector of the plane [1], shape (3,).
        advances: how far each point stands off along the normal [m], shape (3, S).

    Returns:
        The displacement of the plane, shape (3, S) twice.

    Raises:
        OutOfRange: if the three points lie in one line.

    Range: as displacement.
    Source: own, the plane through three points to first order.
    """
    where, out, moved = finite("points", points), finite("normal", normal), finite("advances", advances)
    one, two = where[1] - where[0], where[2] - where[0]
    across = float(np.dot(np.cross(one, two), out))
    if abs(across) <= 1e-9 * float(np.linalg.norm(one) * np.linalg.norm(two)):
        raise OutOfRange("three points in one line", right="three that span the plane")
    # the height over the plane is linear: its slopes along the plane are the rotation, turned by a right angle
    slope = (np.cross(two, out)[:, None] * (moved[1] - moved[0])
             - np.cross(one, out)[:, None] * (moved[2] - moved[0])) / across
    turn = np.cross(slope, out[:, None], axis=0)
    level = moved[0] - where[0] @ slope
    return Torsor(turn, out[:, None] * level)
