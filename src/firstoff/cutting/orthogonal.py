"""One straight edge square to its way: the shear plane of its chip."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, between, positive


def shear_angle(chip_ratio: Num, rake: Num = 0.0) -> Array:
    """Angle of the shear plane to the way of the edge.

    Args:
        chip_ratio: thickness before over after the cut [1].
        rake: angle of the face of the tool [rad].

    Returns:
        Angle [rad], shape of the arguments.

    Raises:
        OutOfRange: if the ratio is not above 0 or the rake beyond 1 rad.

    Range: one thin plane; continuous chips as wide as the cut.
    Source: kalpakjian, chapter on the mechanics of cutting: tan(phi) = r cos(rake) / (1 - r sin(rake)).
    """
    share, face = positive("chip ratio", chip_ratio), _rake(rake)
    return np.asarray(np.arctan2(share * np.cos(face), 1.0 - share * np.sin(face)))


def _rake(rake: Num) -> Array:
    return np.asarray(between("rake", rake, -1.0, 1.0, right="from -1 to 1 rad"))
