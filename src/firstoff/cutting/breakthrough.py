"""A drill comes out at the far side: the thrust falls away, what was pressed springs, the lips bite too much."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, between, not_negative, positive

#: A lip meets the metal again after half a turn: what springs forward is bitten in that time at the earliest.
HALF_TURN = 0.5


def point_length(diameter: Num, point_angle: Num) -> Array:
    """Length of a drill's point.

    Args:
        diameter: D [m].
        point_angle: included angle [rad].

    Returns:
        Length [m], shape of the arguments.

    Raises:
        OutOfRange: if the diameter is not above 0 or the angle outside 0 ... pi.

    Range: cone to the middle.
    Source: own, cone.
    """
    angle = between("point angle", positive("point angle", point_angle), 0.0, np.pi, right="above 0, up to pi")
    return np.asarray(positive("diameter", diameter) / (2.0 * np.tan(angle / 2.0)), dtype=np.float64)


def feed_of_breaking_through(
    feed_per_turn: Num, thrust: Num, stiffness: Num, play: Num, length: Num
) -> Array:
    """Feed a turn while a drill breaks through: what was pressed together springs out on top of the feed.

    Args:
        feed_per_turn: f, before [m].
        thrust: that falls away [N], shape (N,).
        stiffness: of the machine along the spindle [N/m], shape (N,).
        play: along the spindle, taken up where the lips pull themselves in; 0 where they do not [m], shape (N,).
        length: way over which the thrust falls away: the point's, or the thickness of a sheet [m].

    Returns:
        Feed a turn [m], shape (N,).

    Raises:
        OutOfRange: if an argument is negative, or stiffness or feed not above 0.

    Range: the feed that was set goes on; nothing is bitten in less than half a turn.
    Source: own, Hooke: (thrust / stiffness + play) spread over the turns that the length takes.
    """
    feed = positive("feed per turn", feed_per_turn)
    turns = np.maximum(not_negative("length", length) / feed, HALF_TURN)
    springs = not_negative("thrust", thrust) / positive("stiffness", stiffness)
    return np.asarray(feed + (springs + not_negative("play", play)) / turns, dtype=np.float64)
