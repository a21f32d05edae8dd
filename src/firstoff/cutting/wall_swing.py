"""What a wall keeps of a tool that swings: at the moment when its tooth makes the wall it is where the force of a
whole turn has driven it, not where the force of that moment alone would hold it.

Sign as in `push_off`: positive = material left on.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.cutting import _integrals
from firstoff.cutting._guard import Array, Num, finite, not_negative, positive
from firstoff.cutting.chatter import Mode
from firstoff.cutting.edge import Edge
from firstoff.cutting.force import Coefficients, Engagement, as_edge, normal_force
from firstoff.cutting.wall import Wall, made_at, wall_lags
from firstoff.errors import OutOfRange

#: Positions of the cutter in a turn at which its force is taken.
_POSITIONS: Final = 256
#: Harmonics of the spindle that are followed; what comes faster holds no mode of a machine, and little of a force.
_HARMONICS: Final = 40

Complex = npt.NDArray[np.complex128]


class _Turn(NamedTuple):
    """The force square to the feed over a turn, as harmonics of the spindle, for a unit of each coefficient."""

    nodes: Array                             # eccentricity over feed (R,)
    terms: tuple[_integrals.Term, ...]       # (T,)
    harmonics: Complex                       # (T x R, K)


@lru_cache(maxsize=128)
def _turn(edge: Edge, runout: bool) -> _Turn:
    nodes = _integrals.ratio_nodes(edge.teeth) if runout else np.zeros(1)
    where = 2.0 * np.pi * np.arange(_POSITIONS) / _POSITIONS
    terms, units = _integrals.terms_of(edge)["y"], _integrals.units(edge, where, nodes)
    over = np.concatenate([term.sign * units[f"{term.kind}_{term.weight}"] for term in terms])
    return _Turn(nodes, terms, np.fft.rfft(over, axis=1)[:, :_HARMONICS] / _POSITIONS)


def swung_off(
    coefficients: Coefficients, engagement: Engagement, feed_per_tooth: Num, eccentricity: Num, modes: Sequence[Mode],
    spindle_speed: float, wall: Wall, flank_damping: Num = 0.0,
) -> Array:
    """What a wall keeps beyond the static push-off, since tool and machine swing with the teeth.

    Args:
        coefficients: the force law by rows.
        engagement: cutter and cut that all rows share; it must reach the angle of the asked wall.
        feed_per_tooth: f_z [m], scalar or shape (N,).
        eccentricity: offset of the cutter's axis from the spindle's [m], scalar or shape (N,). The tooth that stands
            out most makes the wall.
        modes: at the tip, square to the wall.
        spindle_speed: angular speed of the spindle [rad/s].
        wall: the wall that a conventional or a climb cut leaves.
        flank_damping: by which the flanks damp a swing square to the wall [N s/m], scalar or shape (N,).

    Returns:
        Left on above what the same modes as springs without mass, and a cutter that runs true, leave at each height
        of slice_heights; negative is cut too deep [m], shape (N, H).

    Raises:
        OutOfRange: if there is no mode, the engagement does not reach that wall, or a size, stiffness, frequency or
            speed is not above 0.

    Range: a cut that does not sing, and teeth that follow one another alike: then each finds the wave that it makes
        itself, and regeneration cancels. Of an offset cutter the forces differ by tooth, which is kept; what one
        tooth leaves to the next is that of the rigid cutter.
    Source: schmitz2006, force harmonics times the response at the tip, looked at where the wall is made; kline1983
        for the chip of an offset cutter.
    """
    if not modes:
        raise OutOfRange("no mode is given", right="at least one square to the wall")
    edge, feed, offset = (as_edge(engagement), positive("feed per tooth", feed_per_tooth),
                          not_negative("eccentricity", eccentricity))
    law = [finite("coefficient", item) for item in coefficients]
    rub, pace = not_negative("flank damping", flank_damping), float(positive("spindle speed", spindle_speed))
    figures = (*law, feed, offset, rub, *(item for mode in modes for item in mode))
    rows = np.broadcast_shapes(*(np.shape(item) for item in figures))
    feeds, ratio = np.broadcast_to(feed, rows).ravel(), np.broadcast_to(offset / feed, rows).ravel()
    turn = _turn(edge, bool(np.any(ratio > 0.0)))
    k = [np.broadcast_to(item, rows).ravel() for item in (*(item * feed for item in law[:3]), *law[3:])]
    columns = np.stack([k[term.number] for term in turn.terms], axis=1)
    off, even = _force(turn, columns, ratio), _even(turn, columns)
    omega = pace * np.arange(_HARMONICS)
    swings, static = response(modes, omega, rub)
    last = swings[:, -1:].real                      # what comes faster is answered as the last that is followed
    moved = np.broadcast_to(swings, (len(feeds), _HARMONICS)) * off - last * even
    angle, sign = made_at(engagement, wall)
    there = angle + wall_lags(engagement, wall)
    held = np.broadcast_to(normal_force(Coefficients(*law), engagement, feed, there), (len(feeds), len(there)))
    waves = np.exp(1j * np.arange(_HARMONICS)[:, None] * there) * np.where(omega > 0.0, 2.0, 1.0)[:, None]
    swung = moved.real @ waves.real - moved.imag @ waves.imag
    return np.asarray(sign * (swung + (last - np.reshape(static, (-1, 1))) * held), dtype=np.float64)


def _even(turn: _Turn, columns: Array) -> Complex:
    """Harmonics of the force of a cutter that runs true, by row (N, K)."""
    first = turn.harmonics[::len(turn.nodes)]
    return np.asarray(columns @ first.real + 1j * (columns @ first.imag))


def _force(turn: _Turn, columns: Array, ratio: Array) -> Complex:
    """Harmonics of the force by row (N, K)."""
    shares = _integrals.shares(ratio, turn.nodes)
    left = (columns[:, :, None] * shares[:, None, :]).reshape(len(ratio), -1)
    return np.asarray(left @ turn.harmonics.real + 1j * (left @ turn.harmonics.imag))


def response(modes: Sequence[Mode], omega: npt.NDArray[Any], flank_damping: Num) -> tuple[Complex, Array]:
    """Give at the tip at each frequency, and at rest.

    Args:
        modes: at the tip, in one direction.
        omega: angular frequencies [rad/s], shape (K,).
        flank_damping: of the cut, beside the modes' own [N s/m], scalar or shape (N,).

    Returns:
        Give [m/N], shape (N, K), and its static value, shape (N,).

    Raises:
        OutOfRange: if a stiffness or frequency of a mode is not above 0.

    Range: modes that are not coupled by damping.
    Source: altintas2012, sum over modes of 1 / (k (1 - r2 + 2 i zeta r)).
    """
    along: Array = np.zeros((1, len(omega)))
    late, static = along, np.zeros(1)
    for mode in modes:
        stiffness, natural = positive("stiffness", mode.stiffness), positive("natural frequency", mode.natural)
        part = omega / np.reshape(natural, (-1, 1))
        damped = 2.0 * np.reshape(np.asarray(mode.damping, dtype=np.float64), (-1, 1)) * part
        spring = 1.0 - part * part
        over = np.reshape(stiffness, (-1, 1)) * (spring * spring + damped * damped)
        along, late, static = along + spring / over, late - damped / over, static + 1.0 / stiffness
    give = along + 1j * late
    rub = np.reshape(np.asarray(flank_damping, dtype=np.float64), (-1, 1))
    return np.asarray(give / (1.0 + 1j * omega * rub * give)), np.atleast_1d(static)
