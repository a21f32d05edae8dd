"""The chisel edge of a drill: what it adds to torque and thrust, and what a pilot hole takes away from it."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, not_negative, positive

#: Chisel edge, and web at the point, over diameter of a standard twist drill (machinery, chisel edge factors).
CHISEL: Final = 0.18
WEB: Final = 0.155
#: A pilot a tenth wider than the web takes the work from the chisel edge (drillmaker).
PILOT_OVER_WEB: Final = 1.1
#: Exponent of the size effect of drilling: forces go with the power 0.8 of the feed (shaw1957).
SIZE_EFFECT: Final = 0.2
#: Press of the chisel edge on the square of its length over the specific force at f D = 1 mm2 (machinery).
PRESS: Final = 0.035


class DrillLoad(NamedTuple):
    """What a drill asks of the machine.

    Fields:
        torque: about its axis [N m].
        thrust: along its axis [N].
    """

    torque: Array
    thrust: Array


def land_of_lips(
    land: Num, contact_pressure: Num, friction: Num, diameter: Num, pilot_diameter: Num, point_angle: Num
) -> DrillLoad:
    """What the worn land along both lips of a drill adds: it is pressed on the bottom of the hole, and drags.

    Args:
        land: width of the land behind the lips [m], scalar or shape (N,).
        contact_pressure: mean pressure between land and work; about the yield strength of the work [N/m2].
        friction: coefficient of friction of the land [1].
        diameter: D [m].
        pilot_diameter: of the hole that is there already, or length of the chisel edge, below D [m].
        point_angle: between the lips, above 0 and up to pi [rad].

    Returns:
        DrillLoad, to be added to that of the sharp drill, shape (N,).

    Raises:
        OutOfRange: if an argument is negative, the diameter not above 0, the pilot not below it, or the point angle
            outside its range.

    Range: an even land of at most 0.5 mm along lips that are straight.
    Source: own, the land of waldorf1999 (as `worn` has it for milling) along two lips from the pilot to the edge.
    """
    size = positive("diameter", diameter)
    inner = between("pilot diameter", pilot_diameter, 0.0, size, right="from 0 to the drill's diameter")
    point = between("point angle", point_angle, 0.1, np.pi, right="above 0 and up to pi rad")
    press = not_negative("land", land) * not_negative("contact pressure", contact_pressure)
    drag = not_negative("friction", friction) * press * (size - inner) / np.sin(point / 2.0)
    return DrillLoad(np.asarray(drag * (size + inner) / 4.0), np.asarray(press * (size - inner)))


def chisel_torque_factor(chisel_ratio: Num) -> Array:
    """Torque of a drill in the solid over that of lips that reach to the middle.

    Args:
        chisel_ratio: length of the chisel edge over the diameter, 0.03 (split point) to 0.4 [1].

    Returns:
        Factor [1], shape of the argument.

    Raises:
        OutOfRange: if the ratio is outside 0 ... 1.

    Range: two-lipped twist drills, fitted for ratios of 0.03 to 0.4.
    Source: shaw1957, as machinery tabulates it (torque factor A).
    """
    ratio = between("chisel ratio", chisel_ratio, 0.0, 1.0, right="from 0 to 1")
    return np.asarray(pilot_torque_factor(ratio) + 3.2 * ratio**1.8, dtype=np.float64)


def chisel_thrust_factor(chisel_ratio: Num) -> Array:
    """Thrust of a drill in the solid over that of lips that reach to the middle, without the press of the web.

    Args:
        chisel_ratio: length of the chisel edge over the diameter [1].

    Returns:
        Factor [1], shape of the argument.

    Raises:
        OutOfRange: if the ratio is outside 0 ... 1.

    Range: two-lipped twist drills, fitted for ratios of 0.03 to 0.4.
    Source: shaw1957, as machinery tabulates it (thrust factor B).
    """
    ratio = between("chisel ratio", chisel_ratio, 0.0, 1.0, right="from 0 to 1")
    return np.asarray(pilot_thrust_factor(ratio) + 2.2 * ratio**0.8, dtype=np.float64)


def pilot_torque_factor(pilot_ratio: Num) -> Array:
    """Torque of lips outside a pilot hole over that of lips that reach to the middle.

    Args:
        pilot_ratio: diameter of the pilot, or length of the chisel edge, over that of the drill [1].

    Returns:
        Factor [1], shape of the argument.

    Raises:
        OutOfRange: if the ratio is outside 0 ... 1.

    Range: two-lipped twist drills.
    Source: shaw1957, term of the lips.
    """
    ratio = between("pilot ratio", pilot_ratio, 0.0, 1.0, right="from 0 to 1")
    return np.asarray((1.0 - ratio**2) / (1.0 + ratio) ** SIZE_EFFECT, dtype=np.float64)


def pilot_thrust_factor(pilot_ratio: Num) -> Array:
    """Thrust of lips outside a pilot hole over that of lips that reach to the middle.

    Args:
        pilot_ratio: diameter of the pilot, or length of the chisel edge, over that of the drill [1].

    Returns:
        Factor [1], shape of the argument.

    Raises:
        OutOfRange: if the ratio is outside 0 ... 1.

    Range: two-lipped twist drills.
    Source: shaw1957, term of the lips.
    """
    ratio = between("pilot ratio", pilot_ratio, 0.0, 1.0, right="from 0 to 1")
    return np.asarray((1.0 - ratio) / (1.0 + ratio) ** SIZE_EFFECT, dtype=np.float64)


def chisel_press(
    specific_force: Num, diameter: Num, feed_per_turn: Num, chisel_ratio: Num, reference_area: Num
) -> Array:
    """Force with which the chisel edge is pressed into the metal, cutting hardly anything.

    Args:
        specific_force: kc at the chip of the lips [N/m2], shape (N,).
        diameter: D [m].
        feed_per_turn: f [m].
        chisel_ratio: length of the chisel edge over the diameter [1].
        reference_area: feed times diameter to which the constant of the press refers, 1 mm2 [m2].

    Returns:
        Force [N], shape (N,).

    Raises:
        OutOfRange: if an argument is negative, the area or diameter not above 0, or the ratio outside 0 ... 1.

    Range: twist drills of 1 to 90 mm; taken as independent of the feed, as the source has it.
    Source: machinery, thrust of drilling, second term (0.007 K D^2 J, with J the square of the chisel ratio).
    """
    size, ratio = positive("diameter", diameter), between("chisel ratio", chisel_ratio, 0.0, 1.0, right="from 0 to 1")
    area = not_negative("feed per turn", feed_per_turn) * size / positive("reference area", reference_area)
    hard = not_negative("specific force", specific_force) * area**SIZE_EFFECT
    return np.asarray(PRESS * hard * (ratio * size) ** 2, dtype=np.float64)


def drill_load(
    specific_force: Num, diameter: Num, feed_per_turn: Num, pilot_diameter: Num, chisel_ratio: Num,
    reference_area: Num,
) -> DrillLoad:
    """Torque and thrust of a drill, in the solid or over a pilot hole.

    Args:
        specific_force: kc at the chip of the lips [N/m2], shape (N,).
        diameter: D [m].
        feed_per_turn: f [m].
        pilot_diameter: of the hole that is there already; 0 for the solid [m].
        chisel_ratio: length of the chisel edge over the diameter; 0.18 as a rule [1].
        reference_area: as in chisel_press, 1 mm2 [m2].

    Returns:
        DrillLoad: torque [N m] and thrust [N], shape (N,).

    Raises:
        OutOfRange: if an argument is negative, or the pilot wider than the drill.

    Range: sharp drill, chips that clear. A pilot narrower than the chisel edge takes nothing away.
    Source: kalpakjian for the torque of the lips (u f D^2 / 8); shaw1957 and machinery for chisel edge, pilot and
        thrust (2 factors of thrust over torque and diameter: 0.05 against 0.000025 with N, N m and mm).
    """
    size, feed = positive("diameter", diameter), not_negative("feed per turn", feed_per_turn)
    pilot = between("pilot diameter", pilot_diameter, 0.0, size, right="from 0 to the diameter of the drill") / size
    main = not_negative("specific force", specific_force) * feed * size
    press = chisel_press(specific_force, size, feed, chisel_ratio, reference_area)
    bored = pilot >= np.asarray(chisel_ratio)
    turning = np.where(bored, pilot_torque_factor(pilot), chisel_torque_factor(chisel_ratio))
    pushing = np.where(bored, pilot_thrust_factor(pilot), chisel_thrust_factor(chisel_ratio))
    return DrillLoad(np.asarray(main * size / 8.0 * turning), np.asarray(main / 4.0 * pushing + press * ~bored))
