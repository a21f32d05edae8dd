"""Wedges and slopes: force out for force in, force to move, whether a wedge stays."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.holding._rows import Array, not_negative, used

_RIGHT_ANGLE = float(np.pi / 2.0)


def wedge_gain(
    angle: npt.ArrayLike, face_friction: npt.ArrayLike, base_friction: npt.ArrayLike, guide_friction: npt.ArrayLike
) -> Array:
    """Force out over force in of a wedge that is driven in under a guided block.

    Args:
        angle: angle of the wedge [rad], shape (N,).
        face_friction: between wedge and block [1], broadcast.
        base_friction: between wedge and base [1], broadcast.
        guide_friction: between block and its guide [1], broadcast.

    Returns:
        Force on the block square to the base, for each newton along it [1], shape (N,).

    Raises:
        OutOfRange: if a value is negative or the wedge jams.

    Range: one sloping face; block guided square to the base.
    Source: beer, sample problem 8.4, solved in closed form.
    """
    alpha, phi, mu_base, mu_guide = _wedge(angle, face_friction, base_friction, guide_friction)
    lean = alpha + phi
    lift = np.cos(lean) - np.sin(lean) * mu_guide
    drive = np.sin(lean) + np.cos(lean) * mu_base
    if (lift <= 0.0).any():
        raise OutOfRange(f"a wedge of {alpha.max():g} rad jams in its guide", right="less angle or friction")
    if (drive <= 0.0).any():
        raise OutOfRange("a wedge without angle or friction", right="an angle above 0")
    return np.asarray(lift / drive)


def wedge_rise(way: npt.ArrayLike, angle: npt.ArrayLike) -> Array:
    """How far a wedge lifts what it presses on.

    Args:
        way: of the wedge along its base [m], shape (N,).
        angle: of the wedge [rad], broadcast, below a right angle.

    Returns:
        Rise [m], shape (N,).

    Raises:
        OutOfRange: if a value is negative, or the angle not below a right angle.

    Range: one sloping face.
    Source: own, the slope.
    """
    along, alpha = not_negative(way=way, angle=angle)
    return np.asarray(along * np.tan(_below_right(alpha)))


def wedge_force_to_free(
    force_out: npt.ArrayLike,
    angle: npt.ArrayLike,
    face_friction: npt.ArrayLike,
    base_friction: npt.ArrayLike,
    guide_friction: npt.ArrayLike,
) -> Array:
    """Pull that frees a wedge under load; negative where it must be kept from sliding out.

    Args:
        force_out: force on the block square to the base of the wedge [N], shape (N,).
        angle: angle of the wedge [rad], broadcast.
        face_friction: between wedge and block [1], broadcast.
        base_friction: between wedge and base [1], broadcast.
        guide_friction: between block and its guide on either side [1], broadcast.

    Returns:
        Pull on the wedge along its base, outwards [N], shape (N,).

    Raises:
        OutOfRange: if a value is negative.

    Range: as wedge_gain.
    Source: beer, sample problem 8.4, solved in closed form.
    """
    (load,) = not_negative(force_out=force_out)
    alpha, phi, mu_base, mu_guide = _wedge(angle, face_friction, base_friction, guide_friction)
    lean = phi - alpha  # of the pressure on the face, towards the way out
    pressure = load / (np.cos(lean) + np.abs(np.sin(lean)) * mu_guide)
    return np.asarray(pressure * (np.sin(lean) + np.cos(lean) * mu_base))


def wedge_slip_out_use(angle: npt.ArrayLike, face_friction: npt.ArrayLike, base_friction: npt.ArrayLike) -> Array:
    """How near a wedge is to sliding out by itself: below 1 friction holds it.

    Args:
        angle: angle of the wedge [rad], shape (N,).
        face_friction: on one face [1], broadcast.
        base_friction: on the other [1], broadcast.

    Returns:
        Angle over the sum of both friction angles [1], shape (N,).

    Raises:
        OutOfRange: if a value is negative.

    Range: at rest; knocks and shaking free wedges that hold at rest.
    Source: beer, ch. 8, self-locking wedges.
    """
    alpha, mu_face, mu_base = not_negative(
        angle=angle, face_friction=face_friction, base_friction=base_friction
    )
    return used(alpha, np.arctan(mu_face) + np.arctan(mu_base))


def force_up_slope(load: npt.ArrayLike, slope: npt.ArrayLike, friction: npt.ArrayLike) -> Array:
    """Level force that pushes a load up a slope.

    Args:
        load: weight or force straight down [N], shape (N,).
        slope: angle against the level [rad], broadcast.
        friction: of rest to start it, of motion to keep it moving [1], broadcast.

    Returns:
        Level force [N], shape (N,).

    Raises:
        OutOfRange: if a value is negative or no level force can move it.

    Range: slope and friction angle together below a right angle.
    Source: beer, sample problem 8.2.
    """
    weight, lean, mu = not_negative(load=load, slope=slope, friction=friction)
    total = lean + np.arctan(mu)
    if (total >= _RIGHT_ANGLE).any():
        raise OutOfRange(f"slope and friction angle add up to {total.max():g} rad", right="below pi/2")
    return np.asarray(weight * np.tan(total))


def force_to_hold_on_slope(load: npt.ArrayLike, slope: npt.ArrayLike, friction: npt.ArrayLike) -> Array:
    """Level force that keeps a load from sliding down a slope; negative where friction alone holds it.

    Args:
        load: weight or force straight down [N], shape (N,).
        slope: angle against the level [rad], broadcast, below a right angle.
        friction: of rest [1], broadcast.

    Returns:
        Level force up the slope [N], shape (N,).

    Raises:
        OutOfRange: if a value is negative, or the slope is not below a right angle.

    Range: slopes below a right angle.
    Source: beer, sample problem 8.2.
    """
    weight, lean, mu = not_negative(load=load, slope=slope, friction=friction)
    if (lean >= _RIGHT_ANGLE).any():
        raise OutOfRange(f"slope is {lean.max():g} rad", right="below pi/2")
    return np.asarray(weight * np.tan(lean - np.arctan(mu)))


def _wedge(
    angle: npt.ArrayLike, face_friction: npt.ArrayLike, base_friction: npt.ArrayLike, guide_friction: npt.ArrayLike
) -> tuple[Array, Array, Array, Array]:
    alpha, mu_face, mu_base, mu_guide = not_negative(
        angle=angle, face_friction=face_friction, base_friction=base_friction, guide_friction=guide_friction
    )
    return _below_right(alpha), np.asarray(np.arctan(mu_face)), mu_base, mu_guide


def _below_right(alpha: Array) -> Array:
    if (alpha >= _RIGHT_ANGLE).any():
        raise OutOfRange(f"angle is {alpha.max():g} rad", right="below pi/2")
    return alpha
