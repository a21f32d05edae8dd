"""Wear: how long an edge lasts, how its flank wears on the way, and what a worn edge does to the forces."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, not_negative, positive
from firstoff.cutting.force import Coefficients
from firstoff.errors import OutOfRange

#: Growth of the flank land over a life: what is worn at once, evenly, and ever faster; they add up to 1.
_AT_ONCE, _EVENLY, _FASTER = 0.25, 0.30, 0.45
#: Share of the life in which the sharp corner of a new edge is gone.
_RUN_IN = 0.05


class TaylorLine(NamedTuple):
    """A straight line of cutting speed against life, both as logarithms.

    Fields:
        exponent: n [1].
        speed: at which the edge lasts as long as was asked [m/s].
    """

    exponent: float
    speed: float


def tool_life(cutting_speed: Num, reference_speed: Num, reference_life: Num, exponent: Num) -> Array:
    """Time in the cut that an edge lasts.

    Args:
        cutting_speed: v_c [m/s].
        reference_speed: at which it lasts the reference life [m/s].
        reference_life: time in the cut [s].
        exponent: n of the law, 0.1 to 0.6 [1].

    Returns:
        Life [s], shape of the arguments.

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: flank wear; some 0.5 to 2 times the reference speed. Build-up below, heat above: life is shorter.
    Source: taylor1907, v T^n = C.
    """
    ratio = positive("reference speed", reference_speed) / positive("cutting speed", cutting_speed)
    return np.asarray(positive("reference life", reference_life) * ratio ** (1.0 / positive("exponent", exponent)))


def life_by_chip(
    life: Num, feed_ratio: Num, depth_ratio: Num, exponent: Num, feed_exponent: Num, depth_exponent: Num
) -> Array:
    """Time in the cut that an edge lasts at another feed and depth than those for which its life is known.

    Args:
        life: at this speed, at the known feed and depth [s].
        feed_ratio: feed over the known one [1].
        depth_ratio: depth of cut over the known one [1].
        exponent: n of the law, 0.1 to 0.6 [1].
        feed_exponent: y: of the feed, in terms of the speed [1].
        depth_exponent: x: of the depth, in terms of the speed [1].

    Returns:
        Life [s], shape of the arguments.

    Raises:
        OutOfRange: if a ratio, the life or n is not above 0, or another exponent negative.

    Range: chips thick enough to be cut and thin enough not to break the edge; feeds within some 0.5 to 2 of the
    known one. Thinner chips rub for longer: there no life is gained.
    Source: kalpakjian, chapter on tool life: v T^n d^x f^y = C.
    """
    heavier = (positive("feed ratio", feed_ratio) ** not_negative("feed exponent", feed_exponent)
               * positive("depth ratio", depth_ratio) ** not_negative("depth exponent", depth_exponent))
    return np.asarray(positive("life", life) * heavier ** (-1.0 / positive("exponent", exponent)))


def taylor_line(cutting_speeds: Array, lives: Array, life: float) -> TaylorLine:
    """The line through tests of one tool in one material.

    Args:
        cutting_speeds: v_c of each test [m/s], shape (K,).
        lives: time in the cut of each [s], shape (K,).
        life: for which the speed is wanted [s].

    Returns:
        Exponent and speed.

    Raises:
        OutOfRange: if there are fewer than two different speeds, life does not fall with speed, or a value is not
            above 0.

    Range: least squares in the logarithm of the life.
    Source: taylor1907, v T^n = C.
    """
    speeds, times = np.log(positive("cutting speeds", cutting_speeds)), np.log(positive("lives", lives))
    if np.ptp(speeds) == 0.0:
        raise OutOfRange("all tests have the same cutting speed", right="two different speeds or more")
    slope, level = np.polyfit(speeds, times, 1)
    if slope >= 0.0:
        raise OutOfRange("these edges last longer the faster they run", right="lives that fall with the speed")
    wanted = (float(np.log(positive("life", life))) - level) / slope
    return TaylorLine(float(-1.0 / slope), float(np.exp(wanted)))


def life_used(time_in_cut: Num, life: Num, abrasion: Num = 1.0) -> Array:
    """Share of an edge's life that a cut uses.

    Args:
        time_in_cut: of the edge [s].
        life: of the edge at this speed [s].
        abrasion: how many times faster the edge wears here than in clean metal: in scale or a cast skin [1].

    Returns:
        Share, above 1 where one edge does not last [1], shape of the arguments.

    Raises:
        OutOfRange: if the time is negative, the life not above 0, or the abrasion not above 0.

    Range: shares of different cuts add up.
    Source: own, sum of shares of life (as the rule of linear damage), life by taylor1907.
    """
    faster = positive("abrasion", abrasion)
    return np.asarray(not_negative("time in the cut", time_in_cut) * faster / positive("life", life))


def flank_wear(used: Num, end_of_life: Num) -> Array:
    """Width of the flank land when a share of the life is used.

    Args:
        used: share of the life [1].
        end_of_life: width at which the edge counts as worn out, usually 0.3 mm [m].

    Returns:
        Width [m], shape of the arguments.

    Raises:
        OutOfRange: if an argument is negative.

    Range: up to some three lives. A new edge loses its corner at once, wears evenly, then ever faster.
    Source: iso8688, 0.3 mm as the end of life; own, three stages whose shares were set by two of the measured runs
        (conditions 2 and 13) of agogino2007.
    """
    at_once = _AT_ONCE * -np.expm1(-not_negative("used", used) / _RUN_IN)
    return np.asarray(not_negative("wear at the end of life", end_of_life) * at_once
                      + wear_since_run_in(used, end_of_life))


def set_back(land: Num, relief: Num) -> Array:
    """How far an edge stands back behind where it stood when it was sharp: what its flank has lost.

    Args:
        land: width of the flank land [m].
        relief: angle of the flank to the work [rad].

    Returns:
        Distance square to the work, left on it [m], shape of the arguments.

    Raises:
        OutOfRange: if the land is negative, or the relief outside 0 ... 0.5 rad.

    Range: rake near 0, an even land.
    Source: own, the triangle of land and relief.
    """
    angle = between("relief", relief, 0.0, 0.5, right="from 0 to 0.5 rad")
    return np.asarray(not_negative("land", land) * np.tan(angle))


def wear_since_run_in(used: Num, end_of_life: Num) -> Array:
    """Width of the flank land beyond what a run-in edge has: force laws are measured with edges that are run in.

    Args:
        used: share of the life [1].
        end_of_life: width at which the edge counts as worn out [m].

    Returns:
        Width [m], shape of the arguments.

    Raises:
        OutOfRange: if an argument is negative.

    Range: as flank_wear.
    Source: own, the last two stages of flank_wear.
    """
    share = not_negative("used", used)
    return np.asarray(not_negative("wear at the end of life", end_of_life) * (_EVENLY * share + _FASTER * share**2))


def worn(sharp: Coefficients, flank_wear: Num, contact_pressure: Num, friction: Num) -> Coefficients:
    """The force law of an edge with a flank land: the land slides on the work under a pressure.

    Args:
        sharp: of the sharp edge.
        flank_wear: width of the land [m], scalar or shape (N,).
        contact_pressure: mean pressure between land and work; about the yield strength of the work [N/m2].
        friction: coefficient of friction of the land [1].

    Returns:
        The law with larger edge terms; the chip's share does not change.

    Raises:
        OutOfRange: if an argument is negative.

    Range: lands up to 0.5 mm; the force grows in proportion to the land, the thrust by most.
    Source: waldorf1999, land as an indenter under constant pressure; linear growth as measured by sikdar2002.
    """
    thrust = not_negative("flank wear", flank_wear) * not_negative("contact pressure", contact_pressure)
    drag = not_negative("friction", friction) * thrust
    return sharp._replace(tangential_edge=sharp.tangential_edge + drag, radial_edge=sharp.radial_edge + thrust)
