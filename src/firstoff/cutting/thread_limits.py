"""Limits of size of threads by the formulas of the standards: metric 6g with 6H, unified 2A with 2B."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from firstoff.cutting._guard import positive
from firstoff.cutting.thread import Coarse, metric_profile

#: Steps of diameter for which ISO 965 has one tolerance, in mm.
_STEPS = (0.99, 1.4, 2.8, 5.6, 11.2, 22.4, 45.0, 90.0)


def metric_limits(nominal: float, pitch: float, millimetre: float, tap_drill: float) -> Coarse:
    """A metric thread with the limits of 6g and 6H, from the formulas of the standard.

    Args:
        nominal: d [m].
        pitch: P [m].
        millimetre: the length in which the formulas are written [m].
        tap_drill: diameter of the drill before tapping [m].

    Returns:
        Coarse, each [m].

    Raises:
        OutOfRange: if an argument is not above 0, or the pitch leaves no core.

    Range: d from 1 to 90 mm, P from 0.2 mm; within a few parts in a hundred of the rounded table.
    Source: iso965, formulas of its tolerances.
    """
    basic, unit = metric_profile(nominal, pitch), float(positive("millimetre", millimetre))
    p, d = pitch / unit, nominal / unit
    low, high = next(((a, b) for a, b in pairwise(_STEPS) if a < d <= b), _STEPS[-2:])
    on_pitch = 0.090 * p**0.4 * np.sqrt(low * high) ** 0.1
    on_minor = 0.230 * p**0.7 if p >= 1.0 else 0.433 * p - 0.190 * p**1.22
    allowance = 0.015 + 0.011 * p
    on_major = 0.180 * p ** (2.0 / 3.0) - 0.00315 / np.sqrt(p)
    middle, minor = float(basic.pitch_diameter), float(basic.minor_diameter)
    return Coarse(nominal, pitch, float(positive("tap drill", tap_drill)),
                  nominal - unit * float(allowance + on_major), middle - unit * float(allowance + on_pitch),
                  middle + unit * float(1.32 * on_pitch), minor + unit * float(on_minor))


def unified_limits(nominal: float, pitch: float, inch: float, tap_drill: float) -> Coarse:
    """A unified thread with the limits of 2A and 2B, from the formulas of the standard.

    Args:
        nominal: d [m].
        pitch: P, one over the threads in a length [m].
        inch: the length in which the formulas are written [m].
        tap_drill: diameter of the drill before tapping [m].

    Returns:
        Coarse, each [m].

    Raises:
        OutOfRange: if an argument is not above 0, or the pitch leaves no core.

    Range: UNC and UNF, engaged over one diameter.
    Source: asmeb1, formulas of its tolerances: 2A on d2 0.0015 (d^(1/3) + L^(1/2)) + 0.015 P^(2/3).
    """
    basic, unit = metric_profile(nominal, pitch), float(positive("inch", inch))
    p, d = pitch / unit, nominal / unit
    on_pitch = 0.0015 * (d ** (1.0 / 3.0) + d**0.5) + 0.015 * p ** (2.0 / 3.0)
    wide = 0.25 * p - 0.4 * p * p
    on_minor = wide if d >= 0.25 else min(max(0.05 * p ** (2.0 / 3.0) + 0.03 * p / d - 0.002, wide), 0.394 * p)
    allowance = 0.3 * on_pitch
    middle, minor = float(basic.pitch_diameter), float(basic.minor_diameter)
    return Coarse(nominal, pitch, float(positive("tap drill", tap_drill)),
                  nominal - unit * (allowance + 0.060 * p ** (2.0 / 3.0)), middle - unit * (allowance + on_pitch),
                  middle + unit * 1.3 * on_pitch, minor + unit * on_minor)
