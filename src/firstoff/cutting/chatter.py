"""Chatter: depth limits of milling from the zero-order frequency-domain solution, by row.

With A the mean directional factors and G the compliance at the tip, both at the chatter frequency, an eigenvalue
mu of A G with a positive real part gives the limit a = 2 pi / (z K_tc Re mu), and the phase between two waves
pi + 2 arg mu. The greatest Re mu over all frequencies gives the limit at the worst speed. G holds all modes in each
direction, and the damping of the flanks at the depth that is asked about.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive, whole_teeth
from firstoff.cutting._lobes import Complex, best_crossing, columns, either_root, responses, single, summed
from firstoff.cutting.process_damping import FlankDamping
from firstoff.errors import OutOfRange

#: Frequencies around each mode, and fewer where modes are many; with three secant steps after it the limits agree
#: to 1 in 1000 for 98 of 100 rows. Of many rows, whose chance is asked, two in three of them are enough: limits agree
#: so for 90 of 100 and chances to 1 in 1000.
_POINTS, _FEWEST, _IN_ALL = 64, 24, 128
_MANY, _ENOUGH = 32, 2.0 / 3.0
#: Modes whose frequencies lie within this of each other in every row crowd no frequencies of their own.
_ALIKE = 1e-3
#: Rows that are computed together.
_TOGETHER = 256
#: Chatter frequencies sought, in natural frequencies of the mode.
_LOWEST, _HIGHEST = 0.1, 5.0


class Mode(NamedTuple):
    """One mode at the tip of the tool, against the work, in one direction.

    Fields:
        stiffness: modal stiffness [N/m], shape (N,).
        damping: damping ratio [1], shape (N,).
        natural: natural angular frequency [rad/s], shape (N,).
    """

    stiffness: Num
    damping: Num
    natural: Num


class Factors(NamedTuple):
    """Mean directional factors of a cut.

    Fields:
        xx: feed direction by feed direction [1], shape (N,).
        xy: feed direction by the direction square to it [1], shape (N,).
        yx: square direction by feed direction [1], shape (N,).
        yy: square direction by itself [1], shape (N,).
    """

    xx: Array
    xy: Array
    yx: Array
    yy: Array


def directional_factors(radial_ratio: Num, entry: Num, exit_angle: Num) -> Factors:
    """Mean directional factors of a cut over a turn.

    Args:
        radial_ratio: K_rc over K_tc [1], shape (N,).
        entry: phi_st [rad].
        exit_angle: phi_ex [rad].

    Returns:
        Factors, each [1], shape (N,).

    Raises:
        OutOfRange: if exit is not above entry, or the ratio is not a number.

    Range: zero-order term only: rightly low at immersions below about a quarter.
    Source: altintas1995, eqs. for alpha_xx ... alpha_yy.
    """
    ratio = finite("radial ratio", radial_ratio)
    start, stop = finite("entry", entry), finite("exit", exit_angle)
    if np.any(stop <= start):
        raise OutOfRange(f"angle of exit {float(np.min(stop)):.4g} rad is not above entry", right="a width above 0")
    arc = stop - start
    sine, cosine = np.sin(2.0 * stop) - np.sin(2.0 * start), np.cos(2.0 * stop) - np.cos(2.0 * start)
    return Factors(
        xx=0.5 * (cosine - 2.0 * ratio * arc + ratio * sine),
        xy=0.5 * (-sine - 2.0 * arc + ratio * cosine),
        yx=0.5 * (-sine + 2.0 * arc + ratio * cosine),
        yy=0.5 * (-cosine - 2.0 * ratio * arc - ratio * sine),
    )


def absolute_depth_limit(
    tangential: Num, teeth: int, factors: Factors, along: Sequence[Mode], square: Sequence[Mode]
) -> Array:
    """Depth of cut below which no spindle speed chatters, by row.

    Args:
        tangential: K_tc [N/m2], shape (N,).
        teeth: z, number of teeth [1].
        factors: mean directional factors by rows.
        along: modes along the feed; none where it is rigid.
        square: modes square to the feed.

    Returns:
        Depth limit [m], shape (N,); infinite where no frequency gives one.

    Raises:
        OutOfRange: if a coefficient, stiffness, damping or frequency is not above 0, there is no tooth or no mode.

    Range: no damping by the flank, which depends on speed; immersion of a quarter or more.
    Source: altintas1995, depth limit of the zero-order solution.
    """
    system = _System.of(tangential, teeth, factors, along, square)
    grid = system.grid()
    real = system.eigenvalues(system.gives(grid)).real.max(axis=0)
    best = np.clip(real.argmax(axis=1), 1, grid.shape[1] - 2)
    rows = np.arange(best.size)
    low, high = grid[rows, best - 1], grid[rows, best + 1]
    for _ in range(4):  # narrow the bracket of the peak fourfold each time
        inner = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, 9)
        values = system.eigenvalues(system.gives(inner)).real.max(axis=0)
        middle = np.clip(values.argmax(axis=1), 1, 7)
        low, high = inner[rows, middle - 1], inner[rows, middle + 1]
        real = np.concatenate([real.max(axis=1, keepdims=True), values], axis=1)
    return system.depth(real.max(axis=1))


def depth_limit(
    tangential: Num, teeth: int, factors: Factors, along: Sequence[Mode], square: Sequence[Mode],
    spindle_speed: Num, flanks: FlankDamping | None = None, rubbing_depth: Num = 0.0,
) -> Array:
    """Depth of cut at which a cut begins to chatter at a spindle speed, by row.

    Args:
        tangential: K_tc [N/m2], shape (N,).
        teeth: z, number of teeth [1].
        factors: mean directional factors by rows.
        along: modes along the feed; none where it is rigid.
        square: modes square to the feed.
        spindle_speed: angular speed of the spindle [rad/s], scalar or shape (N,).
        flanks: mean damping of the flanks; none where it is left out.
        rubbing_depth: depth at which the flanks rub: asked at the depth of the cut itself, a cut sings exactly
            where its depth is above this limit [m], scalar or shape (N,).

    Returns:
        Depth limit [m], shape (N,); infinite where no frequency gives one.

    Raises:
        OutOfRange: if a coefficient, stiffness, damping, frequency or speed is not above 0, there is no tooth or no
            mode, or the rubbing depth is negative.

    Range: as absolute_depth_limit; flip lobes of low immersion are not seen; frequencies from 0.1 to 5 times
        the natural one.
    Source: altintas1995, lobes of the zero-order solution.
    """
    system = _System.of(tangential, teeth, factors, along, square, positive("spindle speed", spindle_speed),
                        flanks, not_negative("rubbing depth", rubbing_depth))
    return system.depth(_first_to_sing(system)[0])


def chatter_frequency(
    tangential: Num, teeth: int, factors: Factors, along: Sequence[Mode], square: Sequence[Mode],
    spindle_speed: Num, flanks: FlankDamping | None = None, rubbing_depth: Num = 0.0,
) -> Array:
    """Frequency at which a cut begins to sing at a spindle speed, by row: what a microphone hears.

    Args:
        tangential: K_tc [N/m2], shape (N,).
        teeth: z, number of teeth [1].
        factors: mean directional factors by rows.
        along: modes along the feed; none where it is rigid.
        square: modes square to the feed.
        spindle_speed: angular speed of the spindle [rad/s], scalar or shape (N,).
        flanks: mean damping of the flanks; none where it is left out.
        rubbing_depth: depth at which the flanks rub [m], scalar or shape (N,).

    Returns:
        Angular frequency of the swing [rad/s], shape (N,); 0 where no depth sings.

    Raises:
        OutOfRange: as depth_limit.

    Range: as depth_limit: just above the limit. Beside it a microphone hears it shifted by the frequency of the
        teeth, up and down.
    Source: altintas1995, frequency of the lobe that limits first.
    """
    system = _System.of(tangential, teeth, factors, along, square, positive("spindle speed", spindle_speed),
                        flanks, not_negative("rubbing depth", rubbing_depth))
    real, frequency = _first_to_sing(system)
    return np.where(real > 0.0, frequency, 0.0)


class _System(NamedTuple):
    """All that the eigenvalues depend on, as columns (N, 1), one above the other so that one step does for all."""

    single: Array       # (2, N, 1): 2 pi over teeth and K_tc [m2/N]; time from tooth to tooth [s]
    factors: Array      # (4, N, 1): xx, xy, yx, yy
    modes: Array        # (3, M, N, 1): stiffness, damping, natural frequency
    along: int          # how many of the modes are along the feed; the others are square to it
    rubbing: Array      # (3, N, 1): along, cross, square: damping of the flanks [N s/m]; (0, N, 1) for none

    @classmethod
    def of(
        cls, tangential: Num, teeth: int, factors: Factors, along: Sequence[Mode], square: Sequence[Mode],
        speed: Num = 1.0, flanks: FlankDamping | None = None, depth: Num = 0.0,
    ) -> _System:
        """The system with all arguments checked and brought to the same rows."""
        number, modes = whole_teeth(teeth), (*along, *square)
        if not modes:
            raise OutOfRange("no mode is given in either direction",
                             right="at least one mode along or square to the feed")
        parts = [tangential, speed, *factors, *(item for kind in zip(*modes, strict=True) for item in kind)]
        parts += [] if flanks is None else [np.asarray(item) * depth / speed for item in flanks]
        every = columns(parts)
        last, many = 6 + 3 * len(modes), every.shape[1:]
        swings = every[6:last].reshape(3, len(modes), *many)
        positive("K_tc", every[0])
        finite("directional factor", every[2:6])
        positive("stiffness", swings[0])
        between("damping ratio", swings[1], 1e-6, 0.9, right="above 0 and below 0.9")
        positive("natural frequency", swings[2])
        finite("flank damping", every[last:])
        every[0], every[1] = 2.0 * np.pi / (number * every[0]), 2.0 * np.pi / (number * every[1])
        return cls(every[:2], every[2:6], swings, len(along), every[last:])

    @property
    def rows(self) -> int:
        """How many rows it has."""
        return int(self.single.shape[1])

    def parts(self) -> Iterator[_System]:
        """The same by rows that stay in the cache together."""
        for start in range(0, self.rows, _TOGETHER):
            some = slice(start, start + _TOGETHER)
            yield self if self.rows <= _TOGETHER else _System(
                self.single[:, some], self.factors[:, some], self.modes[:, :, some], self.along,
                self.rubbing[:, some])

    def grid(self) -> Array:
        """Frequencies (N, F) crowded around the modes of each row, ascending; of two alike only one counts."""
        apart: list[Array] = []
        for mode in self.modes.swapaxes(0, 1):
            if not any(np.all(np.abs(mode[2] - other[2]) <= _ALIKE * other[2]) for other in apart):
                apart.append(mode)
        around, points = [], min(_POINTS, max(_FEWEST, _IN_ALL // len(apart)))
        points = points if self.rows <= _MANY else round(_ENOUGH * points)
        for number, (_, damping, natural) in enumerate(apart):  # shifted, so that none falls together
            start, stop = np.arcsinh((_LOWEST - 1.0) / damping), np.arcsinh((_HIGHEST - 1.0) / damping)
            steps = start + (stop - start) * (np.arange(points) + number / len(apart)) / points
            around.append(natural * (1.0 + damping * np.sinh(steps)))
        return around[0] if len(around) == 1 else np.sort(np.concatenate(around, axis=1), axis=1)

    def rough(self) -> tuple[_System, Array]:
        """The same in single precision, half the time, to find where it sings first, with its unit of stiffness.

        That is each row's softest mode [N/m], shape (N, 1): in SI squares of compliances would be lost below 1e-38.
        """
        unit, modes = self.modes[0].min(axis=0), single(self.modes)
        modes[0] = self.modes[0] / unit
        return _System(single(self.single), single(self.factors), modes, self.along,
                       single(self.rubbing / unit)), unit

    def swept(self, rough: _System) -> _Give:
        """How tool and machine give along the grid: the last are kept, as one tip makes many cuts, and many of them
        are fed along what others are square to.
        """
        along, square = (self.modes[:, some].tobytes() for some in (slice(self.along), slice(self.along, None)))
        if len(along) == len(square) and square < along:
            give = self.turned().swept(rough.turned())
            return give._replace(x=give.y, y=give.x)
        found = _swept.pop((along, square), None)
        if found is None:
            found = rough.gives(single(self.grid()))
            while len(_swept) >= _TIPS:
                _swept.pop(next(iter(_swept)))
        _swept[along, square] = found           # the last that was asked for is the last to go
        return found

    def turned(self) -> _System:
        """The same with its modes square to the feed along it, and the other way round."""
        return self._replace(modes=np.roll(self.modes, -self.along, axis=1), along=self.modes.shape[1] - self.along)

    def gives(self, frequency: Array) -> _Give:
        """How tool and machine give at some frequencies (N, F), all modes of each direction together."""
        x, y = np.empty((2, *frequency.shape), dtype=np.result_type(frequency, 1j))
        for give, some in ((x, slice(None, self.along)), (y, slice(self.along, None))):
            real, imag = responses(self.modes[:, some], frequency)
            give.real, give.imag = real.sum(axis=0), imag.sum(axis=0)
        both = x * y
        return _Give(frequency, x, y, both, both * (1j * frequency))

    def halves(self, give: _Give) -> tuple[Complex, Complex]:
        """Half of the sum of the two eigenvalues, and half of their difference, of either sign."""
        xx, xy, yx, yy = self.factors
        if not len(self.rubbing):
            middle, apart = (summed((0.5 * xx, give.x), (sign * yy, give.y)) for sign in (0.5, -0.5))
            return middle, either_root(apart * apart + summed((xy * yx, give.both)))
        # G becomes (1/G + i w D)^-1; what that divides by is one and the same in all its parts
        along, cross, square = self.rubbing
        inner = summed((along, give.x), (square, give.y), (along * square - cross * cross, give.turned))
        shrink = np.empty_like(inner)
        shrink.real, shrink.imag = 1.0 - give.frequency * inner.imag, give.frequency * inner.real
        np.reciprocal(shrink, out=shrink)
        middle = summed((0.5 * xx, give.x), (0.5 * yy, give.y),
                      (0.5 * (xx * square + yy * along - (xy + yx) * cross), give.turned))
        middle *= shrink
        shrink *= give.both
        return middle, either_root(middle * middle - summed((xx * yy - xy * yx, shrink)))

    def halves_at(self) -> Callable[[Array], tuple[Complex, Complex]]:
        """The same at one frequency (N,) for each row, made ready to be asked again and again."""
        (stiffness, damping, natural), (xx, xy, yx, yy) = self.modes[..., 0], self.factors[..., 0]
        once, twice = 2j * damping * stiffness / natural, -stiffness / natural**2
        along, cross, square = self.rubbing[..., 0] if len(self.rubbing) else np.zeros((3, 1))
        both, third = along * square - cross * cross, 0.5 * (xx * square + yy * along - (xy + yx) * cross)
        size = xx * yy - xy * yx

        def halves(frequency: Array) -> tuple[Complex, Complex]:
            compliance = 1.0 / (stiffness + frequency * (once + frequency * twice))
            x, y = compliance[:self.along].sum(axis=0), compliance[self.along:].sum(axis=0)
            product, turn = x * y, 1j * frequency
            turned = turn * product
            shrink = 1.0 / (1.0 + turn * (along * x + square * y + both * turned))
            middle = (0.5 * (xx * x + yy * y) + third * turned) * shrink
            return middle, np.sqrt(middle * middle - size * product * shrink)

        return halves

    def eigenvalues(self, give: _Give) -> Complex:
        """Both eigenvalues, each continuous along the frequencies: shape (2, N, F)."""
        middle, root = self.halves(give)
        real, imag = root.real, root.imag
        onward = real[:, 1:] * real[:, :-1] + imag[:, 1:] * imag[:, :-1]
        root[:, 1:] *= np.where(np.logical_xor.accumulate(onward < 0.0, axis=1), -1.0, 1.0).astype(real.dtype)
        values: Complex = np.empty((2, *root.shape), dtype=root.dtype)
        np.add(middle, root, out=values[0])
        np.subtract(middle, root, out=values[1])
        return values

    def turns(self, frequency: Array, values: Complex) -> Array:
        """Waves between two teeth less the phase that the limit asks: a whole number at a crossing."""
        waves = frequency * (self.single[1] / (2.0 * np.pi)) - 0.5
        return np.asarray(waves - np.arctan2(values.imag, values.real) * (1.0 / np.pi))

    def depth(self, real: Array) -> Array:
        """Limit from the greatest real part; infinite where it is not positive."""
        scale = self.single[0, :, 0]
        limit: Array = np.divide(scale, real, out=np.full(real.shape, np.inf), where=real > 0.0)
        return limit


class _Give(NamedTuple):
    """How tool and machine give at some frequencies w (N, F)."""

    frequency: Array
    x: Complex                 # compliance along the feed
    y: Complex                 # and square to it
    both: Complex              # their product
    turned: Complex            # that times i w


#: what was swept last, by all that it depends on: all parts of a belief for two tips, and some for others
_swept: dict[tuple[bytes, bytes], _Give] = {}
_TIPS = 20


class _Bracket(NamedTuple):
    """For each row two frequencies with the best crossing between them (N,), and the eigenvalue at each."""

    low: Array
    high: Array
    near_low: Complex
    near_high: Complex
    share: Array                # of the way from low to high, to begin with
    whole: Array
    there: npt.NDArray[np.bool_]


def _first_to_sing(system: _System) -> tuple[Array, Array]:
    """Greatest real part of an eigenvalue at a crossing, 0 for none, and the frequency there."""
    return _refined(system, _Bracket(*map(np.concatenate, zip(*map(_bracket, system.parts()), strict=True))))


def _bracket(system: _System) -> _Bracket:
    """Where some rows sing first, by frequencies far apart."""
    rough, unit = system.rough()
    give = system.swept(rough)
    values = rough.eigenvalues(give)
    found = best_crossing(rough.turns(give.frequency, values), np.ascontiguousarray(values.real))
    row = np.arange(found.cell.size)
    cells = np.stack([found.cell, found.cell + 1])
    low, high = give.frequency[row, cells].astype(np.float64)
    near_low, near_high = values[found.branch, row, cells] / unit[:, 0]
    return _Bracket(low, high, near_low, near_high, found.share, found.whole, found.there)


def _refined(system: _System, at: _Bracket) -> tuple[Array, Array]:
    """Real part of the eigenvalue at the crossing, brought nearer by false position with the exact eigenvalue, and
    the frequency of the crossing.
    """
    low, high, near_low, near_high, share, whole, there = at
    waves, halves = system.single[1, :, 0] / (2.0 * np.pi), system.halves_at()

    def miss(frequency: Array, value: Complex) -> Array:
        return np.asarray(waves * frequency - (0.5 + whole) - np.arctan2(value.imag, value.real) * (1.0 / np.pi))

    miss_low, miss_high = miss(low, near_low), miss(high, near_high)
    for _ in range(3):
        guess = low + share * (high - low)
        middle, root = halves(guess)
        off = near_low + share * (near_high - near_low) - middle
        np.negative(root, out=root, where=off.real * root.real + off.imag * root.imag < 0.0)
        value = middle + root
        far = miss(guess, value)
        below = (far > 0.0) == (miss_low > 0.0)  # the crossing lies above the guess
        low, near_low, miss_low = (
            np.where(below, a, b) for a, b in ((guess, low), (value, near_low), (far, miss_low)))
        high, near_high, miss_high = (
            np.where(below, b, a) for a, b in ((guess, high), (value, near_high), (far, miss_high)))
        gap = miss_high - miss_low
        share = np.divide(-miss_low, gap, out=np.full_like(gap, 0.5), where=gap != 0.0)
        np.minimum(np.maximum(share, 0.0, out=share), 1.0, out=share)
    real = near_low.real + share * (near_high.real - near_low.real)
    return np.where(there, np.maximum(real, 0.0), 0.0), low + share * (high - low)
