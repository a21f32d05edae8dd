"""Screwed joints: does the screw fit its hole, where does its head come to lie, does the joint slip."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

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
