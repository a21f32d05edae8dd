"""Where a drill begins and where it goes: walking of an unguided point, sliding on a slope, running off in depth."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, between, not_negative, positive
from firstoff.normal import normal_cdf, normal_quantile

_STRATA = 200
_MIDDLES = normal_quantile((np.arange(_STRATA) + 0.5) / _STRATA)


def slope_side_force(press: Num, slope: Num) -> Array:
    """Side force on a point that is pressed on a slope and does not cut yet.

    Args:
        press: force along the drill at the first touch [N], shape (N,).
        slope: between the drill and the square of the surface [rad].

    Returns:
        Force [N], shape (N,).

    Raises:
        OutOfRange: if the press is negative or the slope outside 0 ... pi/2.

    Range: friction left out; a lip that bites first pushes to the same side.
    Source: beer, force on a plane resolved: P sin cos.
    """
    angle = between("slope", slope, 0.0, np.pi / 2.0, right="from 0 to pi/2")
    return np.asarray(not_negative("press", press) * np.sin(angle) * np.cos(angle), dtype=np.float64)


def uneven_lips_force(
    specific_force: Num, diameter: Num, feed_per_turn: Num, slope: Num, point_angle: Num
) -> Array:
    """Side force of lips that cut on the high side of a slope only, while the point is half in.

    Args:
        specific_force: kc at the chip of the lips [N/m2], shape (N,).
        diameter: D [m].
        feed_per_turn: f [m].
        slope: between the drill and the square of the surface [rad].
        point_angle: included angle of the point [rad].

    Returns:
        Force [N], shape (N,).

    Raises:
        OutOfRange: if an argument is negative, or slope or point outside 0 ... pi/2 and 0 ... pi.

    Range: slopes up to the flank of the point, (pi - point) / 2; from there on one side cuts alone.
    Source: own: cone and slope meet in an ellipse that lies off centre by tan(slope) tan(point / 2); the chip of each
        lip goes with it as 1 + that times cos, and two lips half engaged make that times kc f D / 8.
    """
    angle = between("slope", slope, 0.0, np.pi / 2.0, right="from 0 to pi/2")
    point = between("point angle", positive("point angle", point_angle), 0.0, np.pi, right="above 0, up to pi")
    share = np.minimum(np.tan(angle) * np.tan(point / 2.0), 1.0)
    main = not_negative("specific force", specific_force) * not_negative("feed per turn", feed_per_turn)
    return np.asarray(share * main * positive("diameter", diameter) / 8.0, dtype=np.float64)


def sideways(side_force: Num, stiffness: Num) -> Array:
    """How far a side force pushes the point of a drill.

    Args:
        side_force: at the point [N], shape (N,).
        stiffness: of the drill with chuck and machine at its point [N/m], shape (N,).

    Returns:
        Offset [m], shape (N,).

    Raises:
        OutOfRange: if the force is negative or the stiffness not above 0.

    Range: until the lips hold it.
    Source: own, Hooke.
    """
    return np.asarray(not_negative("side force", side_force) / positive("stiffness", stiffness), dtype=np.float64)


def run_off(depth: Num, share: Num) -> Array:
    """How far the axis of a drilled hole leaves its line with depth.

    Args:
        depth: of the hole [m].
        share: sideways over depth [1], shape (N,).

    Returns:
        Offset at the bottom [m], shape (N,).

    Raises:
        OutOfRange: if an argument is negative.

    Range: straight drift; a drill that has bent once runs off faster.
    Source: own, proportion.
    """
    return np.asarray(not_negative("depth", depth) * not_negative("share", share), dtype=np.float64)


def chance_beyond(allowed: Num, sd: Num, bias: Num) -> Array:
    """Chance that a hole lies further from its place than is allowed, in the plane of the face.

    Args:
        allowed: radius round the true place [m].
        sd: standard deviation along each of two directions [m], shape (N,).
        bias: known offset, to one side [m], shape (N,).

    Returns:
        Chance [1], shape (N,).

    Raises:
        OutOfRange: if an argument is negative or the deviation not above 0.

    Range: the same normal spread in both directions; with a bias by strata along it, within 0.005.
    Source: own: along the bias by strata, across it from the normal law; without bias Rayleigh's
        exp(-a^2 / (2 sd^2)).
    """
    width, radius = positive("standard deviation", sd), not_negative("allowed", allowed)
    shape, off = np.broadcast_shapes(np.shape(width), np.shape(radius), np.shape(bias)), not_negative("bias", bias)
    if not np.any(off):
        return np.asarray(np.exp(-0.5 * (radius / width) ** 2) + np.zeros(shape))
    side = (off + np.zeros(shape))[..., None] + np.asarray(width)[..., None] * _MIDDLES
    room = np.maximum((np.asarray(radius) + np.zeros(shape))[..., None] ** 2 - side**2, 0.0)
    across = 2.0 * normal_cdf(-np.sqrt(room) / (np.asarray(width) + np.zeros(shape))[..., None])
    return np.asarray(across.mean(axis=-1), dtype=np.float64)
