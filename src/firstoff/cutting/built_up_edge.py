"""Built-up edge: metal that welds to the edge in a window of temperature, and breaks off on to the work."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, not_negative, positive


def build_up_margin(interface_rise: Num, vanishing_rise: Num) -> Array:
    """How near the edge is to the temperature at which nothing stays on it: below 1 metal builds up.

    Args:
        interface_rise: where chip and tool touch, above the shop [K], shape (N,).
        vanishing_rise: at which the metal on the edge softens and goes with the chip, above the shop [K], shape (N,).

    Returns:
        Ratio [1], shape (N,).

    Raises:
        OutOfRange: if the rise is negative or the vanishing rise not above 0.

    Range: ductile metals on bare tools; leaded brass and cast iron do not build up.
    Source: own, ratio of two temperatures; that build-up ends where the metal recrystallizes: kalpakjian.
    """
    return np.asarray(not_negative("interface rise", interface_rise) / positive("vanishing rise", vanishing_rise))


def speed_without_build_up(cutting_speed: Num, margin: Num) -> Array:
    """The cutting speed from which on nothing builds up, at the same chip thickness.

    Args:
        cutting_speed: v_c, at which the margin was found [m/s].
        margin: of build_up_margin, above 0 [1].

    Returns:
        Speed [m/s], shape of the arguments.

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: some three times up or down.
    Source: groover, the rise goes with the third root of the speed; own, solved for the speed.
    """
    return np.asarray(positive("cutting speed", cutting_speed) / positive("margin", margin) ** 3)


def rough_with_build_up(clean: Num, fragments: Num) -> Array:
    """Ra of a surface that carries fragments of a built-up edge on top of its marks.

    Args:
        clean: Ra of the marks alone [m].
        fragments: Ra of the fragments alone [m].

    Returns:
        Ra [m], shape of the arguments.

    Raises:
        OutOfRange: if an argument is negative.

    Range: marks and fragments have nothing to do with each other.
    Source: own, mean squares of independent heights add.
    """
    return np.asarray(np.hypot(not_negative("clean", clean), not_negative("fragments", fragments)))
