"""Tapping: the torque that a tap takes, and what a tap bears when it is also bent."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np

from firstoff.cutting._guard import Array, Num, between, not_negative, positive

Tap = Literal["plug", "bottoming", "spiral_flute", "spiral_point"]

#: Correction of the torque by tap and group of material, coarse pitch (tapcatalogue); N stands for aluminium.
TAP_FACTOR: Final[dict[str, dict[str, float]]] = {
    "steel": {"plug": 1.35, "bottoming": 1.43, "spiral_flute": 1.15, "spiral_point": 0.95},
    "soft": {"plug": 1.25, "bottoming": 1.30, "spiral_flute": 1.05, "spiral_point": 0.80},
    "brass": {"plug": 1.60, "bottoming": 1.68, "spiral_flute": 0.85, "spiral_point": 0.75},
}


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


def turned_and_bent(torque: Num, bending: Num) -> Array:
    """The torque alone that strains a round brittle core as much as this torque with this bending.

    Args:
        torque: T [N m], shape (N,).
        bending: moment that bends the tap, by a hand that pushes aside or a hole that is not in line [N m].

    Returns:
        Torque [N m], shape (N,).

    Raises:
        OutOfRange: if an argument is negative.

    Range: round core; largest shear stress decides.
    Source: gere, combined bending and torsion of a shaft: sqrt(T^2 + M^2).
    """
    return np.hypot(not_negative("torque", torque), not_negative("bending moment", bending))
