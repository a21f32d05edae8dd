"""Holes: the chip of a drill, thrust by the power law of a book, power of drilling. Torque and thrust: chisel.py."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive


def drill_chip(feed_per_turn: Num, point_angle: Num) -> Array:
    """Thickness of the chip that each of the two lips of a drill takes.

    Args:
        feed_per_turn: f [m].
        point_angle: included angle of the point, 118 degrees as a rule [rad].

    Returns:
        Thickness [m], shape of the arguments.

    Raises:
        OutOfRange: if the feed is negative or the angle outside 0 ... pi.

    Range: two equal lips.
    Source: klocke2011, h = (f / 2) sin(half the point angle).
    """
    angle = between("point angle", positive("point angle", point_angle), 0.0, np.pi, right="above 0, up to pi")
    return np.asarray(not_negative("feed per turn", feed_per_turn) / 2.0 * np.sin(angle / 2.0), dtype=np.float64)


def thrust_by_power_law(
    coefficient: Num, diameter: Num, feed_per_turn: Num, reference_feed: Num, exponent: Num
) -> Array:
    """Thrust of drilling from the empirical power law: C D (f / f_0)^x.

    Args:
        coefficient: C, thrust on a unit of diameter at the reference feed [N/m], shape (N,).
        diameter: D [m].
        feed_per_turn: f [m].
        reference_feed: f_0, at which C was found [m].
        exponent: x, 0.7 to 0.85 [1], shape (N,).

    Returns:
        Thrust along the drill [N], shape (N,).

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: standard point, D from 3 to 30 mm.
    Source: sharma, thrust = 1.16 k D (100 f)^0.85 in kgf and mm.
    """
    ratio = positive("feed per turn", feed_per_turn) / positive("reference feed", reference_feed)
    line = positive("coefficient", coefficient) * positive("diameter", diameter)
    return np.asarray(line * ratio ** finite("exponent", exponent), dtype=np.float64)


def drill_power(torque: Num, spindle_speed: Num) -> Array:
    """Power of drilling.

    Args:
        torque: of the drill [N m], shape (N,).
        spindle_speed: angular speed of the spindle [rad/s].

    Returns:
        Power [W], shape (N,).

    Raises:
        OutOfRange: if an argument is negative.

    Range: the power of the feed is left out.
    Source: kalpakjian, P = M omega.
    """
    speed = not_negative("spindle speed", spindle_speed)
    return np.asarray(not_negative("torque", torque) * speed, dtype=np.float64)
