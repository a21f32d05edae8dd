"""May one say that a measured size conforms? The uncertainty of the instrument decides, too."""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.stack._arrays import Array, above_zero, finite, limits, not_negative


class Decision(IntEnum):
    """What a measured value allows to be said."""

    DOES_NOT_CONFORM = -1
    CANNOT_TELL = 0
    CONFORMS = 1


class Zone(NamedTuple):
    """Readings that prove conformity.

    Fields:
        lower: lowest such reading [m].
        upper: highest such reading [m]; below lower where the instrument can prove nothing.
    """

    lower: Array
    upper: Array


def expanded_uncertainty(standard_uncertainty: npt.ArrayLike, coverage: npt.ArrayLike = 2.0) -> Array:
    """Expanded uncertainty U of a measurement.

    Args:
        standard_uncertainty: u [m], any shape.
        coverage: coverage factor k [1]; 2 covers some 95 % of a normal spread.

    Returns:
        U [m], same shape.

    Raises:
        OutOfRange: if one of both is negative.

    Range: normal spread.
    Source: gum2008, eq. (18).
    """
    return np.asarray(
        not_negative("coverage", coverage) * not_negative("standard_uncertainty", standard_uncertainty)
    )


def acceptance_zone(lower: npt.ArrayLike, upper: npt.ArrayLike, uncertainty: npt.ArrayLike) -> Zone:
    """Readings that prove that a size is within its limits.

    Args:
        lower: lower limit [m], minus infinity where there is none.
        upper: upper limit [m], infinity where there is none.
        uncertainty: expanded uncertainty U [m].

    Returns:
        Lowest and highest such reading.

    Raises:
        OutOfRange: if limits are crossed or the uncertainty is negative.

    Range: guard band as wide as U; the edition of 2017 allows a narrower one (1.65 u) by agreement.
    Source: iso14253, rule for proving conformity.
    """
    low, high = limits(lower, upper)
    band = not_negative("uncertainty", uncertainty)
    return Zone(low + band, high - band)


def decide(
    reading: npt.ArrayLike, uncertainty: npt.ArrayLike, lower: npt.ArrayLike, upper: npt.ArrayLike
) -> npt.NDArray[np.int8]:
    """Whether readings prove that sizes conform, that they don't, or neither.

    Args:
        reading: measured size [m], shape (N,).
        uncertainty: expanded uncertainty U [m], broadcast.
        lower: lower limit [m], minus infinity where there is none.
        upper: upper limit [m], infinity where there is none.

    Returns:
        Decision as its number [1], shape (N,): 1 conforms, 0 cannot tell, -1 does not conform.

    Raises:
        OutOfRange: if limits are crossed or the uncertainty is negative.

    Range: as acceptance_zone.
    Source: iso14253, rules for proving conformity and nonconformity.
    """
    value, band = finite("reading", reading), not_negative("uncertainty", uncertainty)
    low, high = limits(lower, upper)
    proved = (value >= low + band) & (value <= high - band)
    refuted = (value < low - band) | (value > high + band)
    return np.asarray(proved.astype(np.int8) - refuted.astype(np.int8), dtype=np.int8)


def share_of_tolerance(uncertainty: npt.ArrayLike, lower: npt.ArrayLike, upper: npt.ArrayLike) -> Array:
    """Part of the tolerance that the uncertainty eats on both sides: from 1 on nothing can be proved.

    Args:
        uncertainty: expanded uncertainty U [m].
        lower: lower limit [m].
        upper: upper limit [m]; infinite limits give 0.

    Returns:
        2 U over the tolerance [1].

    Raises:
        OutOfRange: if limits are crossed or the uncertainty is negative.

    Range: limits on both sides.
    Source: iso14253, width of the zone of conformity.
    """
    low, high = limits(lower, upper)
    return np.asarray(2.0 * not_negative("uncertainty", uncertainty) / (high - low))


def too_coarse(
    uncertainty: npt.ArrayLike, lower: npt.ArrayLike, upper: npt.ArrayLike, allowed_share: npt.ArrayLike
) -> npt.NDArray[np.bool_]:
    """Whether an instrument is too coarse for a tolerance.

    Args:
        uncertainty: expanded uncertainty U [m].
        lower: lower limit [m].
        upper: upper limit [m].
        allowed_share: largest allowed 2 U over the tolerance [1], above 0, at most 1.

    Returns:
        True where it is too coarse.

    Raises:
        OutOfRange: if the allowed share is not above 0 and at most 1.

    Range: limits on both sides. At a share of 1 no reading proves anything.
    Source: iso14253, width of the zone of conformity.
    """
    share = above_zero("allowed_share", allowed_share)
    if (share > 1.0).any():
        raise OutOfRange(f"allowed_share is {share.max():g}", right="above 0, at most 1")
    return np.asarray(share_of_tolerance(uncertainty, lower, upper) >= share)
