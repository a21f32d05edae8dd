"""How a bar springs when a stressed skin is cut from one side of it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.stack._arrays import Array, above_zero, finite, not_negative


def bow_after_skin(
    skin_stress: npt.ArrayLike,
    skin_depth: npt.ArrayLike,
    thickness: npt.ArrayLike,
    length: npt.ArrayLike,
    youngs_modulus: npt.ArrayLike,
) -> Array:
    """Bow of a straight bar after a stressed layer has been cut from one of its faces.

    Args:
        skin_stress: mean residual stress along the bar in the layer cut off [N/m2], shape (N,);
            tension positive.
        skin_depth: depth of that layer [m], broadcast.
        thickness: thickness before the cut [m], broadcast.
        length: length over which the bow is seen [m], broadcast.
        youngs_modulus: E [N/m2], broadcast; E/(1-nu) for a plate stressed alike in both directions.

    Returns:
        Rise of the middle of the cut face above its ends once the bar is let go [m], shape (N,); positive
        where the layer was in tension (the cut face turns convex).

    Raises:
        OutOfRange: if the layer is not thinner than the bar, or a size is not above zero.

    Range: straight, in balance before the cut, elastic, much longer than thick. For thin layers it is the
        formula of stoney1909.
    Source: own, from the balance of force and moment of the layer on the rest of the bar as a beam:
        3 s t h L^2 / (4 E (h - t)^3).
    """
    stress = finite("skin_stress", skin_stress)
    depth, full = not_negative("skin_depth", skin_depth), above_zero("thickness", thickness)
    span, modulus = above_zero("length", length), above_zero("youngs_modulus", youngs_modulus)
    left = full - depth
    if (left <= 0.0).any():
        raise OutOfRange(
            f"a skin of {depth.max():g} m cut from {full.min():g} m", right="less than the thickness"
        )
    return np.asarray(_curvature(stress * depth * full / 2.0, modulus, left) * span**2 / 8.0)


def bow_after_both_skins(
    first_stress: npt.ArrayLike,
    second_stress: npt.ArrayLike,
    skin_depth: npt.ArrayLike,
    thickness: npt.ArrayLike,
    length: npt.ArrayLike,
    youngs_modulus: npt.ArrayLike,
) -> Array:
    """Bow left after layers of one depth have been cut from both faces, the bar let go only then.

    Args:
        first_stress: mean residual stress in the layer cut first [N/m2], shape (N,); tension positive.
        second_stress: the same in the layer of the other face [N/m2], broadcast.
        skin_depth: depth of each layer [m], broadcast.
        thickness: thickness before both cuts [m], broadcast.
        length: length over which the bow is seen [m], broadcast.
        youngs_modulus: E [N/m2], broadcast.

    Returns:
        Rise of the middle of the face cut first above its ends [m], shape (N,); nil where both
        skins were alike.

    Raises:
        OutOfRange: if the layers are not thinner than half the bar, or a size is not above zero.

    Range: as bow_after_skin.
    Source: own, from the balance of moments of both layers on the rest of the bar.
    """
    first, second = finite("first_stress", first_stress), finite("second_stress", second_stress)
    depth, full = not_negative("skin_depth", skin_depth), above_zero("thickness", thickness)
    span, modulus = above_zero("length", length), above_zero("youngs_modulus", youngs_modulus)
    left = full - 2.0 * depth
    if (left <= 0.0).any():
        raise OutOfRange(f"two skins of {depth.max():g} m from {full.min():g} m", right="less than half")
    moment = (first - second) * depth * (full - depth) / 2.0
    return np.asarray(_curvature(moment, modulus, left) * span**2 / 8.0)


def _curvature(moment: Array, modulus: Array, thickness: Array) -> Array:
    """Curvature of a strip from a moment per unit of its width."""
    return np.asarray(12.0 * moment / (modulus * thickness**3))
