"""Engagement of a milling cutter: angles of entry and exit, chip thickness, working diameter.

Angles are counted from +y in the sense of rotation, with the feed along +x: conventional (up-milling) starts
at 0, climb (down-milling) ends at pi.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, not_negative, positive
from firstoff.errors import OutOfRange

Direction = Literal["climb", "conventional", "slot"]


class Angles(NamedTuple):
    """Where a tooth enters and leaves the material.

    Fields:
        entry: phi_st, angle of entry [rad].
        exit: phi_ex, angle of exit [rad].
    """

    entry: Array
    exit: Array


def _immersion(width_of_cut: Num, diameter: Num) -> Array:
    """a_e / D, checked."""
    size = positive("diameter", diameter)
    width = between("width of cut", width_of_cut, 0.0, size, right="from 0 to the diameter of the cutter")
    return np.asarray(width / size, dtype=np.float64)


def engagement_angles(width_of_cut: Num, diameter: Num, direction: Direction) -> Angles:
    """Angles of entry and exit of a cut of the given width.

    Args:
        width_of_cut: a_e [m], broadcast with diameter; of no effect in a slot.
        diameter: D, working diameter of the cutter [m].
        direction: climb, conventional or slot.

    Returns:
        Angles, each [rad], shape of the arguments.

    Raises:
        OutOfRange: if the width is negative or above the diameter, or the direction is unknown.

    Range: cutter axis beside or inside the band of material that is removed, one side of it at the wall.
    Source: altintas2012, ch. 2 (angles of immersion in up- and down-milling).
    """
    part = _immersion(width_of_cut, diameter)
    if direction == "conventional":
        return Angles(np.zeros_like(part), np.arccos(1.0 - 2.0 * part))
    if direction == "climb":
        return Angles(np.arccos(2.0 * part - 1.0), np.full_like(part, np.pi))
    if direction == "slot":
        return Angles(np.zeros_like(part), np.full_like(part, np.pi))
    raise OutOfRange(f"direction is '{direction}'", right="climb, conventional or slot")


def largest_chip(feed_per_tooth: Num, width_of_cut: Num, diameter: Num) -> Array:
    """Largest thickness of the chip: below half immersion it is thinner than the feed per tooth.

    Args:
        feed_per_tooth: f_z [m].
        width_of_cut: a_e [m].
        diameter: D [m].

    Returns:
        Thickness [m], shape of the arguments.

    Raises:
        OutOfRange: if the feed is negative, or the width negative or above the diameter.

    Range: circular tooth path (feed per tooth below a tenth of the diameter).
    Source: altintas2012, ch. 2, h = f_z sin(phi).
    """
    feed = not_negative("feed per tooth", feed_per_tooth)
    part = np.minimum(_immersion(width_of_cut, diameter), 0.5)
    return np.asarray(feed * 2.0 * np.sqrt(part * (1.0 - part)), dtype=np.float64)


def ball_diameter(depth_of_cut: Num, diameter: Num) -> Array:
    """Working diameter of a ball nose at a depth: where its speed and its side load are.

    Args:
        depth_of_cut: a_p [m].
        diameter: D, of the ball [m].

    Returns:
        Working diameter [m], shape of the arguments.

    Raises:
        OutOfRange: if the depth is negative or the diameter not above 0.

    Range: axis square to the surface; above half the diameter the whole diameter works.
    Source: own, chord of a circle.
    """
    size = positive("diameter", diameter)
    depth = np.minimum(not_negative("depth of cut", depth_of_cut), size / 2.0)
    return np.asarray(2.0 * np.sqrt(depth * (size - depth)), dtype=np.float64)


def corner_diameter(depth_of_cut: Num, diameter: Num, corner_radius: Num) -> Array:
    """Working diameter of a cutter with rounded corners at a depth.

    Args:
        depth_of_cut: a_p [m].
        diameter: D [m].
        corner_radius: r [m], from 0 to half the diameter.

    Returns:
        Working diameter [m], shape of the arguments.

    Raises:
        OutOfRange: if the depth is negative or the radius is more than half the diameter.

    Range: axis square to the surface.
    Source: own, chord of the corner added to the flat of the end.
    """
    size = positive("diameter", diameter)
    radius = between("corner radius", corner_radius, 0.0, size / 2.0, right="from 0 to half the diameter")
    depth = np.minimum(not_negative("depth of cut", depth_of_cut), radius)
    return np.asarray(size - 2.0 * radius + 2.0 * np.sqrt(depth * (2.0 * radius - depth)), dtype=np.float64)


def chamfer_diameter(depth_of_cut: Num, tip_diameter: Num, half_angle: Num, diameter: Num) -> Array:
    """Working diameter of a chamfer cutter or countersink at a depth.

    Args:
        depth_of_cut: a_p, from the tip [m].
        tip_diameter: diameter of the flat at the tip [m].
        half_angle: half the included angle [rad], above 0 and below pi/2.
        diameter: D, largest diameter of the cutter [m].

    Returns:
        Working diameter [m], shape of the arguments.

    Raises:
        OutOfRange: if the depth is negative, the angle outside 0 ... pi/2, or the tip wider than the cutter.

    Range: straight flanks; beyond the cone the largest diameter works.
    Source: own, cone.
    """
    size = positive("diameter", diameter)
    tip = between("tip diameter", tip_diameter, 0.0, size, right="from 0 to the diameter of the cutter")
    angle = between("half angle", positive("half angle", half_angle), 0.0, 1.57, right="below pi/2")
    depth = not_negative("depth of cut", depth_of_cut)
    return np.asarray(np.minimum(tip + 2.0 * depth * np.tan(angle), size), dtype=np.float64)


def cutting_speed(diameter: Num, spindle_speed: Num) -> Array:
    """Speed of the edge past the material.

    Args:
        diameter: D, working diameter [m].
        spindle_speed: angular speed of the spindle [rad/s].

    Returns:
        v_c [m/s], shape of the arguments.

    Raises:
        OutOfRange: if the diameter is not above 0 or the speed is negative.

    Range: feed much slower than the edge.
    Source: iso3002, v_c = D omega / 2.
    """
    return np.asarray(positive("diameter", diameter) * not_negative("spindle speed", spindle_speed) / 2.0)


def table_feed(feed_per_tooth: Num, teeth: int, spindle_speed: Num) -> Array:
    """Speed of the table.

    Args:
        feed_per_tooth: f_z [m].
        teeth: number of teeth [1].
        spindle_speed: angular speed of the spindle [rad/s].

    Returns:
        v_f [m/s], shape of the arguments.

    Raises:
        OutOfRange: if there is no tooth, or feed or speed is negative.

    Range: all teeth alike.
    Source: iso3002, v_f = f_z z n with n = omega / (2 pi).
    """
    if teeth < 1:
        raise OutOfRange(f"number of teeth is {teeth}", right="1 or more")
    turns = not_negative("spindle speed", spindle_speed) / (2.0 * np.pi)
    return np.asarray(not_negative("feed per tooth", feed_per_tooth) * teeth * turns, dtype=np.float64)
