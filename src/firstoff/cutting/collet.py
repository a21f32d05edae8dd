"""Grip of a collet on a shank: by friction against pull along the tool and torque about it."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive


def collet_grip(
    nut_torque: Num, nut_diameter: Num, thread_friction: Num, taper_angle: Num, shank_friction: Num
) -> Array:
    """Pull at which a shank slides out of a collet that its nut presses into a taper.

    Args:
        nut_torque: with which the nut is drawn tight [N m], shape (N,).
        nut_diameter: of its thread [m].
        thread_friction: of thread and face of the nut [1], shape (N,).
        taper_angle: half the included angle of the taper: 8 degrees for the usual collet [rad].
        shank_friction: between collet and shank [1], shape (N,).

    Returns:
        Pull [N], shape (N,).

    Raises:
        OutOfRange: if a size or friction is not above 0, or the angle not within 0.01 ... 1 rad.

    Range: the nut's push is torque over friction radius (thread and face together, each about half the thread's
        diameter); the same friction in taper and bore; clean and dry: oil halves it.
    Source: own, balance of the collet as a wedge: radial = push / tan(angle + friction angle); the usual angle
        from iso15488.
    """
    angle = between("taper angle", taper_angle, 0.01, 1.0, right="from 0.01 to 1 rad; 8 degrees for most collets")
    friction, grip = positive("thread friction", thread_friction), positive("shank friction", shank_friction)
    push = positive("nut torque", nut_torque) / (friction * positive("nut diameter", nut_diameter))
    return np.asarray(grip * push / np.tan(angle + np.arctan(grip)), dtype=np.float64)


def creep_share(pull: Num, torque: Num, shank_diameter: Num, grip: Num) -> Array:
    """Share of a collet's grip that pull and torque use up together: 1 creeps.

    Args:
        pull: along the tool, out of the collet; negative presses it in and counts as none [N], shape (N,).
        torque: about the tool [N m], shape (N,).
        shank_diameter: of the shank [m].
        grip: pull at which the shank slides [N], shape (N,).

    Returns:
        Share [1], shape (N,).

    Raises:
        OutOfRange: if the torque is negative, or diameter or grip not above 0.

    Range: friction has one direction: pull and torque at the bore add as a resultant. A cutter creeps by
        peaks, a little with each.
    Source: own, resultant of friction at the bore.
    """
    around = 2.0 * not_negative("torque", torque) / positive("shank diameter", shank_diameter)
    along = np.maximum(finite("pull", pull), 0.0)
    return np.asarray(np.hypot(along, around) / positive("grip", grip), dtype=np.float64)
