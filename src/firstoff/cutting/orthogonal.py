"""One straight edge square to its way: shear plane and friction from two forces and two thicknesses, and back."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, not_negative, positive


class ShearPlane(NamedTuple):
    """What an orthogonal cut tells of work and tool.

    Fields:
        angle: of the shear plane [rad], shape (N,).
        friction: angle of friction on the face of the tool [rad], shape (N,).
        stress: shear stress on the plane [N/m2], shape (N,).
    """

    angle: Array
    friction: Array
    stress: Array


class Specific(NamedTuple):
    """Forces on a unit of edge and of chip.

    Fields:
        tangential: along the cut [N/m2], shape (N,).
        radial: square to it, into the work [N/m2], shape (N,).
    """

    tangential: Array
    radial: Array


def shear_angle(chip_ratio: Num, rake: Num = 0.0) -> Array:
    """Angle of the shear plane to the way of the edge.

    Args:
        chip_ratio: thickness before over after the cut [1].
        rake: angle of the face of the tool [rad].

    Returns:
        Angle [rad], shape of the arguments.

    Raises:
        OutOfRange: if the ratio is not above 0 or the rake beyond 1 rad.

    Range: one thin plane; continuous chips as wide as the cut.
    Source: kalpakjian, chapter on the mechanics of cutting: tan(phi) = r cos(rake) / (1 - r sin(rake)).
    """
    share, face = positive("chip ratio", chip_ratio), _rake(rake)
    return np.asarray(np.arctan2(share * np.cos(face), 1.0 - share * np.sin(face)))


def shear_plane(
    cutting_force: Num, thrust: Num, chip: Num, width: Num, chip_ratio: Num, rake: Num = 0.0
) -> ShearPlane:
    """Shear plane, its stress, and the friction on the tool, from an orthogonal test.

    Args:
        cutting_force: along the cut [N].
        thrust: square to it [N].
        chip: thickness before the cut [m].
        width: of the cut [m].
        chip_ratio: thickness before over after the cut [1].
        rake: angle of the face of the tool [rad].

    Returns:
        ShearPlane, shape of the arguments.

    Raises:
        OutOfRange: if force, thrust, chip, width or ratio is not above 0, or the rake beyond 1 rad.

    Range: as shear_angle; the edge is sharp: what it rubs counts as friction.
    Source: kalpakjian, chapter on the mechanics of cutting: the circle of forces.
    """
    along, square = positive("cutting force", cutting_force), positive("thrust", thrust)
    angle = shear_angle(chip_ratio, rake)
    sheared = along * np.cos(angle) - square * np.sin(angle)
    area = positive("chip", chip) * positive("width", width) / np.sin(angle)
    return ShearPlane(angle, np.asarray(np.arctan2(square, along) + _rake(rake)), np.asarray(sheared / area))


def specific_forces(plane: ShearPlane, rake: Num = 0.0) -> Specific:
    """Forces of a sharp edge on a unit of chip, from what an orthogonal test has told.

    Args:
        plane: angle, friction and stress.
        rake: angle of the face of the tool [rad].

    Returns:
        Specific, shape of the arguments.

    Raises:
        OutOfRange: if the stress is negative or the rake beyond 1 rad.

    Range: as shear_angle.
    Source: altintas2012, ch. 2: Ktc = tau cos(beta - rake) / (sin(phi) cos(phi + beta - rake)), Krc with the sine.
    """
    leaning = plane.friction - _rake(rake)
    scale = not_negative("shear stress", plane.stress) / (np.sin(plane.angle) * np.cos(plane.angle + leaning))
    return Specific(np.asarray(scale * np.cos(leaning)), np.asarray(scale * np.sin(leaning)))


def _rake(rake: Num) -> Array:
    return np.asarray(between("rake", rake, -1.0, 1.0, right="from -1 to 1 rad"))
