"""Caps, straps and thin walls: how much they bend, and whether they stay bent."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.holding._rows import Array, above_zero, finite, not_negative
from firstoff.quadrature import gauss_rule

_ZETA_3 = 1.2020569031595942
#: an endless strip on two edges under a load in its middle: give over F a2/D
_STRIP = float(7.0 * _ZETA_3 / (16.0 * np.pi**3))
_NODES, _WEIGHTS = gauss_rule(48)


def support_share(arm: npt.ArrayLike, other_arm: npt.ArrayLike) -> Array:
    """Share of a screw's force on one of two supports of a strap or lever cap.

    Args:
        arm: from the screw to this support [m], shape (N,).
        other_arm: from the screw to the other support [m], broadcast.

    Returns:
        Share of the force on this support [1], shape (N,).

    Raises:
        OutOfRange: if an arm is not above 0.

    Range: the screw between the supports.
    Source: own, the balance of moments.
    """
    near, far = above_zero(arm=arm, other_arm=other_arm)
    return np.asarray(far / (near + far))


def moment_between_supports(force: npt.ArrayLike, arm: npt.ArrayLike, other_arm: npt.ArrayLike) -> Array:
    """Highest bending moment in a strap or lever cap pressed by a screw between two supports.

    Args:
        force: of the screw [N], shape (N,).
        arm: from the screw to one support [m], broadcast.
        other_arm: from the screw to the other [m], broadcast.

    Returns:
        Moment under the screw [N m], shape (N,).

    Raises:
        OutOfRange: if an arm is not above 0 or the force negative.

    Range: supports free to turn.
    Source: gere2012, ch. 4, simple beam with one load.
    """
    (load,) = not_negative(force=force)
    near, far = above_zero(arm=arm, other_arm=other_arm)
    return np.asarray(load * near * far / (near + far))


def bending_stress(moment: npt.ArrayLike, width: npt.ArrayLike, thickness: npt.ArrayLike) -> Array:
    """Stress at the surface of a bent rectangular bar.

    Args:
        moment: bending moment [N m], shape (N,).
        width: of what is left across the bar, holes taken off [m], broadcast.
        thickness: in the direction of bending [m], broadcast.

    Returns:
        Stress [N/m2], shape (N,).

    Raises:
        OutOfRange: if a size is not above 0.

    Range: elastic; no rise of stress beside a hole counted, since a ductile metal evens it out.
    Source: gere2012, ch. 5, flexure formula of a rectangle.
    """
    (load,) = finite(moment=moment)
    wide, thick = above_zero(width=width, thickness=thickness)
    return np.asarray(6.0 * np.abs(load) / (wide * thick**2))


def deflection_between_supports(
    force: npt.ArrayLike,
    arm: npt.ArrayLike,
    other_arm: npt.ArrayLike,
    width: npt.ArrayLike,
    thickness: npt.ArrayLike,
    youngs_modulus: npt.ArrayLike,
) -> Array:
    """Deflection under the screw of a rectangular strap or cap on two supports.

    Args:
        force: of the screw [N], shape (N,).
        arm: from the screw to one support [m], broadcast.
        other_arm: from the screw to the other [m], broadcast.
        width: of the strap [m], broadcast.
        thickness: of the strap [m], broadcast.
        youngs_modulus: E [N/m2], broadcast.

    Returns:
        Deflection [m], shape (N,).

    Raises:
        OutOfRange: if a size is not above 0 or the force negative.

    Range: slender, elastic.
    Source: gere2012, ch. 9 and appendix H, simple beam with one load.
    """
    (load,) = not_negative(force=force)
    near, far, wide, thick, modulus = above_zero(
        arm=arm, other_arm=other_arm, width=width, thickness=thickness, youngs_modulus=youngs_modulus
    )
    return np.asarray(4.0 * load * near**2 * far**2 / (modulus * wide * thick**3 * (near + far)))


def edge_load_coefficient(poisson: npt.ArrayLike) -> Array:
    """Deflection under a point load on the free edge of a long plate held along the other, in F H^2/D.

    Args:
        poisson: nu [1], any shape, 0 up to but not 0.5.

    Returns:
        Coefficient [1], shape of poisson.

    Raises:
        OutOfRange: if poisson is negative or not below 0.5.

    Range: plate much longer than high, load far from its ends.
    Source: own, from the plate equation of timoshenko1959: solved in closed form for each wave along the length,
        and summed over the waves numerically (to 1e-6).
    """
    nu = not_negative(poisson=poisson)[0][..., None]
    if (nu >= 0.5).any():
        raise OutOfRange(f"poisson is {nu.max():g}", right="below 0.5")
    u = (_NODES + 1.0) / 2.0  # wave number q = u/(1-u) times height, 0 to infinity
    q = u / (1.0 - u)
    decay = np.exp(-2.0 * q)
    tanh, sech2 = (1.0 - decay) / (1.0 + decay), 4.0 * decay / (1.0 + decay) ** 2
    stiffness = 4.0 - (1.0 + nu) ** 2 * tanh**2 + (1.0 - nu) ** 2 * q**2 * sech2
    # tanh q - q sech^2 q loses its digits below q of 0.02; its series is used there.
    bend = np.where(q < 0.02, q**3 * (2.0 / 3.0 - 8.0 / 15.0 * q**2), tanh - q * sech2)
    wave = 2.0 * bend / (q**3 * stiffness)
    return np.asarray((wave * _WEIGHTS / (1.0 - u) ** 2).sum(axis=-1) / (2.0 * np.pi))


def plate_between_rests(
    force: npt.ArrayLike,
    span: npt.ArrayLike,
    length: npt.ArrayLike,
    thickness: npt.ArrayLike,
    youngs_modulus: npt.ArrayLike,
    poisson: npt.ArrayLike,
) -> Array:
    """How far a plate on two rests gives under a load in the middle, at least.

    Args:
        force: square to the plate [N], shape (N,).
        span: between the rests [m], broadcast.
        length: of the plate along the rests [m], broadcast.
        thickness: [m], broadcast.
        youngs_modulus: E [N/m2], broadcast.
        poisson: nu [1], broadcast.

    Returns:
        Deflection [m], shape (N,), with the sign of the force.

    Raises:
        OutOfRange: if a size is not above 0.

    Range: thin plate that only lies on its rests. An endless strip and a beam that can't bend along the rests are
        both stiffer than the real plate, so the larger of both is a lower bound.
    Source: timoshenko1959, art. 36 (endless strip, 7 zeta(3)/(16 pi^3) of F a2/D), and the beam of gere2012, ch. 9.
    """
    (load,) = finite(force=force)
    wide, long, thick, modulus = above_zero(
        span=span, length=length, thickness=thickness, youngs_modulus=youngs_modulus
    )
    nu = np.asarray(poisson, dtype=float)
    rigidity = modulus * thick**3 / (12.0 * (1.0 - nu**2))
    return np.asarray(load * wide**2 / rigidity * np.maximum(_STRIP, wide / (48.0 * long)))


def wall_deflection(
    force: npt.ArrayLike,
    height: npt.ArrayLike,
    length: npt.ArrayLike,
    thickness: npt.ArrayLike,
    youngs_modulus: npt.ArrayLike,
    poisson: npt.ArrayLike,
) -> Array:
    """Push-off of the upper edge of a thin wall under a cut in the middle of its length, at least.

    Args:
        force: square to the wall at its upper edge [N], shape (N,).
        height: of the wall above what holds it [m], broadcast.
        length: of the wall [m], broadcast.
        thickness: of the wall [m], broadcast.
        youngs_modulus: E [N/m2], broadcast.
        poisson: nu [1], broadcast.

    Returns:
        Deflection [m], shape (N,), with the sign of the force.

    Raises:
        OutOfRange: if a size is not above 0, or poisson out of range.

    Range: thin wall (height over 5 thicknesses) held stiffly below. Both an endless wall and one that can't bend
        along its length are stiffer than the real one, so the larger of both is a lower bound; near an end of the
        wall it moves clearly farther.
    Source: own, the larger of edge_load_coefficient and the cantilever of gere2012, ch. 9.
    """
    (load,) = finite(force=force)
    high, long, thick, modulus = above_zero(
        height=height, length=length, thickness=thickness, youngs_modulus=youngs_modulus
    )
    nu = np.asarray(poisson, dtype=float)
    endless = edge_load_coefficient(nu)
    rigidity = modulus * thick**3 / (12.0 * (1.0 - nu**2))
    return np.asarray(load * high**2 / rigidity * np.maximum(endless, high / (3.0 * long)))


def wall_stiffness(
    length: npt.ArrayLike, height: npt.ArrayLike, thickness: npt.ArrayLike, youngs_modulus: npt.ArrayLike,
    ends: int, floor_height: npt.ArrayLike = 0.0,
) -> Array:
    """Stiffness of a wall under even pressure, over its mean bow: whole force over it.

    Args:
        length: of the wall along the jaws [m], shape (N,).
        height: of the wall that is pressed [m], broadcast.
        thickness: of the wall [m], broadcast.
        youngs_modulus: E [N/m2], broadcast.
        ends: how many of its two ends grow into solid metal [1].
        floor_height: of the wall above the floor that it stands on [m], broadcast; 0 where it has no floor.

    Returns:
        Stiffness [N/m], shape (N,); 0 for a wall that nothing holds.

    Raises:
        OutOfRange: if a size is not above 0, a height negative, or ends not 0 to 2.

    Range: thin wall, elastic; a strip between its ends beside one from its floor: what bending both ways shares
        beyond that is left out, so that it is stiffer than told.
    Source: gere2012, appendix H: beams under even load, their mean deflections integrated.
    """
    long, high, thick, modulus = above_zero(length=length, height=height, thickness=thickness,
                                            youngs_modulus=youngs_modulus)
    (stands,) = not_negative(floor_height=floor_height)
    if ends not in (0, 1, 2):
        raise OutOfRange(f"ends is {ends}", right="0, 1 or 2")
    # q L over the mean of the deflection: 720 E I/L^3 held at both ends, 20 E I/L^3 at one
    between = (0.0, 20.0, 720.0)[ends] * modulus * high * thick**3 / 12.0 / long**3
    upright = 20.0 * modulus * long * thick**3 / 12.0
    floor = np.divide(upright, stands**3, out=np.zeros(np.broadcast_shapes(upright.shape, stands.shape)),
                      where=stands > 0.0)
    return np.asarray(between + floor)


def bow_in_jaws(
    clamp_force: npt.ArrayLike, solid_area: npt.ArrayLike, wall_area: npt.ArrayLike,
    contact_stiffness: npt.ArrayLike, wall_stiffness: npt.ArrayLike,
) -> Array:
    """Mean bow of a wall that a flat stiff jaw presses together with the solid metal beside it.

    Args:
        clamp_force: of the jaw [N], shape (N,).
        solid_area: that it presses with solid metal behind [m2], broadcast.
        wall_area: that it presses with the wall behind [m2], broadcast.
        contact_stiffness: of pressed faces, of a unit of area [N/m3], broadcast.
        wall_stiffness: of the wall under even pressure [N/m], broadcast.

    Returns:
        Bow [m], shape (N,): what the jaw goes on beside the wall at most, since it stays flat.

    Raises:
        OutOfRange: if a value is negative, or nothing bears the jaw.

    Range: elastic; the jaw much stiffer than wall and faces.
    Source: own, springs side by side and one behind the other.
    """
    force, solid, wall, faces, bends = not_negative(
        clamp_force=clamp_force, solid_area=solid_area, wall_area=wall_area, contact_stiffness=contact_stiffness,
        wall_stiffness=wall_stiffness)
    beside, before = faces * solid, faces * wall
    behind = np.divide(before * bends, before + bends, out=np.zeros(np.broadcast_shapes(before.shape, bends.shape)),
                       where=before + bends > 0.0)
    if (beside + behind <= 0.0).any():
        raise OutOfRange("nothing bears the jaw", right="solid metal, or a wall that is held")
    approach = force / (beside + behind)
    return np.asarray(approach * np.divide(before, before + bends, out=np.zeros(
        np.broadcast_shapes(before.shape, bends.shape)), where=before + bends > 0.0))


def overhang_deflection(
    force: npt.ArrayLike,
    overhang: npt.ArrayLike,
    back_span: npt.ArrayLike,
    width: npt.ArrayLike,
    thickness: npt.ArrayLike,
    youngs_modulus: npt.ArrayLike,
) -> Array:
    """How far a bar that reaches beyond its rests is bent down under a clamp at its end.

    Args:
        force: of the clamp [N], shape (N,).
        overhang: from the nearer rest to the clamp [m], broadcast.
        back_span: from there to the other rest, where something holds it down [m], broadcast.
        width: of the bar that bends [m], broadcast.
        thickness: in the direction of the force [m], broadcast.
        youngs_modulus: E [N/m2], broadcast; E/(1-nu^2) for a wide plate.

    Returns:
        Deflection under the clamp [m], shape (N,).

    Raises:
        OutOfRange: if a size is not above 0, or force or back_span negative.

    Range: slender, elastic, free to turn on its rests.
    Source: shigley, table A-9, beam with an overhang and a load at its end: F c2 (l + c)/(3 E I).
    """
    load, back = not_negative(force=force, back_span=back_span)
    reach, wide, thick, modulus = above_zero(
        overhang=overhang, width=width, thickness=thickness, youngs_modulus=youngs_modulus
    )
    return np.asarray(4.0 * load * reach**2 * (back + reach) / (modulus * wide * thick**3))


def between_rests_at(arm: npt.ArrayLike, other_arm: npt.ArrayLike) -> Array:
    """How far a beam or plate gives under a load aside of the middle of its rests, over what it gives there.

    Args:
        arm: from the load to one rest [m], shape (N,).
        other_arm: from the load to the other [m], broadcast.

    Returns:
        Share [1], shape (N,): 1 in the middle, 0 over a rest.

    Raises:
        OutOfRange: if an arm is negative, or both are 0.

    Range: the give under the load itself; exact for a beam, taken for a plate.
    Source: gere2012, appendix H: a2 b2 of a simple beam, over its value at a = b.
    """
    near, far = not_negative(arm=arm, other_arm=other_arm)
    span = np.asarray(near + far)
    if (span <= 0.0).any():
        raise OutOfRange("both arms are 0", right="a span above 0")
    return np.asarray((4.0 * near * far / span**2) ** 2)
