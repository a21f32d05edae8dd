"""Screwed joints: does the screw fit its hole, where does its head come to lie, does the joint slip."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.holding._rows import Array, above_zero, finite, not_negative, used


def projection(screw_length: npt.ArrayLike, clamped_thickness: npt.ArrayLike, head_depth: npt.ArrayLike) -> Array:
    """How far a screw stands out beyond what it clamps.

    Args:
        screw_length: nominal length [m], shape (N,): from under a flat head, from the top of a countersunk one.
        clamped_thickness: of what lies between head and thread, washers too [m], broadcast.
        head_depth: depth of the surface under a flat head, or of the top of a countersunk one, below the surface of
            the clamped part [m], broadcast; negative where it stands proud.

    Returns:
        Length [m], shape (N,); negative where the screw does not reach through.

    Raises:
        OutOfRange: if screw_length or clamped_thickness is not above 0.

    Range: all.
    Source: own, lengths added; iso10642 counts a countersunk screw from the top of its head.
    """
    length, thick = above_zero(screw_length=screw_length, clamped_thickness=clamped_thickness)
    (depth,) = finite(head_depth=head_depth)
    return np.asarray(length + depth - thick)


def bottoming(
    screw_length: npt.ArrayLike,
    clamped_thickness: npt.ArrayLike,
    head_depth: npt.ArrayLike,
    usable_depth: npt.ArrayLike,
) -> Array:
    """By how much a screw is too long for its blind hole.

    Args:
        screw_length: nominal length [m], shape (N,): from under a flat head, from the top of a countersunk one.
        clamped_thickness: of what lies between head and thread [m], broadcast.
        head_depth: as in projection [m], broadcast.
        usable_depth: of the hole that a screw can turn into: its full thread [m], broadcast.

    Returns:
        Length by which the screw bottoms before its head clamps [m], shape (N,); negative: room left.

    Raises:
        OutOfRange: if screw_length or clamped_thickness is not above 0, or usable_depth negative.

    Range: all.
    Source: own, lengths added.
    """
    (room,) = not_negative(usable_depth=usable_depth)
    return np.asarray(projection(screw_length, clamped_thickness, head_depth) - room)


def engaged_length(
    screw_length: npt.ArrayLike,
    clamped_thickness: npt.ArrayLike,
    head_depth: npt.ArrayLike,
    usable_depth: npt.ArrayLike,
    lost_length: npt.ArrayLike,
) -> Array:
    """Length of thread in which screw and hole bear on each other.

    Args:
        screw_length: nominal length [m], shape (N,): from under a flat head, from the top of a countersunk one.
        clamped_thickness: of what lies between head and thread [m], broadcast.
        head_depth: as in projection [m], broadcast.
        usable_depth: full thread of the hole [m], broadcast.
        lost_length: chamfer of the hole and of the screw's point [m], broadcast.

    Returns:
        Length [m], shape (N,); 0 where they do not meet.

    Raises:
        OutOfRange: if screw_length or clamped_thickness is not above 0, or another length negative.

    Range: all.
    Source: own, lengths added.
    """
    room, lost = not_negative(usable_depth=usable_depth, lost_length=lost_length)
    out = projection(screw_length, clamped_thickness, head_depth)
    return np.asarray(np.maximum(np.minimum(out, room) - lost, 0.0))


def head_depth(
    countersink_diameter: npt.ArrayLike,
    countersink_angle: npt.ArrayLike,
    hole_diameter: npt.ArrayLike,
    head_diameter: npt.ArrayLike,
    head_angle: npt.ArrayLike,
) -> Array:
    """Depth of the top of a countersunk head below the surface.

    Args:
        countersink_diameter: of the countersink at the surface [m], shape (N,).
        countersink_angle: full angle of the countersink [rad], broadcast.
        hole_diameter: of the hole below it [m], broadcast.
        head_diameter: of the head's cone carried on to the plane of its top: the theoretical diameter [m], broadcast.
        head_angle: full angle of the head [rad], broadcast.

    Returns:
        Depth [m], shape (N,); negative where the head stands proud.

    Raises:
        OutOfRange: if a size is not above 0, the countersink is narrower than its hole, or an angle not below pi.

    Range: coaxial cones, no give. Where both angles differ the head bears at one edge only, and sinks as it beds in.
    Source: own, the lowest place at which two coaxial cones touch.
    """
    sink, hole, head = above_zero(
        countersink_diameter=countersink_diameter, hole_diameter=hole_diameter, head_diameter=head_diameter
    )
    if (sink < hole).any():
        raise OutOfRange(f"countersink {sink.min():g} m on a hole of {hole.max():g} m", right="wider than it")
    slope, head_slope = _slope("countersink_angle", countersink_angle), _slope("head_angle", head_angle)
    at_top = (sink - head) / (2.0 * np.where(sink > head, slope, head_slope))
    bottom = (sink - hole) / (2.0 * slope)
    at_bottom = bottom - (head - hole) / (2.0 * head_slope)
    return np.asarray(np.minimum(at_top, at_bottom))


def countersink_for_depth(depth: npt.ArrayLike, head_diameter: npt.ArrayLike, angle: npt.ArrayLike) -> Array:
    """Diameter of a countersink in which a head of the same angle lies at a given depth.

    Args:
        depth: of the top of the head below the surface [m], shape (N,).
        head_diameter: theoretical diameter of the head [m], broadcast.
        angle: full angle of head and countersink [rad], broadcast.

    Returns:
        Diameter at the surface [m], shape (N,).

    Raises:
        OutOfRange: if head_diameter is not above 0 or the angle not between 0 and pi.

    Range: equal angles.
    Source: own, the cone of head_depth solved for its diameter.
    """
    (down,), (head,) = finite(depth=depth), above_zero(head_diameter=head_diameter)
    return np.asarray(head + 2.0 * down * _slope("angle", angle))


def slip_capacity(
    preload: npt.ArrayLike, screws: npt.ArrayLike, faces: npt.ArrayLike, friction: npt.ArrayLike
) -> Array:
    """Force along the faces of a clamped joint at which it slips.

    Args:
        preload: of each screw [N], shape (N,).
        screws: how many [1], broadcast.
        faces: pairs of faces that rub [1], broadcast.
        friction: of the faces [1], broadcast.

    Returns:
        Force [N], shape (N,).

    Raises:
        OutOfRange: if a value is negative.

    Range: load through the middle of the screws.
    Source: vdi2230, slip of a friction joint: F = F_K q_F mu_T.
    """
    pull, number, pairs, mu = not_negative(preload=preload, screws=screws, faces=faces, friction=friction)
    return np.asarray(pull * number * pairs * mu)


def slip_use(force: npt.ArrayLike, capacity: npt.ArrayLike) -> Array:
    """Use of a clamped joint against slipping.

    Args:
        force: along the faces [N], shape (N,), either sign.
        capacity: force at which it slips [N], broadcast.

    Returns:
        Demand over capacity [1], shape (N,).

    Raises:
        OutOfRange: if the capacity is negative.

    Range: as slip_capacity.
    Source: vdi2230, slip of a friction joint.
    """
    (load,), (most,) = finite(force=force), not_negative(capacity=capacity)
    return used(np.abs(load), most)


def _slope(name: str, angle: npt.ArrayLike) -> Array:
    (full,) = above_zero(**{name: angle})
    if (full >= np.pi).any():
        raise OutOfRange(f"{name} is {full.max():g} rad", right="above 0, below pi")
    return np.asarray(np.tan(full / 2.0))
