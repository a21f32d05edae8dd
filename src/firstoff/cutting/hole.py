"""Holes: torque, thrust and power of drilling, torque of tapping."""

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


def drill_torque(specific_force: Num, diameter: Num, feed_per_turn: Num, pilot_diameter: Num) -> Array:
    """Torque of drilling, into the solid or over a pilot hole.

    Args:
        specific_force: kc at the chip of the lips; as specific energy or hardness it is the same [N/m2],
            shape (N,).
        diameter: D [m].
        feed_per_turn: f [m].
        pilot_diameter: of the hole that is there already; 0 for the solid [m].

    Returns:
        Torque [N m], shape (N,).

    Raises:
        OutOfRange: if an argument is negative, or the pilot wider than the drill.

    Range: sharp drill, chips that clear; a packed flute adds to it without bound.
    Source: kalpakjian, M = u Q / omega; sharma, M = HB D^2 f / 8; over a pilot by the same balance.
    """
    size = positive("diameter", diameter)
    pilot = between("pilot diameter", pilot_diameter, 0.0, size, right="from 0 to the diameter of the drill")
    area = (size**2 - pilot**2) / 8.0
    force = not_negative("specific force", specific_force)
    return np.asarray(force * not_negative("feed per turn", feed_per_turn) * area, dtype=np.float64)


def lip_thrust(specific_force: Num, thrust_ratio: Num, diameter: Num, feed_per_turn: Num, point_angle: Num) -> Array:
    """Thrust of drilling into the solid, from the force on the lips.

    Args:
        specific_force: kc at the chip of the lips [N/m2], shape (N,).
        thrust_ratio: thrust over main force of the lips times the sine of half the point angle, 0.5 for a
            web-thinned drill to 1.3 for a plain one [1], shape (N,).
        diameter: D [m].
        feed_per_turn: f [m].
        point_angle: included angle of the point [rad].

    Returns:
        Thrust along the drill [N], shape (N,).

    Raises:
        OutOfRange: if an argument is negative or the angle outside 0 ... pi.

    Range: sharp drill; the ratio holds the chisel edge too, hence its width (judged).
    Source: klocke2011, feed force of drilling: ratio x kc f D / 2 x sin(half the point angle).
    """
    size = positive("diameter", diameter)
    width = size / np.sin(between("point angle", positive("point angle", point_angle), 0.0, np.pi,
                                  right="above 0, up to pi") / 2.0)
    chip = drill_chip(feed_per_turn, point_angle)
    main = not_negative("specific force", specific_force) * chip * width
    projected = np.sin(np.asarray(point_angle) / 2.0)
    return np.asarray(not_negative("thrust ratio", thrust_ratio) * main * projected, dtype=np.float64)


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


def thrust_over_pilot(
    solid_thrust: Num, chisel_share: Num, diameter: Num, web: Num, pilot_diameter: Num
) -> Array:
    """Thrust when a pilot hole has taken the work from the chisel edge and part of the lips.

    Args:
        solid_thrust: thrust in the solid [N], shape (N,).
        chisel_share: share of it that the chisel edge makes, 0.4 to 0.6 [1], shape (N,).
        diameter: D [m].
        web: length of the chisel edge, about 0.15 D [m].
        pilot_diameter: of the hole that is there already, at least the web [m].

    Returns:
        Thrust along the drill [N], shape (N,).

    Raises:
        OutOfRange: if the pilot is narrower than the web or wider than the drill, or the share outside 0 ... 1.

    Range: lip thrust even along the lips.
    Source: own, lip thrust in proportion to the lip left; share of the chisel edge from stephenson (about half).
    """
    size, core = positive("diameter", diameter), not_negative("web", web)
    pilot = between("pilot diameter", pilot_diameter, core, size, right="from the web to the diameter")
    share = between("chisel share", chisel_share, 0.0, 1.0, right="from 0 to 1")
    left = (size - pilot) / positive("diameter less web", size - core)
    return np.asarray(not_negative("thrust", solid_thrust) * (1.0 - share) * left, dtype=np.float64)


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


def tap_torque(specific_force: Num, tap_factor: Num, diameter: Num, hole_diameter: Num) -> Array:
    """Torque of tapping with a sharp tap and oil.

    Args:
        specific_force: kc of tapping, well above that of milling: thin chips [N/m2], shape (N,).
        tap_factor: K, 0.95 spiral point to 1.43 bottoming, more when worn or dry [1], shape (N,).
        diameter: D, nominal diameter of the thread [m].
        hole_diameter: D_o, of the drilled hole [m].

    Returns:
        Torque [N m], shape (N,).

    Raises:
        OutOfRange: if an argument is not above 0, or the hole not below the diameter of the thread.

    Range: 60 degree thread; does not count chips that jam at the bottom of a blind hole.
    Source: tapcatalogue, tan(30 deg) kc K (D - D_o)^2 (D + 2 D_o) / 24.
    """
    size = positive("diameter", diameter)
    hole = between("hole diameter", positive("hole diameter", hole_diameter), 0.0, size,
                   right="above 0, up to the nominal diameter of the thread")
    section = (size - hole) ** 2 * (size + 2.0 * hole) / (24.0 * np.sqrt(3.0))
    force = positive("specific force", specific_force) * positive("tap factor", tap_factor)
    return np.asarray(force * section, dtype=np.float64)
