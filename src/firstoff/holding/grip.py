"""The band of a part between jaws: what it bears before it is crushed out of them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.holding._rows import Array, above_zero, not_negative

#: Pressure over yield strength of a flat pressed on the edge of a block: twice the yield in shear after von Mises.
EDGE = float(2.0 / np.sqrt(3.0))
#: The same well inside a face, where metal has to be pushed up all round.
INSIDE = float((2.0 + np.pi) / np.sqrt(3.0))


def crushing_pressure(yield_strength: npt.ArrayLike, at_edge: bool = True) -> Array:
    """Pressure of a flat hard jaw at which the metal under it flows away.

    Args:
        yield_strength: R_p0.2 [N/m2], any shape.
        at_edge: whether the band reaches to an edge of the part, where the metal flows out below it.

    Returns:
        Mean pressure [N/m2].

    Raises:
        OutOfRange: if the strength is not above 0.

    Range: a band much longer than high, no work hardening, no friction along the jaw.
    Source: hill1950, plane strain: 2 k at the corner of a block, (2 + pi) k inside a face, k = R_p/sqrt(3); the
        second also johnson1985, ch. 6.
    """
    (strength,) = above_zero(yield_strength=yield_strength)
    return np.asarray(strength * (EDGE if at_edge else INSIDE))


def crushed_height(
    force: npt.ArrayLike, width: npt.ArrayLike, yield_strength: npt.ArrayLike, at_edge: bool = True
) -> Array:
    """Height of the gripped band that it takes to bear a jaw: with less the edge is crushed.

    Args:
        force: of the jaw [N], shape (N,).
        width: that jaw and part have in common along the jaw [m], broadcast.
        yield_strength: R_p0.2 of the part [N/m2], broadcast.
        at_edge: whether the band reaches to an edge of the part; a line along a round bar does not.

    Returns:
        Height [m], shape (N,).

    Raises:
        OutOfRange: if the force is negative, or another value not above 0.

    Range: as crushing_pressure.
    Source: own, force over width and crushing_pressure.
    """
    (load,), (wide,) = not_negative(force=force), above_zero(width=width)
    return np.asarray(load / (wide * crushing_pressure(yield_strength, at_edge)))
