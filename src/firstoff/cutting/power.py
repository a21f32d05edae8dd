"""Power and torque: what a cut asks of the spindle, and what the spindle can give."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, not_negative, positive


def removal_rate(depth_of_cut: Num, width_of_cut: Num, table_feed: Num) -> Array:
    """Volume removed in a unit of time.

    Args:
        depth_of_cut: a_p [m].
        width_of_cut: a_e [m].
        table_feed: v_f [m/s].

    Returns:
        Q [m3/s], shape of the arguments.

    Raises:
        OutOfRange: if an argument is negative.

    Range: full cross-section a_p x a_e.
    Source: iso3002, Q = a_p a_e v_f.
    """
    depth, width = not_negative("depth of cut", depth_of_cut), not_negative("width of cut", width_of_cut)
    return np.asarray(depth * width * not_negative("table feed", table_feed), dtype=np.float64)


def cutting_power(torque: Num, spindle_speed: Num) -> Array:
    """Power at the cutter from its mean torque.

    Args:
        torque: mean torque [N m], shape (N,).
        spindle_speed: angular speed of the spindle [rad/s].

    Returns:
        Power [W], shape (N,).

    Raises:
        OutOfRange: if torque or speed is negative.

    Range: the power of the feed is left out (below 1 in 100).
    Source: own, P = M omega.
    """
    speed = not_negative("spindle speed", spindle_speed)
    return np.asarray(not_negative("torque", torque) * speed, dtype=np.float64)


def power_of_removal(specific_energy: Num, rate: Num) -> Array:
    """Power at the cutter from the removal rate and the energy that a unit of volume takes.

    Args:
        specific_energy: u, the same as a specific cutting force [N/m2], shape (N,).
        rate: Q [m3/s].

    Returns:
        Power [W], shape (N,).

    Raises:
        OutOfRange: if an argument is negative.

    Range: the specific energy must belong to the chip thickness of the cut.
    Source: kalpakjian, P = u Q.
    """
    volume = not_negative("removal rate", rate)
    return np.asarray(not_negative("specific energy", specific_energy) * volume, dtype=np.float64)


def spindle_torque(rated_power: Num, base_speed: Num, spindle_speed: Num) -> Array:
    """Torque that a speed-controlled spindle can hold: constant below its base speed, falling above.

    Args:
        rated_power: at the base speed and above [W], shape (N,).
        base_speed: angular speed of the spindle from which the rated power is there [rad/s], shape (N,).
        spindle_speed: angular speed of the spindle [rad/s].

    Returns:
        Torque [N m], shape (N,).

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: steady load, motor without overload; gear or belt ratio counted in base_speed.
    Source: stephenson, ch. on machine tools (constant torque below the base speed, constant power above).
    """
    speed, base = positive("spindle speed", spindle_speed), positive("base speed", base_speed)
    return np.asarray(positive("rated power", rated_power) / np.maximum(speed, base), dtype=np.float64)
