"""Strength of the tool: bending at the root of shank, flutes or neck, torsion of core and neck."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, not_negative, positive


def bending_stress(force: Num, arm: Num, diameter: Num) -> Array:
    """Largest stress in a round section that a side force bends.

    Args:
        force: side force [N], shape (N,).
        arm: from the force to the section [m].
        diameter: of the section; for flutes the equivalent diameter [m].

    Returns:
        Stress [N/m2], shape (N,).

    Raises:
        OutOfRange: if an argument is negative or the diameter not above 0.

    Range: slender, elastic; no notch: the fillet of a stepped carbide shank is weaker.
    Source: gere, flexure formula, 32 F L / (pi d^3).
    """
    moment = not_negative("force", force) * not_negative("arm", arm)
    return np.asarray(32.0 * moment / (np.pi * positive("diameter", diameter) ** 3), dtype=np.float64)


def tool_stress(
    force: Num, stickout: Num, flute_length: Num, depth_of_cut: Num, shank_diameter: Num, flute_diameter: Num
) -> Array:
    """Largest bending stress of a stepped tool: at the collet or where the flutes end, whichever is worse.

    Args:
        force: peak side force [N], shape (N,).
        stickout: from the collet to the tip [m].
        flute_length: from the tip [m].
        depth_of_cut: a_p; the force acts at half of it [m].
        shank_diameter: of the plain part [m].
        flute_diameter: equivalent diameter of the fluted part [m].

    Returns:
        Stress [N/m2], shape (N,).

    Raises:
        OutOfRange: if a length is negative or a diameter not above 0.

    Range: as bending_stress; flutes that reach into the collet count with their equivalent diameter there.
    Source: gere, flexure formula at two sections; kops1990 for the equivalent diameter.
    """
    length, fluted = positive("stickout", stickout), positive("flute length", flute_length)
    half = not_negative("depth of cut", depth_of_cut) / 2.0
    at_flutes = bending_stress(force, np.maximum(np.minimum(fluted, length) - half, 0.0), flute_diameter)
    at_collet = bending_stress(force, np.maximum(length - half, 0.0), shank_diameter)
    return np.asarray(np.maximum(at_flutes, at_collet), dtype=np.float64)


def stress_along(force: Num, load_height: Num, height: Array, diameter: Array) -> Array:
    """Largest bending stress of a bar whose diameter changes along it: a tapered tool breaks near its thin end.

    Args:
        force: side force [N], shape (N,).
        load_height: of the force above the tip [m].
        height: of sections above the tip [m], shape (K,).
        diameter: of each section; for flutes the equivalent diameter [m], shape (K,).

    Returns:
        Stress [N/m2], shape (N,).

    Raises:
        OutOfRange: if a force or height is negative, or a diameter not above 0.

    Range: as bending_stress, at the sections that are given.
    Source: gere, flexure formula; of a cone the worst is where it is half again as thick as under the force.
    """
    arm = np.maximum(not_negative("height", height) - not_negative("height of the force", load_height), 0.0)
    return np.asarray(not_negative("force", force) * np.max(bending_stress(1.0, arm, diameter)), dtype=np.float64)


def twisted_too(bending: Num, torque: Num, diameter: Num) -> Array:
    """Largest pull anywhere in a round section that is bent and twisted at once: the neck of an undercut cutter.

    Args:
        bending: stress by bending alone [N/m2], shape (N,).
        torque: about the axis [N m], shape (N,).
        diameter: of the section [m].

    Returns:
        Largest principal stress [N/m2], shape (N,).

    Raises:
        OutOfRange: if an argument is negative or the diameter not above 0.

    Range: round section, elastic, no notch; what counts for a brittle tool.
    Source: gere, principal stresses of combined bending and torsion.
    """
    half = not_negative("bending stress", bending) / 2.0
    shear = 16.0 * not_negative("torque", torque) / (np.pi * positive("diameter", diameter) ** 3)
    return np.asarray(half + np.hypot(half, shear), dtype=np.float64)


def breaking_torque(shear_strength: Num, core_diameter: Num) -> Array:
    """Torque that twists off a drill or tap.

    Args:
        shear_strength: of the hardened tool [N/m2], shape (N,).
        core_diameter: diameter of the core between the flutes [m].

    Returns:
        Torque [N m], shape (N,).

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: brittle: breaks where the outermost fibre does; round core.
    Source: gere, torsion formula.
    """
    cube = positive("core diameter", core_diameter) ** 3
    return np.asarray(positive("shear strength", shear_strength) * np.pi * cube / 16.0, dtype=np.float64)
