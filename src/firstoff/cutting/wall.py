"""What a wall keeps of push-off along its height, where the force acts, and what passes at the same setting leave.

Sign as in `push_off`: positive = material left on.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

import numpy as np

from firstoff.cutting._guard import Array, Num, finite, not_negative, positive
from firstoff.cutting.edge import Edge
from firstoff.cutting.force import Coefficients, Engagement, as_edge, check_engagement, normal_force
from firstoff.cutting.push_off import WallError
from firstoff.errors import OutOfRange

Wall = Literal["climb", "conventional"]
#: Slices along the edge, at whose middles the force acts, and heights at which the wall is looked at.
_SLICES, _HEIGHTS = 5, 9
#: Widths, as shares of the whole, between which the force of a spring pass is interpolated.
_WIDTHS = np.array([0.0, 0.01, 0.03, 0.07, 0.15, 0.3, 0.5, 0.75, 1.0])
#: Where each kind of wall is made, and how the force on the tool counts there.
_MADE = {"conventional": (0.0, -1.0), "climb": (np.pi, 1.0)}


def beam_compliance(
    youngs_modulus: Num, stickout: Num, flute_length: Num, shank_diameter: Num, flute_diameter: Num,
    load_height: Num, height: Num,
) -> Array:
    """Give of a stepped tool at one height for a side force at another.

    Args:
        youngs_modulus: E of the tool [N/m2], shape (N,).
        stickout: free length from the collet to the tip [m].
        flute_length: length of the fluted part, from the tip [m].
        shank_diameter: of the plain part [m].
        flute_diameter: equivalent diameter of the fluted part [m].
        load_height: of the force above the tip, up to the stickout [m].
        height: above the tip, up to the stickout [m].

    Returns:
        Deflection over force [m/N], shape of the arguments.

    Raises:
        OutOfRange: if a size is not above 0, or a height negative or beyond the stickout.

    Range: bending only; flutes longer than the stickout reach into the collet. At the tip for a force at the tip
        this is the inverse of tool_stiffness.
    Source: gere, unit-load integral of a cantilever of two sections.
    """
    length = positive("stickout", stickout)
    fluted = np.minimum(positive("flute length", flute_length), length)
    load, place = not_negative("height of the force", load_height), not_negative("height", height)
    if np.any(load > length) or np.any(place > length):
        raise OutOfRange(f"a height is above the stickout of {float(np.min(length)):.4g} m",
                         right="up to the stickout")
    start = np.maximum(load, place)
    fine, stout = positive("flute diameter", flute_diameter) ** 4, positive("shank diameter", shank_diameter) ** 4

    def arm(s: Array) -> Array:
        return np.asarray(s**3 / 3.0 - (load + place) * s**2 / 2.0 + load * place * s)

    step = np.maximum(fluted, start)
    bend = (arm(step) - arm(start)) / fine + (arm(length) - arm(step)) / stout
    return np.asarray(64.0 / (np.pi * positive("Young's modulus", youngs_modulus)) * bend, dtype=np.float64)


def slice_heights(depth_of_cut: float) -> tuple[Array, Array]:
    """Heights of the force's slices and of the wall, for which a compliance is asked.

    Args:
        depth_of_cut: a_p [m].

    Returns:
        Middles of the slices, shape (S,), and heights of the wall, shape (H,) [m].

    Raises:
        OutOfRange: if the depth is not above 0.

    Range: any.
    Source: own, even steps.
    """
    depth = float(positive("depth of cut", depth_of_cut))
    return depth * (np.arange(_SLICES) + 0.5) / _SLICES, np.linspace(0.0, depth, _HEIGHTS)


def wall_by_slices(
    coefficients: Coefficients, engagement: Engagement, feed_per_tooth: Num, compliance: Array, wall: Wall
) -> WallError:
    """What a side cut leaves on the wall, each slice of its force acting where it is.

    Args:
        coefficients: the force law by rows.
        engagement: cutter and cut that all rows share; it must reach the angle of the asked wall.
        feed_per_tooth: f_z [m], scalar or shape (N,).
        compliance: give of the whole chain at each height of the wall for a force at each slice, both as
            slice_heights gives them [m/N], shape (N, S, H).
        wall: the wall that a conventional or a climb cut leaves.

    Returns:
        WallError, lengths [m], shapes (H,), (N, H) and (N,).

    Raises:
        OutOfRange: if the engagement does not reach that wall, the compliance has another shape, or the feed is
            not above 0.

    Range: static deflection, no regeneration of the error by the next tooth, no runout.
    Source: kline1982, the force when each height is generated; gere for the tool.
    """
    check_engagement(engagement)
    _, heights = slice_heights(engagement.depth_of_cut)
    give = np.asarray(compliance, dtype=np.float64)
    if give.shape[-2:] != (_SLICES, _HEIGHTS):
        raise OutOfRange(f"compliance has the shape {give.shape}", right=f"(rows, {_SLICES}, {_HEIGHTS})")
    finite("compliance", give)
    angle, sign = made_at(engagement, wall)
    lag = wall_lags(engagement, wall)
    force = np.stack([np.atleast_2d(normal_force(coefficients, part, feed_per_tooth, angle + lag))
                      for part in _slices(engagement)], axis=-2)
    left_on = sign * (force * give).sum(axis=-2)
    return WallError(heights, left_on, left_on.max(axis=-1), left_on.min(axis=-1), left_on.mean(axis=-1))


def made_at(engagement: Engagement, wall: Wall) -> tuple[float, float]:
    """Where a wall is made, and how the force on the tool counts there.

    Args:
        engagement: cutter and cut.
        wall: the wall that a conventional or a climb cut leaves.

    Returns:
        Angle [rad], and the sign of a force along +y [1].

    Raises:
        OutOfRange: if the engagement does not reach that wall.

    Range: any.
    Source: own, the edge stands square to the wall there.
    """
    angle, sign = _MADE.get(wall, (np.nan, 0.0))
    if not engagement.entry - 1e-9 <= angle <= engagement.exit + 1e-9:
        raise OutOfRange(
            f"the cut from {engagement.entry:.4g} to {engagement.exit:.4g} rad leaves no {wall} wall",
            right="entry at 0 for conventional, exit at pi for climb")
    return angle, sign


def wall_lags(engagement: Engagement, wall: Wall) -> Array:
    """How far the cutter turns on from where its tip makes the wall until each height of it is made.

    Args:
        engagement: cutter and cut.
        wall: the wall that a conventional or a climb cut leaves.

    Returns:
        Angles at the heights of slice_heights [rad], shape (H,).

    Raises:
        OutOfRange: if the depth is not above 0.

    Range: a cylinder; a straight edge makes all heights at once, while all of it still cuts.
    Source: own, the lag of a helix.
    """
    if engagement.helix == 0.0:
        return np.full(_HEIGHTS, 1e-9 if wall == "conventional" else 0.0)
    heights = slice_heights(engagement.depth_of_cut)[1]
    return np.asarray(2.0 * np.tan(engagement.helix) / engagement.diameter * heights, dtype=np.float64)


def _slices(engagement: Engagement) -> list[Edge]:
    """The edge of a cylinder, cut into even slices along its axis."""
    whole = as_edge(engagement)
    steps = np.linspace(0.0, 1.0, _SLICES + 1)
    depth, lag = whole.high[0], whole.lag_high[0]
    return [whole._replace(low=(float(a * depth),), high=(float(b * depth),), length=(float((b - a) * depth),),
                           lag_low=(float(a * lag),), lag_high=(float(b * lag),))
            for a, b in pairwise(steps)]


def spring_passes(
    coefficients: Coefficients, engagement: Engagement, feed_per_tooth: Num, stiffness: Num, wall: Wall, passes: int
) -> Array:
    """What each pass at the same setting leaves on the wall, its mean over the height.

    The width that a pass really takes is what the one before has left, less what it is pushed off itself.

    Args:
        coefficients: the force law by rows.
        engagement: the first pass, as it is set.
        feed_per_tooth: f_z [m], scalar or shape (N,).
        stiffness: square to the wall, of the whole chain at the tip [N/m], shape (N,).
        wall: the wall that a conventional or a climb cut leaves.
        passes: how many, the first counted [1].

    Returns:
        Left on after each pass; nothing where a pass digs in [m], shape (N, passes).

    Raises:
        OutOfRange: if there is no pass, the engagement does not reach that wall, or stiffness or feed is not above 0.

    Range: as wall_error; below the least chip of the edge a pass only rubs, and leaves what it found.
    Source: own, balance of width and deflection by the forces of altintas2012, ch. 2.
    """
    if passes < 1:
        raise OutOfRange(f"number of passes is {passes}", right="1 or more")
    made_at(engagement, wall)
    width = engagement.diameter * float(1.0 - np.cos(engagement.exit - engagement.entry)) / 2.0
    pushed = _pushed(coefficients, engagement, feed_per_tooth, stiffness, wall, width)
    taken = width * _WIDTHS
    needed = np.maximum.accumulate(taken + pushed, axis=-1)     # the width set that makes a pass take this much
    left, found = [], np.full(len(pushed), width)
    for _ in range(passes):
        off = np.array([found[n] - np.interp(found[n], needed[n], taken) for n in range(len(pushed))])
        found = np.clip(off, 0.0, found)
        left.append(found)
    return np.stack(left, axis=-1)


def _pushed(
    coefficients: Coefficients, engagement: Engagement, feed: Num, stiffness: Num, wall: Wall, width: float
) -> Array:
    """How far a pass of each width is pushed off, by row (N, widths); nothing where it digs in."""
    angle, sign = _MADE[wall]
    lag = wall_lags(engagement, wall)
    rows = []
    for share in _WIDTHS[1:]:
        arc = float(np.arccos(1.0 - 2.0 * share * width / engagement.diameter))
        cut = (engagement._replace(entry=np.pi - arc) if wall == "climb" else engagement._replace(exit=arc))
        force = np.atleast_2d(sign * normal_force(coefficients, cut, feed, angle + lag)).mean(axis=-1)
        rows.append(np.maximum(force, 0.0) / positive("stiffness", stiffness))
    some = np.stack(np.broadcast_arrays(*rows), axis=-1)
    return np.concatenate([np.zeros((len(some), 1)), some], axis=-1)
