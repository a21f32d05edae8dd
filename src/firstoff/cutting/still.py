"""What simple tests on a machine at rest read: a pull on its nose, an indicator, a square turned over, a ring."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive
from firstoff.errors import OutOfRange


class PullLoop(NamedTuple):
    """Where the nose stands in a loop of pulling, letting go, pushing and letting go, from the middle of its play.

    Fields:
        pulled: under the pull [m], shape (N,).
        released: after it [m], shape (N,).
        pushed: under the push [m], shape (N,).
        released_back: after it [m], shape (N,).
    """

    pulled: Array
    released: Array
    pushed: Array
    released_back: Array


def pull_loop(force: Num, stiffness: Num, lost_motion: Num, slide_drag: Num) -> PullLoop:
    """Where the nose stands against the table when it is pulled and pushed by hand, its drives held.

    Args:
        force: with which it is pulled, then pushed [N], scalar or shape (N,).
        stiffness: of nose against table [N/m], shape (N,).
        lost_motion: play of the screw [m], shape (N,).
        slide_drag: what moves the slide within its play [N], shape (N,).

    Returns:
        The four places [m], shape (N,).

    Raises:
        OutOfRange: if force or stiffness is not above 0, or play or drag negative.

    Range: one spring and one play; a pull that does not overcome the drag leaves the slide where it is. After it
        is let go the slide stays at the end of its play; what the drag holds back of the spring is left out.
    Source: own, spring and play in series.
    """
    bent = positive("force", force) / positive("stiffness", stiffness)
    moved = positive("force", force) > not_negative("slide drag", slide_drag)
    half = np.where(moved, not_negative("lost motion", lost_motion) / 2.0, 0.0)
    pulled, released = np.broadcast_arrays(bent + half, half)
    return PullLoop(np.asarray(pulled), np.asarray(released), np.asarray(-pulled), np.asarray(-released))


def swing_difference(tilt: Num, swing: Num) -> Array:
    """How far an indicator in the spindle moves between opposite sides of the circle in which it is swung.

    Args:
        tilt: of the spindle against the normal of the table [1], shape (N,).
        swing: diameter of the circle [m].

    Returns:
        Difference of the readings [m], shape (N,).

    Raises:
        OutOfRange: if the swing is not above 0.

    Range: small tilts.
    Source: own, a slope over a length.
    """
    return np.asarray(finite("tilt", tilt) * positive("swing", swing))


def turned_over_travel(squareness: Num, length: Num) -> Array:
    """How far an indicator moves along one edge of a milled square when the square is turned over.

    Its next edge lies along the other axis, as when it was milled; turning over mirrors its angle.

    Args:
        squareness: of the axes: out of square over length [1], shape (N,).
        length: along which the indicator is moved [m].

    Returns:
        Travel of the indicator [m], shape (N,): twice the error.

    Raises:
        OutOfRange: if the length is not above 0.

    Range: small errors.
    Source: own, reversal: the angle of the part is 90 degrees and the error, mirrored it is 90 less the error.
    """
    return np.asarray(2.0 * finite("squareness", squareness) * positive("length", length))


def square_size(nominal: Num, axis_scale: Num, oversize: Num) -> Array:
    """Size over both walls of a square that was milled round.

    Args:
        nominal: size in the program [m].
        axis_scale: error of the axis over its travel [1], shape (N,).
        oversize: what cutter and push-off leave on both walls together [m], shape (N,); negative is too small.

    Returns:
        Size [m], shape (N,).

    Raises:
        OutOfRange: if the nominal size is not above 0.

    Range: both walls cut alike.
    Source: own, sum of lengths.
    """
    return np.asarray(positive("nominal", nominal) * (1.0 + finite("axis scale", axis_scale))
                      + finite("oversize", oversize))


class Ring(NamedTuple):
    """The loudest ring in a recording.

    Fields:
        natural: natural angular frequency [rad/s].
        damping: damping ratio [1].
        clear: height of its peak over the middle of the spectrum [1].
    """

    natural: float
    damping: float
    clear: float


#: half an octave below and above the peak is where the ring is followed as it dies away
_BAND = 2.0 ** 0.5
#: share of its greatest height at which following the ring begins and ends; in a noisy shop it ends earlier
_FROM, _DOWN_TO, _AT_LEAST = 0.7, 0.05, 0.3
#: share of the recording in which it must have died away so far
_IN_TIME = 0.9
_PADDED = 8                 #: the spectrum is made so many times finer by adding silence
_ENOUGH = 16                #: samples in which a decay can be told


def ring_of(signal: Array, rate: float, lowest: float = 0.0, highest: float = np.inf) -> Ring:
    """The natural frequency and damping of what rings loudest after a tap.

    The peak of the spectrum gives the frequency, the fall of the envelope around it the damping.

    Args:
        signal: what was recorded [1], shape (N,).
        rate: samples in a unit of time [1/s].
        lowest: angular frequency below which is not listened [rad/s].
        highest: and above which [rad/s].

    Returns:
        Ring: frequency [rad/s], damping [1], clearness [1].

    Raises:
        OutOfRange: if the recording is too short, silent, or nothing in it dies away.

    Range: one mode at least half an octave from the next, damping up to about 0.1.
    Source: own, free vibration of a damped oscillator: exp(-damping x natural x t).
    """
    y = finite("signal", signal)
    rate = float(positive("rate", rate))
    y = y - y.mean() if y.size else y
    if y.size < _ENOUGH or not np.any(y):
        raise OutOfRange("nothing can be heard in the recording", right="half a second from just before the tap")
    y = y[max(0, int(np.argmax(np.abs(y))) - 2):]
    spectrum = np.fft.rfft(y, _PADDED * y.size)
    omega = 2.0 * np.pi * rate * np.arange(spectrum.size) / (_PADDED * y.size)
    heard = np.abs(spectrum) * ((omega > max(float(lowest), 2.0 * np.pi * rate / y.size)) & (omega < highest))
    if not heard.any():
        raise OutOfRange("nothing rings between the frequencies that are listened for", right="a longer recording")
    peak = float(omega[int(np.argmax(heard))])
    fall = _fall(_envelope(spectrum, omega, peak, y.size), rate)
    damping = fall / float(np.hypot(fall, peak))
    middle = float(np.median(heard[heard > 0.0]))
    return Ring(float(np.hypot(fall, peak)), float(between("damping", damping, 0.0, 1.0, right="0 to 1")),
                float(heard.max()) / middle)


def _envelope(spectrum: npt.NDArray[np.complex128], omega: Array, peak: float, samples: int) -> Array:
    """How loud the band round the peak is, sample by sample."""
    inside = (omega > peak / _BAND) & (omega < peak * _BAND)
    one_sided = np.zeros(2 * (spectrum.size - 1), dtype=complex)
    one_sided[:spectrum.size] = np.where(inside, 2.0 * spectrum, 0.0)
    return np.asarray(np.abs(np.fft.ifft(one_sided))[:samples])


def _fall(envelope: Array, rate: float) -> float:
    """How fast the logarithm of the envelope falls [1/s]."""
    top = int(np.argmax(envelope))
    after = envelope[top:]
    begins = int(np.argmax(after < _FROM * after[0]))
    ends = int(np.argmax(after < _DOWN_TO * after[0])) or int(np.argmax(after < _AT_LEAST * after[0]))
    piece = after[begins:ends]
    if begins == 0 or piece.size < _ENOUGH // 4 or top + ends > _IN_TIME * envelope.size:
        raise OutOfRange("no ring that dies away can be told in the recording",
                         right="one sharp tap, the phone closer, and half a second of quiet after it")
    t = np.arange(piece.size) / rate
    slope = float(np.polyfit(t, np.log(piece), 1)[0])
    if slope >= 0.0:
        raise OutOfRange("what is heard does not die away", right="record with spindle, fans and pumps off")
    return -slope
