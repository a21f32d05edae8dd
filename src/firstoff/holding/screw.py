"""Screws: torque and pull, how far one may tighten, what a hand does, whether a screw stays where it is."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.holding._rows import Array, above_zero, not_negative

FLANK_ANGLE = float(np.pi / 6.0)  # half the profile angle of a metric or inch V thread; 0.2618 for a trapezoid


def tightening_torque(
    preload: npt.ArrayLike,
    pitch: npt.ArrayLike,
    pitch_diameter: npt.ArrayLike,
    head_diameter: npt.ArrayLike,
    thread_friction: npt.ArrayLike,
    head_friction: npt.ArrayLike,
) -> Array:
    """Torque that tightens a screw with a V thread of 60 degrees to a preload.

    Args:
        preload: F_M [N], shape (N,).
        pitch: P [m], broadcast.
        pitch_diameter: d_2 [m], broadcast.
        head_diameter: D_Km, mean diameter at which the head rubs [m]; 0 for a set screw on its point.
        thread_friction: mu_G [1], broadcast.
        head_friction: mu_K [1], broadcast.

    Returns:
        Torque [N m], shape (N,).

    Raises:
        OutOfRange: if a value is negative, or pitch or pitch_diameter is not above 0.

    Range: small helix angle, one start.
    Source: vdi2230, eq. for M_A with 1/(2 pi) and 1/(2 cos 30 deg) printed as 0.16 and 0.58.
    """
    (force,) = not_negative(preload=preload)
    lever = _lever(pitch, pitch_diameter, head_diameter, thread_friction, head_friction)
    return np.asarray(force * lever)


def preload_of_torque(
    torque: npt.ArrayLike,
    pitch: npt.ArrayLike,
    pitch_diameter: npt.ArrayLike,
    head_diameter: npt.ArrayLike,
    thread_friction: npt.ArrayLike,
    head_friction: npt.ArrayLike,
) -> Array:
    """Pull in a screw with a V thread of 60 degrees from the torque that tightened it.

    Args:
        torque: M_A [N m], shape (N,).
        pitch: P [m], broadcast.
        pitch_diameter: d_2 [m], broadcast.
        head_diameter: D_Km, mean diameter at which the head rubs [m]; 0 for a set screw on its point.
        thread_friction: mu_G [1], broadcast.
        head_friction: mu_K [1], broadcast.

    Returns:
        Pull [N], shape (N,).

    Raises:
        OutOfRange: if a value is negative, or pitch or pitch_diameter is not above 0.

    Range: small helix angle, one start; below the preload limit.
    Source: vdi2230, eq. for M_A solved for F_M.
    """
    (moment,) = not_negative(torque=torque)
    lever = _lever(pitch, pitch_diameter, head_diameter, thread_friction, head_friction)
    return np.asarray(moment / lever)


def head_diameter_mean(outer: npt.ArrayLike, inner: npt.ArrayLike) -> Array:
    """Mean diameter at which a flat head rubs.

    Args:
        outer: outer diameter of the bearing face [m], any shape.
        inner: diameter of the hole, or inner diameter of the bearing face [m], broadcast.

    Returns:
        D_Km [m].

    Raises:
        OutOfRange: if the outer diameter is below the inner.

    Range: flat heads.
    Source: vdi2230, D_Km = (d_W + D_Ki)/2.
    """
    wide, narrow = not_negative(outer=outer, inner=inner)
    if (wide < narrow).any():
        raise OutOfRange(f"a head of {wide.min():g} m on a hole of {narrow.max():g} m", right="wider than the hole")
    return np.asarray((wide + narrow) / 2.0)


def preload_limit(
    yield_strength: npt.ArrayLike,
    pitch: npt.ArrayLike,
    pitch_diameter: npt.ArrayLike,
    minor_diameter: npt.ArrayLike,
    thread_friction: npt.ArrayLike,
    utilisation: npt.ArrayLike = 0.9,
) -> Array:
    """Preload at which pull and twist together use a share of the yield strength of a screw.

    Args:
        yield_strength: R_p0.2 [N/m2], shape (N,).
        pitch: P [m], broadcast.
        pitch_diameter: d_2 [m], broadcast.
        minor_diameter: d_3 [m], broadcast.
        thread_friction: mu_G [1], broadcast.
        utilisation: share of the yield strength [1]; 0.9 in the tables of the source.

    Returns:
        Preload F_M [N], shape (N,).

    Raises:
        OutOfRange: if a size is not above 0 or the friction is negative.

    Range: full shank; V thread of 60 degrees.
    Source: vdi2230, eq. for F_M,zul and table A1.
    """
    strength, lead, d2, d3, share = above_zero(
        yield_strength=yield_strength, pitch=pitch, pitch_diameter=pitch_diameter,
        minor_diameter=minor_diameter, utilisation=utilisation,
    )
    (friction,) = not_negative(thread_friction=thread_friction)
    stress_diameter = (d2 + d3) / 2.0
    area = np.pi / 4.0 * stress_diameter**2
    twist = 1.5 * d2 / stress_diameter * (lead / (np.pi * d2) + friction / np.cos(FLANK_ANGLE))
    return np.asarray(area * share * strength / np.sqrt(1.0 + 3.0 * twist**2))


def torque_by_factor(factor: npt.ArrayLike, diameter: npt.ArrayLike, preload: npt.ArrayLike) -> Array:
    """Torque for a preload by one factor for all friction.

    Args:
        factor: K [1], shape (N,); some 0.2 dry, widely spread.
        diameter: nominal diameter [m], broadcast.
        preload: pull wanted [N], broadcast.

    Returns:
        Torque [N m], shape (N,).

    Raises:
        OutOfRange: if a value is negative.

    Range: where nothing better is known.
    Source: wentzell2004, ex. 6.1.
    """
    k, d, force = not_negative(factor=factor, diameter=diameter, preload=preload)
    return np.asarray(k * d * force)


def preload_by_factor(factor: npt.ArrayLike, diameter: npt.ArrayLike, torque: npt.ArrayLike) -> Array:
    """Pull from a torque by one factor for all friction.

    Args:
        factor: K [1], shape (N,).
        diameter: nominal diameter [m], broadcast.
        torque: torque applied [N m], broadcast.

    Returns:
        Pull [N], shape (N,).

    Raises:
        OutOfRange: if factor or diameter is not above 0, or the torque negative.

    Range: where nothing better is known.
    Source: wentzell2004, ex. 6.1, solved for the pull.
    """
    k, d = above_zero(factor=factor, diameter=diameter)
    (moment,) = not_negative(torque=torque)
    return np.asarray(moment / (k * d))


def proof_load(stress_area: npt.ArrayLike, proof_stress: npt.ArrayLike) -> Array:
    """Pull that a screw bears without lasting stretch.

    Args:
        stress_area: A_s [m2], any shape.
        proof_stress: S_p of the property class [N/m2], broadcast.

    Returns:
        Pull [N].

    Raises:
        OutOfRange: if a value is negative.

    Range: pure pull.
    Source: iso898, proof load = A_s S_p.
    """
    area, stress = not_negative(stress_area=stress_area, proof_stress=proof_stress)
    return np.asarray(area * stress)


def handle_torque(force: npt.ArrayLike, handle_length: npt.ArrayLike) -> Array:
    """Torque of a hand on a handle or key.

    Args:
        force: force of the hand square to the handle [N], shape (N,).
        handle_length: from the axis to the middle of the hand [m], broadcast.

    Returns:
        Torque [N m], shape (N,).

    Raises:
        OutOfRange: if a value is negative.

    Range: a slow pull, no blows and no pipe over the handle.
    Source: own, the moment of a force.
    """
    pull, length = not_negative(force=force, handle_length=handle_length)
    return np.asarray(pull * length)


def finger_torque(pinch_force: npt.ArrayLike, knob_diameter: npt.ArrayLike, friction: npt.ArrayLike) -> Array:
    """Torque of thumb and finger on a round knob, at most.

    Args:
        pinch_force: force with which the knob is pinched [N], shape (N,).
        knob_diameter: diameter where it is gripped [m], broadcast.
        friction: between skin and knob [1], broadcast; above 1 stands for a knurl that bites.

    Returns:
        Torque [N m], shape (N,).

    Raises:
        OutOfRange: if a value is negative.

    Range: two opposite contacts that both slip.
    Source: own, friction on both sides times half the diameter.
    """
    pinch, diameter, mu = not_negative(
        pinch_force=pinch_force, knob_diameter=knob_diameter, friction=friction
    )
    return np.asarray(mu * pinch * diameter)


def jaw_force(torque: npt.ArrayLike, lead: npt.ArrayLike, efficiency: npt.ArrayLike) -> Array:
    """Force between the jaws of a vise from the torque on its screw.

    Args:
        torque: on the screw [N m], shape (N,).
        lead: way of the jaw for one turn [m], broadcast.
        efficiency: work at the jaws over work at the handle [1], broadcast, above 0 up to 1.

    Returns:
        Force [N], shape (N,).

    Raises:
        OutOfRange: if the efficiency is not above 0 and at most 1, or another value negative.

    Range: one screw, no wedge or toggle in between (their gain belongs into the lead).
    Source: own, the balance of work over one turn: F lead = efficiency 2 pi T.
    """
    (moment,) = not_negative(torque=torque)
    way, share = above_zero(lead=lead, efficiency=efficiency)
    if (share > 1.0).any():
        raise OutOfRange(f"efficiency is {share.max():g}", right="above 0, at most 1")
    return np.asarray(2.0 * np.pi * share * moment / way)


def screw_efficiency(
    lead: npt.ArrayLike,
    pitch_diameter: npt.ArrayLike,
    thread_friction: npt.ArrayLike,
    collar_diameter: npt.ArrayLike,
    collar_friction: npt.ArrayLike,
    flank_angle: npt.ArrayLike,
) -> Array:
    """Efficiency of a screw that moves a load, with its collar.

    Args:
        lead: way for one turn [m], shape (N,).
        pitch_diameter: d_2 [m], broadcast.
        thread_friction: in the thread [1], broadcast.
        collar_diameter: mean diameter at which the collar rubs [m], broadcast.
        collar_friction: under the collar [1], broadcast.
        flank_angle: half the profile angle [rad], broadcast.

    Returns:
        Efficiency [1], shape (N,).

    Raises:
        OutOfRange: if lead or pitch_diameter is not above 0, or the screw would jam.

    Range: friction of plain sliding.
    Source: beer, ch. 8, square-threaded screws, with the friction of inclined flanks divided by cos(flank angle).
    """
    way, d2 = above_zero(lead=lead, pitch_diameter=pitch_diameter)
    mu, collar, mu_collar, flank = not_negative(
        thread_friction=thread_friction, collar_diameter=collar_diameter,
        collar_friction=collar_friction, flank_angle=flank_angle,
    )
    slope, rub = way / (np.pi * d2), mu / np.cos(flank)
    if (slope * rub >= 1.0).any():
        raise OutOfRange(f"friction {mu.max():g} jams this steep a screw", right="below pi d_2 / lead")
    torque_per_force = d2 / 2.0 * (slope + rub) / (1.0 - slope * rub) + mu_collar * collar / 2.0
    return np.asarray(way / (2.0 * np.pi * torque_per_force))


def _lever(
    pitch: npt.ArrayLike, pitch_diameter: npt.ArrayLike, head: npt.ArrayLike,
    thread_friction: npt.ArrayLike, head_friction: npt.ArrayLike,
) -> Array:
    """Torque per unit of preload [m]."""
    lead, d2 = above_zero(pitch=pitch, pitch_diameter=pitch_diameter)
    d_head, mu_thread, mu_head = not_negative(
        head_diameter=head, thread_friction=thread_friction, head_friction=head_friction
    )
    return np.asarray(
        lead / (2.0 * np.pi) + d2 * mu_thread / (2.0 * np.cos(FLANK_ANGLE)) + d_head / 2.0 * mu_head
    )
