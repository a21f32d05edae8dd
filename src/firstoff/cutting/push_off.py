"""Push-off: how far tool and machine give way, and what that leaves on wall and floor.

Sign: positive = material left on (the wall stands proud, the floor is high), negative = cut too deep.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive
from firstoff.cutting.force import Coefficients, Engagement, check_engagement, normal_force
from firstoff.errors import OutOfRange

#: Equivalent over nominal diameter of a fluted part, two and four flutes alike (kops1990).
FLUTED_CORE = 0.8
#: Heights of the wall at which its error is taken.
_HEIGHTS = 9


class WallError(NamedTuple):
    """What a side cut leaves on its wall, by row.

    Fields:
        height: above the tip of the tool [m], shape (H,).
        left_on: material left on at each height; negative is cut too deep [m], shape (N, H).
        most: largest of left_on [m], shape (N,).
        least: smallest of left_on [m], shape (N,).
        mean: mean of left_on over the height [m], shape (N,).
    """

    height: Array
    left_on: Array
    most: Array
    least: Array
    mean: Array


def equivalent_diameter(diameter: Num, core_ratio: Num) -> Array:
    """Diameter of the plain cylinder that bends as a fluted one does.

    Args:
        diameter: D, over the flutes [m].
        core_ratio: equivalent over nominal diameter, 0.8 for end mills [1].

    Returns:
        Equivalent diameter [m], shape of the arguments.

    Raises:
        OutOfRange: if the diameter is not above 0 or the ratio outside 0.3 ... 1.

    Range: end mills of two to four flutes; 0.7 to 0.8 is told by makers.
    Source: kops1990, abstract: about 0.8 D.
    """
    ratio = between("core ratio", core_ratio, 0.3, 1.0, right="from 0.3 to 1; 0.8 for an end mill")
    return np.asarray(positive("diameter", diameter) * ratio, dtype=np.float64)


def tapered_diameter(height: Array, diameter: Array) -> Array:
    """Diameter of the plain cylinder that gives as much at its tip as a bar whose diameter changes along it.

    Args:
        height: bounds of its pieces above the tip, rising from 0 [m], shape (K,).
        diameter: of the bar there [m], shape (K,).

    Returns:
        Diameter [m].

    Raises:
        OutOfRange: if a height is negative, or a diameter not above 0.

    Range: bending only; force at the tip; of each piece its middle counts.
    Source: gere, unit-load integral of a cantilever; a truncated cone has (d_tip d_root^3)^(1/4).
    """
    up, wide = not_negative("height", height), positive("diameter", diameter)
    middle, wide = (up[1:] + up[:-1]) / 2.0, (wide[1:] + wide[:-1]) / 2.0
    give = np.sum(middle**2 / wide**4 * np.diff(up))
    return np.asarray((up[-1] ** 3 / 3.0 / give) ** 0.25)


def tool_stiffness(
    youngs_modulus: Num, stickout: Num, flute_length: Num, shank_diameter: Num, flute_diameter: Num
) -> Array:
    """Stiffness at the tip of a tool clamped at its shank: a cantilever with one step.

    Args:
        youngs_modulus: E of the tool [N/m2], shape (N,).
        stickout: free length from the collet to the tip [m].
        flute_length: length of the fluted part, from the tip [m].
        shank_diameter: of the plain part [m].
        flute_diameter: equivalent diameter of the fluted part [m].

    Returns:
        Force over deflection, both at the tip [N/m], shape (N,).

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: bending only; force at the tip; flutes longer than the stickout reach into the collet.
    Source: gere, deflection of cantilevers with two sections, end load.
    """
    length = positive("stickout", stickout)
    fluted = np.minimum(positive("flute length", flute_length), length)
    cubes_shank = (length**3 - fluted**3) / positive("shank diameter", shank_diameter) ** 4
    cubes_flute = fluted**3 / positive("flute diameter", flute_diameter) ** 4
    modulus = positive("Young's modulus", youngs_modulus)
    return np.asarray(3.0 * np.pi * modulus / (64.0 * (cubes_shank + cubes_flute)), dtype=np.float64)


def series_stiffness(first: Num, second: Num, third: Num) -> Array:
    """Stiffness of three springs in a row: tool, collet with spindle, and machine.

    Args:
        first: stiffness [N/m], shape (N,).
        second: stiffness [N/m], shape (N,).
        third: stiffness; infinite where there is none [N/m], shape (N,).

    Returns:
        Stiffness of the whole [N/m], shape (N,).

    Raises:
        OutOfRange: if a stiffness is not above 0.

    Range: all three measured at, or brought to, the tip of the tool.
    Source: own, compliances add.
    """
    parts = [positive("stiffness", item, allow_infinite=True) for item in (first, second, third)]
    give = 1.0 / parts[0] + 1.0 / parts[1] + 1.0 / parts[2]
    if np.any(give == 0.0):
        raise OutOfRange("all stiffnesses are infinite", right="at least one finite stiffness")
    return np.asarray(1.0 / give, dtype=np.float64)


def deflection(force: Num, stiffness: Num) -> Array:
    """How far the tip gives way.

    Args:
        force: at the tip [N], shape (N,).
        stiffness: of the whole chain at the tip [N/m], shape (N,).

    Returns:
        Deflection, with the sign of the force [m], shape (N,).

    Raises:
        OutOfRange: if the stiffness is not above 0.

    Range: static; forces that change slowly against the lowest mode.
    Source: own, linear spring.
    """
    return np.asarray(finite("force", force) / positive("stiffness", stiffness), dtype=np.float64)


def wall_error(
    coefficients: Coefficients,
    engagement: Engagement,
    feed_per_tooth: Num,
    stiffness: Num,
    wall: Literal["climb", "conventional"],
) -> WallError:
    """What a side cut leaves on the wall: the deflection at the moment when each height is generated.

    A height is generated when the edge there stands square to the wall: at phi = 0 in conventional milling,
    at phi = pi in climb milling. A slot has one wall of each.

    Args:
        coefficients: the force law by rows.
        engagement: cutter and cut that all rows share; it must reach the angle of the asked wall.
        feed_per_tooth: f_z [m], scalar or shape (N,).
        stiffness: square to the wall, of the whole chain at the tip [N/m], shape (N,).
        wall: the wall that a conventional or a climb cut leaves.

    Returns:
        WallError, lengths [m], shapes (H,), (N, H) and (N,).

    Raises:
        OutOfRange: if the engagement does not reach that wall, or stiffness or feed is not above 0.

    Range: static deflection, no regeneration of the error by the next tooth, no runout; the force acts at the
        tip (on the careful side for a deep cut).
    Source: altintas2012, ch. 2 (form errors in peripheral milling).
    """
    check_engagement(engagement)
    angle, sign = {"conventional": (0.0, -1.0), "climb": (np.pi, 1.0)}.get(wall, (np.nan, 0.0))
    if not engagement.entry - 1e-9 <= angle <= engagement.exit + 1e-9:
        raise OutOfRange(
            f"the cut from {engagement.entry:.4g} to {engagement.exit:.4g} rad leaves no {wall} wall",
            right="entry at 0 for conventional, exit at pi for climb")
    heights = np.linspace(0.0, engagement.depth_of_cut, _HEIGHTS)
    lag = 2.0 * np.tan(engagement.helix) / engagement.diameter * heights
    if engagement.helix == 0.0:  # a straight edge makes all heights at once, while all of it still cuts
        lag = np.full(_HEIGHTS, 1e-9 if wall == "conventional" else 0.0)
    force = normal_force(coefficients, engagement, feed_per_tooth, angle + lag)
    left_on = np.atleast_2d(sign * force / positive("stiffness", stiffness)[..., None])
    return WallError(heights, left_on, left_on.max(axis=-1), left_on.min(axis=-1), left_on.mean(axis=-1))


def wall_by_runout(eccentricity: Num) -> Array:
    """What runout does to a wall: the tooth that stands out most makes it, deeper by the eccentricity.

    Args:
        eccentricity: offset of the cutter's axis, half of what an indicator shows [m], shape (N,).

    Returns:
        Material left on, negative: cut too deep [m], shape (N,).

    Raises:
        OutOfRange: if the eccentricity is negative.

    Range: one tooth stands in the direction of the offset; otherwise less by its cosine.
    Source: kline1983.
    """
    return np.asarray(-not_negative("eccentricity", eccentricity), dtype=np.float64)


def floor_error(axial_force: Num, axial_stiffness: Num) -> Array:
    """What the axial force leaves on the floor: force on the tool away from the work lifts it.

    Args:
        axial_force: F_z on the tool at the moment when the floor is made, positive along z, away from the
            work [N], shape (N,).
        axial_stiffness: of spindle, column and table along z [N/m], shape (N,).

    Returns:
        Material left on; negative is cut too deep [m], shape (N,).

    Raises:
        OutOfRange: if the stiffness is not above 0.

    Range: static. A right-hand helix pulls the tool into the work: its axial force enters with a minus.
    Source: own, linear spring.
    """
    return np.asarray(finite("axial force", axial_force) / positive("axial stiffness", axial_stiffness))
