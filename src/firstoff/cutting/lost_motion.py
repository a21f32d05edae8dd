"""Lost motion: a cut that pulls its table along the feed drags it through the play of its screw.

The tooth that is in the cut then takes the play on top of its feed. Whether a cut pulls is a matter of its
engagement: a climb cut mostly does, a conventional one mostly pushes back.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, finite, not_negative, positive
from firstoff.cutting._integrals import tables
from firstoff.cutting.edge import Edge
from firstoff.cutting.force import Coefficients, Engagement, as_edge


class Pull(NamedTuple):
    """How the cut pulls the table the way that it feeds, by row; negative pushes back.

    Fields:
        steady: mean over a turn [N], shape (N,).
        most: at the position of the cutter where it pulls most [N], shape (N,).
    """

    steady: Array
    most: Array


def feed_pull(coefficients: Coefficients, engagement: Engagement | Edge, feed_per_tooth: Num) -> Pull:
    """Pull of the cut on the table along its feed.

    Args:
        coefficients: the force law by rows.
        engagement: cutter and cut that all rows share.
        feed_per_tooth: f_z [m], scalar or shape (N,).

    Returns:
        Pull, each in [N], shape (N,).

    Raises:
        OutOfRange: if the feed is not above 0 or the engagement is impossible.

    Range: no runout; what pushes the tool along its feed pulls the table, which feeds the other way.
    Source: altintas2012, ch. 2 (forces of a helical end mill); action and reaction.
    """
    made, feed = tables(as_edge(engagement), False), positive("feed per tooth", feed_per_tooth)
    law = [finite("coefficient", item) for item in coefficients]
    law = [*(item * feed for item in law[:3]), *law[3:]]
    columns = np.stack(np.broadcast_arrays(*(law[term.number] for term in made.terms["x"])), axis=-1)
    return Pull(np.asarray((columns @ made.means["x"])[..., 0]), np.asarray((columns @ made.peaks["x"]).max(axis=-1)))


def snatched_chip(chip: Num, lost_motion: Num) -> Array:
    """Chip of the tooth that is in the cut when the table jumps.

    Args:
        chip: largest chip of the even cut [m], shape (N,).
        lost_motion: play of the screw [m], shape (N,).

    Returns:
        Thickness [m], shape (N,).

    Raises:
        OutOfRange: if the chip is not above 0 or the lost motion negative.

    Range: all of the play at once: the table's inertia, which spreads the jump over several teeth of a quick
        spindle, is left out (on the careful side).
    Source: own, sum of lengths along the feed.
    """
    return np.asarray(positive("chip", chip) + not_negative("lost motion", lost_motion), dtype=np.float64)
