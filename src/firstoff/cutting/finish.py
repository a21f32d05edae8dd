"""Finish: the heights that the geometry of feed and edge leaves on a surface."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, between, not_negative, positive, whole_teeth

#: Points at which a wall is looked at, for each tooth.
_POINTS = 32
#: Halvings of an angle in search of a ridge: to the last digit.
_HALVINGS = 52
#: What is left of a right angle after so many: the least that a side leans by.
_LEAST = np.pi / 2.0 ** (_HALVINGS + 2)


def rounded_feed_mark(feed: Num, corner_radius: Num) -> Array:
    """Height of the marks that a rounded corner leaves.

    Args:
        feed: advance from mark to mark: per turn for one cutting tooth, per tooth for equal ones [m].
        corner_radius: r [m].

    Returns:
        Peak to valley [m], shape of the arguments.

    Raises:
        OutOfRange: if the feed is negative or the radius not above 0.

    Range: feed well below the radius; geometry alone: built-up edge and vibration come on top.
    Source: ghosh, f^2 / (8 r).
    """
    return np.asarray(not_negative("feed", feed) ** 2 / (8.0 * positive("corner radius", corner_radius)))


def sharp_feed_mark(feed: Num, side_angle: Num, end_angle: Num) -> Array:
    """Height of the marks that a sharp corner leaves.

    Args:
        feed: advance from mark to mark [m].
        side_angle: side cutting edge angle, from the axis of the tool [rad], from 0.
        end_angle: end cutting edge angle (the dish of an end mill) [rad], above 0.

    Returns:
        Peak to valley [m], shape of the arguments.

    Raises:
        OutOfRange: if the feed is negative or an angle outside 0 ... pi/2.

    Range: sharp corner; for an end mill side_angle is 0 and the height is feed x tan(dish).
    Source: ghosh, f / (tan(side) + cot(end)).
    """
    side = between("side angle", side_angle, 0.0, 1.56, right="from 0 to below pi/2")
    end = between("end angle", positive("end angle", end_angle), 0.0, 1.56, right="above 0 and below pi/2")
    return np.asarray(not_negative("feed", feed) / (np.tan(side) + 1.0 / np.tan(end)), dtype=np.float64)


def wall_cusp(feed_per_tooth: Num, diameter: Num) -> Array:
    """Height of the marks on a wall that the side of a cutter makes, all teeth alike.

    Args:
        feed_per_tooth: f_z [m].
        diameter: D [m].

    Returns:
        Peak to valley [m], shape of the arguments.

    Raises:
        OutOfRange: if the feed is negative or the diameter not above 0.

    Range: no runout; feed well below the diameter.
    Source: ghosh, f_z^2 / (4 D).
    """
    return np.asarray(not_negative("feed per tooth", feed_per_tooth) ** 2 / (4.0 * positive("diameter", diameter)))


def wall_cusp_with_runout(feed_per_tooth: Num, diameter: Num, teeth: int, eccentricity: Num) -> Array:
    """Height of the marks on a wall when one tooth stands out: from a mark a tooth to a mark a turn.

    Args:
        feed_per_tooth: f_z [m], scalar or shape (N,).
        diameter: D [m].
        teeth: z, number of teeth [1].
        eccentricity: offset of the cutter's axis, half of what an indicator shows [m], shape (N,).

    Returns:
        Peak to valley [m], shape (N,).

    Raises:
        OutOfRange: if feed or eccentricity is negative, the diameter not above 0, or there is no tooth.

    Range: tooth 1 stands in the direction of the offset; parabola for the circle of the tooth.
    Source: own, envelope of z parabolas of height x^2 / D, shifted by the radius of each tooth (kline1983).
    """
    number = whole_teeth(teeth)
    size, feed, offset = np.broadcast_arrays(
        positive("diameter", diameter), not_negative("feed per tooth", feed_per_tooth),
        not_negative("eccentricity", eccentricity))
    along = np.linspace(0.0, 1.0, _POINTS * number + 1) * number  # in feeds, one turn of the cutter
    scale = (feed**2 / size)[..., None]
    surface = np.full((*feed.shape, along.size), np.inf)
    for mark in range(-number, 2 * number + 1):
        standing = offset * np.cos(2.0 * np.pi * mark / number)
        surface = np.minimum(surface, scale * (along - mark) ** 2 - standing[..., None])
    return np.asarray(surface.max(axis=-1) - surface.min(axis=-1), dtype=np.float64)


def ball_scallop(step_over: Num, diameter: Num) -> Array:
    """Height of the ridge between two passes of a ball nose.

    Args:
        step_over: from pass to pass, along the surface [m].
        diameter: D, of the ball [m].

    Returns:
        Height [m], shape of the arguments.

    Raises:
        OutOfRange: if the step is negative or above the diameter.

    Range: flat or gently curved surface.
    Source: own, exact circle: R - sqrt(R^2 - s^2 / 4).
    """
    radius = positive("diameter", diameter) / 2.0
    step = between("step-over", step_over, 0.0, 2.0 * radius, right="from 0 to the diameter of the ball")
    half = step / 2.0
    return np.asarray(half**2 / (radius + np.sqrt(radius**2 - half**2)), dtype=np.float64)


def _ridge(angle: Array, reach: Array, corner: Array, slope: Array) -> tuple[Array, Array]:
    """Half the step and the height of the ridge where the side of the cutter leans by an angle.

    Seen along its way up a slope, the circle on which the corner's centre runs is an ellipse; the cutter's
    outline runs beside it at the distance of the corner radius.
    """
    sine, cosine, low = np.sin(angle), np.cos(angle), reach * np.sin(slope)
    size = np.hypot(reach * sine, low * cosine)
    across = np.divide(reach**2 * sine, size, out=np.zeros_like(size), where=size > 0.0)
    down = np.divide(low**2 * cosine, size, out=np.zeros_like(size), where=size > 0.0)
    return across + corner * sine, low - down + corner * (1.0 - cosine)


def _leaning(wanted: Array, which: int, reach: Array, corner: Array, slope: Array) -> Array:
    """The angle at which the half step (0) or the height (1) is as wanted; on a flat that of one corner's arc."""
    if not np.any(slope):
        within = np.clip(wanted - (1 - which) * reach, 0.0, corner)
        share = np.divide(within, corner, out=np.zeros_like(corner), where=corner > 0.0)
        return np.maximum(np.arccos(1.0 - share) if which else np.arcsin(share), _LEAST)
    low, high = np.zeros_like(wanted), np.full_like(wanted, np.pi / 2.0)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        under = _ridge(middle, reach, corner, slope)[which] < wanted
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return (low + high) / 2.0


def _cutter(diameter: Num, corner_radius: Num, slope: Num) -> tuple[Array, Array, Array]:
    """Reach of the corner's centre, corner radius and slope, guarded."""
    radius = positive("diameter", diameter) / 2.0
    corner = between("corner radius", corner_radius, 0.0, radius, right="from 0 to half the diameter")
    return np.asarray(radius - corner), corner, between("slope", slope, 0.0, 1.56, right="from 0 to below pi/2")


def ridge_height(step_over: Num, diameter: Num, corner_radius: Num, slope: Num = 0.0) -> Array:
    """Height of the ridge between two passes of a flat, corner-radius or ball cutter that stands upright.

    Args:
        step_over: from pass to pass, square to the way [m].
        diameter: D [m].
        corner_radius: r: 0 for a flat end mill, D/2 for a ball [m].
        slope: angle of the surface up or down which the cutter goes, 0 for a flat [rad].

    Returns:
        Height square to the surface [m], shape of the arguments.

    Raises:
        OutOfRange: if the step is above the diameter, the corner radius above half of it, the slope not below
            pi/2, or an argument negative.

    Range: plane surface, passes straight up or down it; passes along a slope leave ball_scallop of twice r.
    Source: own, intersection of the offset ellipses that two passes sweep (vickers1989); one corner's arc on a flat.
    """
    radius = positive("diameter", diameter) / 2.0
    step = between("step-over", step_over, 0.0, 2.0 * radius, right="from 0 to the diameter")
    half, *sizes = np.broadcast_arrays(step / 2.0, *_cutter(diameter, corner_radius, slope))
    return np.asarray(_ridge(_leaning(half, 0, *sizes), *sizes)[1])


def step_over_for_ridge(height: Num, diameter: Num, corner_radius: Num, slope: Num = 0.0) -> Array:
    """Step from pass to pass that leaves ridges of the asked height.

    Args:
        height: of the ridge, from 0 [m].
        diameter: D [m].
        corner_radius: r: 0 for a flat end mill, D/2 for a ball [m].
        slope: angle of the surface up or down which the cutter goes, 0 for a flat [rad].

    Returns:
        Step, at most the diameter [m], shape of the arguments.

    Raises:
        OutOfRange: if the height is above what the cutter's side leaves at all, or as ridge_height.

    Range: as ridge_height. On a flat the step is never below what the flat of the cutter covers.
    Source: own, the inverse of ridge_height.
    """
    reach, corner, lean = _cutter(diameter, corner_radius, slope)
    most = reach * np.sin(lean) + corner
    ridge, *sizes = np.broadcast_arrays(
        between("height of the ridge", height, 0.0, most, right="from 0 to what the cutter's corner leaves"),
        reach, corner, lean)
    return np.asarray(2.0 * _ridge(_leaning(ridge, 1, *sizes), *sizes)[0])


def height_for_roughness(roughness: Num) -> Array:
    """Height of equal rounded marks that measure so much Ra.

    Args:
        roughness: Ra [m].

    Returns:
        Peak to valley [m], shape of the argument.

    Raises:
        OutOfRange: if the roughness is negative.

    Range: as mean_roughness.
    Source: own, the inverse of mean_roughness.
    """
    return np.asarray(not_negative("roughness", roughness) * 9.0 * np.sqrt(3.0) / 4.0, dtype=np.float64)


def mean_roughness(height: Num) -> Array:
    """Ra of a row of equal rounded marks.

    Args:
        height: peak to valley of the marks [m].

    Returns:
        Ra [m], shape of the arguments.

    Raises:
        OutOfRange: if the height is negative.

    Range: parabolic marks; for feed marks of a corner radius it is 0.0321 f^2 / r.
    Source: stephenson, eq. (10.10); factor 4 / (9 sqrt 3) in closed form.
    """
    return np.asarray(not_negative("height", height) * 4.0 / (9.0 * np.sqrt(3.0)), dtype=np.float64)
