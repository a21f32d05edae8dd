"""Tightened joints under load: what gives how much, what beds in, when they open, how hard the head presses."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.holding._rows import Array, above_zero, not_negative

#: Lengths of a screw, in diameters, that stretch beside the clamped one: half the head's, half the engaged core,
#: and a third for the part with the thread (vdi2230, table 2).
_HEAD, _CORE, _NUT = 0.5, 0.5, 0.33


def screw_compliance(
    clamp_length: npt.ArrayLike,
    nominal: npt.ArrayLike,
    minor_diameter: npt.ArrayLike,
    screw_modulus: npt.ArrayLike,
    part_modulus: npt.ArrayLike,
) -> Array:
    """How far a screw in a tapped hole stretches for its pull.

    Args:
        clamp_length: from under the head to the thread that holds [m], shape (N,).
        nominal: d [m], broadcast.
        minor_diameter: d_3 [m], broadcast.
        screw_modulus: Young's modulus of the screw [N/m2], broadcast.
        part_modulus: Young's modulus of the part with the thread [N/m2], broadcast.

    Returns:
        Stretch over pull, delta_S [m/N], shape (N,).

    Raises:
        OutOfRange: if a value is not above 0.

    Range: threaded up to the head, in a tapped hole.
    Source: vdi2230, eqs. of delta_S: head, free thread, engaged core and the part's own thread in a row.
    """
    length, d, d3, young, own = above_zero(
        clamp_length=clamp_length, nominal=nominal, minor_diameter=minor_diameter,
        screw_modulus=screw_modulus, part_modulus=part_modulus,
    )
    shank, core = np.pi / 4.0 * d**2, np.pi / 4.0 * d3**2
    in_core = (length + _CORE * d) / (young * core)
    return np.asarray(_HEAD * d / (young * shank) + in_core + _NUT * d / (own * shank))


def cone_compliance(
    length: npt.ArrayLike,
    face_diameter: npt.ArrayLike,
    hole_diameter: npt.ArrayLike,
    modulus: npt.ArrayLike,
    half_angle: npt.ArrayLike,
) -> Array:
    """How far the clamped parts give under a head, whose pressure spreads in them as a cone.

    Args:
        length: height of the cone [m], shape (N,).
        face_diameter: of the head's bearing face, the cone's narrow end [m], broadcast.
        hole_diameter: of the hole [m], broadcast.
        modulus: Young's modulus of the parts [N/m2], broadcast.
        half_angle: of the cone [rad], broadcast; some 0.52.

    Returns:
        Give over pull, delta_P [m/N], shape (N,).

    Raises:
        OutOfRange: if a value is not above 0, the face no wider than the hole, or the angle not below pi/2.

    Range: parts wide enough for the cone. A screw in a tapped hole has one cone, a bolt with its nut two.
    Source: vdi2230, eq. of delta_P for one cone; the same in shigley, eq. (8-19).
    """
    high, face, hole, young, angle = above_zero(
        length=length, face_diameter=face_diameter, hole_diameter=hole_diameter, modulus=modulus,
        half_angle=half_angle,
    )
    if (face <= hole).any():
        raise OutOfRange(f"a head of {face.min():g} m on a hole of {hole.max():g} m", right="wider than the hole")
    if (angle >= np.pi / 2.0).any():
        raise OutOfRange(f"half_angle is {angle.max():g} rad", right="below pi/2")
    slope = np.tan(angle)
    far = face + 2.0 * high * slope
    ratio = (far - hole) * (face + hole) / ((far + hole) * (face - hole))
    return np.asarray(np.log(ratio) / (np.pi * young * hole * slope))


def load_share(
    screw_compliance: npt.ArrayLike, parts_compliance: npt.ArrayLike, introduction: npt.ArrayLike = 1.0
) -> Array:
    """Share of a load along the screw by which its pull grows; the rest takes away from the parts' pressure.

    Args:
        screw_compliance: delta_S [m/N], shape (N,).
        parts_compliance: delta_P [m/N], broadcast.
        introduction: n, how near the head the load comes in [1], broadcast: 1 under the head, 0 at the parting face.

    Returns:
        Phi [1], shape (N,).

    Raises:
        OutOfRange: if a compliance is not above 0, or introduction outside 0 to 1.

    Range: load along the axis; until the joint opens.
    Source: vdi2230, Phi = n delta_P / (delta_S + delta_P).
    """
    screw, parts = above_zero(screw_compliance=screw_compliance, parts_compliance=parts_compliance)
    (where,) = not_negative(introduction=introduction)
    if (where > 1.0).any():
        raise OutOfRange(f"introduction is {where.max():g}", right="0 to 1")
    return np.asarray(where * parts / (screw + parts))


def bedded_preload(
    preload: npt.ArrayLike,
    bedding: npt.ArrayLike,
    full_preload: npt.ArrayLike,
    screw_compliance: npt.ArrayLike,
    parts_compliance: npt.ArrayLike,
) -> Array:
    """Pull that is left when the faces have bedded in.

    Args:
        preload: as tightened [N], shape (N,).
        bedding: f_Z, by how much all faces flatten in a screw tightened to its limit [m], broadcast.
        full_preload: pull at that limit [N], broadcast.
        screw_compliance: delta_S [m/N], broadcast.
        parts_compliance: delta_P [m/N], broadcast.

    Returns:
        Pull [N], shape (N,).

    Raises:
        OutOfRange: if full_preload or a compliance is not above 0, or another value negative.

    Range: metal faces, no paint or gasket.
    Source: vdi2230, F_Z = f_Z/(delta_S + delta_P), with f_Z in proportion to the pull that is left (own).
    """
    pull, flat = not_negative(preload=preload, bedding=bedding)
    full, screw, parts = above_zero(
        full_preload=full_preload, screw_compliance=screw_compliance, parts_compliance=parts_compliance
    )
    return np.asarray(pull / (1.0 + flat / ((screw + parts) * full)))


def opening_load(preload: npt.ArrayLike, share: npt.ArrayLike) -> Array:
    """Load along a screw at which its joint opens.

    Args:
        preload: pull of the screw before the load [N], shape (N,).
        share: Phi, share of the load that the screw takes [1], broadcast, below 1.

    Returns:
        Load for each screw [N], shape (N,).

    Raises:
        OutOfRange: if a value is negative, or share is not below 1.

    Range: load along the axis; a load off the axis opens one edge sooner.
    Source: vdi2230, F_KR = F_V - (1 - Phi) F_A set to 0.
    """
    pull, part = not_negative(preload=preload, share=share)
    if (part >= 1.0).any():
        raise OutOfRange(f"share is {part.max():g}", right="below 1")
    return np.asarray(pull / (1.0 - part))


def head_face(outer: npt.ArrayLike, inner: npt.ArrayLike) -> Array:
    """Area on which a head bears, of a countersunk one as seen along the screw.

    Args:
        outer: diameter of the bearing face [m], any shape.
        inner: diameter of the hole [m], broadcast.

    Returns:
        Area [m2].

    Raises:
        OutOfRange: if a size is not above 0, or the head no wider than the hole.

    Range: round heads on round holes.
    Source: vdi2230, A_p = pi/4 (d_W^2 - D_Ki^2).
    """
    wide, hole = above_zero(outer=outer, inner=inner)
    if (wide <= hole).any():
        raise OutOfRange(f"a head of {wide.min():g} m on a hole of {hole.max():g} m", right="wider than the hole")
    return np.asarray(np.pi / 4.0 * (wide**2 - hole**2))


def crushing_load(area: npt.ArrayLike, tensile_strength: npt.ArrayLike, hardness: npt.ArrayLike) -> Array:
    """Pull at which a head begins to sink into the face that it bears on.

    Args:
        area: of the face [m2], any shape.
        tensile_strength: R_m of the part [N/m2], broadcast.
        hardness: limiting pressure p_G over R_m [1], broadcast: some 1.45 of mild steels, 0.87 of aluminium.

    Returns:
        Pull [N].

    Raises:
        OutOfRange: if a value is negative.

    Range: flat faces without a chamfer at the hole.
    Source: vdi2230, p_G A_p; p_G over R_m as in its table A9.
    """
    face, strength, hard = not_negative(area=area, tensile_strength=tensile_strength, hardness=hardness)
    return np.asarray(face * strength * hard)
