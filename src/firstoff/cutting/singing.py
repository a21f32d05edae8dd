"""What a tone beside the machine is: a multiple of the teeth that pass, or the cutter that sings."""

from __future__ import annotations

import numpy as np

from firstoff.cutting._guard import Array, Num, positive, whole_teeth


def over_teeth(tone: Num, spindle_speed: Num, teeth: int) -> Array:
    """A tone over that of the teeth that pass: near a whole number it is the cut itself, else the cutter sings.

    Args:
        tone: angular frequency of the loudest peak [rad/s], scalar or shape (N,).
        spindle_speed: of the spindle [rad/s], scalar or shape (N,).
        teeth: z, number of teeth [1].

    Returns:
        Ratio [1], shape of the arguments.

    Raises:
        OutOfRange: if tone or speed is not above 0, or there is no tooth.

    Range: steady cutting; runout adds whole turns, which lie between the teeth too.
    Source: smith2013.
    """
    return np.asarray(positive("tone", tone) / (positive("spindle speed", spindle_speed) * whole_teeth(teeth)))


def off_the_teeth(tone: Num, spindle_speed: Num, teeth: int) -> Array:
    """How far a tone lies from the nearest multiple of the teeth that pass.

    Args:
        tone: angular frequency of the loudest peak [rad/s], scalar or shape (N,).
        spindle_speed: of the spindle [rad/s], scalar or shape (N,).
        teeth: z, number of teeth [1].

    Returns:
        Share of the tone of the teeth, 0 to a half; more only below the first multiple [1], shape of the arguments.

    Raises:
        OutOfRange: as over_teeth.

    Range: as over_teeth; below some 0.1 a recording by a phone cannot tell.
    Source: smith2013, a peak that is no multiple of the tooth's tone is chatter.
    """
    ratio = over_teeth(tone, spindle_speed, teeth)
    return np.asarray(np.abs(ratio - np.maximum(np.round(ratio), 1.0)))
