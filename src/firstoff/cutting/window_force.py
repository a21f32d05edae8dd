"""Forces of all windows of a program at once: integrals once a window, rows by a matrix product.

Peaks are sought where they can be: positions of the cutter at which a spread of the rows peaks are looked at for
all rows. Runout is left to `milling_forces` on the windows that this finds to be the worst.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, between, finite, positive, whole_teeth
from firstoff.cutting.edge import STRAIGHT, Outline, Profile, slice_outline
from firstoff.cutting.force import Coefficients
from firstoff.errors import OutOfRange
from firstoff.medians import medians

#: Positions over a tooth pitch.
_POSITIONS = 36
#: Rows by which the positions that matter are found.
_SCOUTS = 64
#: Windows whose integrals are made together, so that they stay in the cache.
_TOGETHER = 125


class ManyCuts(NamedTuple):
    """Windows of one cutter on a level path, in slices that they share.

    Fields:
        height: middle of each slice above the tip [m], shape (S,).
        thickness: of each slice along the axis [m], shape (S,).
        entry: phi_st of each slice in each window [rad], shape (W, S).
        exit: phi_ex; not above the entry where a slice is out of the cut [rad], shape (W, S).
        feed_per_tooth: f_z of each window [m], shape (W,).
    """

    height: Array
    thickness: Array
    entry: Array
    exit: Array
    feed_per_tooth: Array


class ManyForces(NamedTuple):
    """The worst of all windows by row, and each window with the median force law.

    Fields:
        peak_side: largest resultant square to the tool in the worst window [N], shape (N,).
        worst: number of that window [1], shape (N,).
        mean_torque: largest mean torque of a window [N m], shape (N,).
        pull: largest mean force out of the collet [N], shape (N,).
        side_by_window: peak side force of each window [N], shape (W,).
        torque_by_window: mean torque of each window [N m], shape (W,).
    """

    peak_side: Array
    worst: Array
    mean_torque: Array
    pull: Array
    side_by_window: Array
    torque_by_window: Array


class _Blocks(NamedTuple):
    """Integrals of some windows: what each of six coefficients gives, with the feed in it."""

    x: Array            # (W, A, 6)
    y: Array            # (W, A, 6)
    torque: Array       # means (W, 6)
    pull: Array         # means (W, 6)


def many_forces(
    coefficients: Coefficients, profile: Profile, teeth: int, helix: float, cuts: ManyCuts
) -> ManyForces:
    """Forces of many windows, by row.

    Args:
        coefficients: the force law by rows, each of shape (N,).
        profile: outline of the cutter.
        teeth: z, number of teeth [1].
        helix: helix angle [rad].
        cuts: the windows.

    Returns:
        ManyForces, in [N] and [N m].

    Raises:
        OutOfRange: if a size is not above 0, an angle outside 0 ... pi, or no window cuts at all.

    Range: level path, no runout, angles up to pi; peaks within 2 in 100, most
        within 1 in 1000.
    Source: altintas2012, ch. 2 (forces of a helical end mill); engin2001 for any outline.
    """
    checked = _checked(teeth, helix, cuts)
    law = np.stack(np.broadcast_arrays(*(np.atleast_1d(finite("coefficient", item)) for item in coefficients)))
    law = np.ascontiguousarray(law[[0, 3, 1, 4, 2, 5]])          # t, te, r, re, a, ae
    middle, scouts = medians(law, 1), _scouts(law)
    rows, total = law.shape[1], len(checked.feed_per_tooth)
    side, worst, torque, pull = np.zeros(rows), np.zeros(rows), np.zeros(rows), np.full(rows, -np.inf)
    by_side, by_torque = np.zeros(total), np.zeros(total)
    for first in range(0, total, _TOGETHER):
        some = slice(first, first + _TOGETHER)
        block = _integrals(profile, teeth, helix, checked._replace(
            entry=checked.entry[some], exit=checked.exit[some], feed_per_tooth=checked.feed_per_tooth[some]))
        by_side[some] = np.sqrt(((block.x @ middle) ** 2 + (block.y @ middle) ** 2).max(axis=1))
        by_torque[some] = block.torque @ middle
        np.maximum(torque, (block.torque @ law).max(axis=0), out=torque)
        np.maximum(pull, (block.pull @ law).max(axis=0), out=pull)
        _peaks(block, law, scouts, first, side, worst)
    return ManyForces(np.sqrt(side), worst, torque, pull, by_side, by_torque)


def _checked(teeth: int, helix: float, cuts: ManyCuts) -> ManyCuts:
    whole_teeth(teeth)
    between("helix", helix, 0.0, 1.4, right="from 0 to 1.4 rad (80 degrees)")
    height, thickness = positive("height of a slice", cuts.height), positive("thickness of a slice", cuts.thickness)
    feed = np.atleast_1d(positive("feed per tooth", cuts.feed_per_tooth))
    entry = between("angle of entry", cuts.entry, 0.0, np.pi + 1e-9, right="from 0 to pi")
    leave = between("angle of exit", cuts.exit, 0.0, np.pi + 1e-9, right="from 0 to pi")
    if entry.shape != (len(feed), len(height)) or leave.shape != entry.shape:
        raise OutOfRange(f"angles of {entry.shape} for {len(feed)} windows of {len(height)} slices",
                         right="one angle for each window and slice")
    if not np.any(leave > entry):
        raise OutOfRange("no window cuts at all", right="an exit above its entry")
    if np.any(height - thickness / 2.0 < -1e-6 * thickness):
        raise OutOfRange("a slice reaches below the tip", right="heights from the tip up")
    return ManyCuts(height, thickness, entry, np.maximum(leave, entry), feed)


def _scouts(law: Array) -> Array:
    """Rows that span the law: each stands out most in some mixture of its coefficients."""
    if law.shape[1] <= _SCOUTS:
        return law
    typical = np.maximum(medians(np.abs(law), 1), np.finfo(np.float64).tiny)
    score = law / typical[:, None]
    score /= np.maximum(np.abs(score).sum(axis=0), np.finfo(np.float64).tiny)
    ways = np.random.default_rng(_SCOUTS).standard_normal((_SCOUTS, len(law)))
    return np.ascontiguousarray(law[:, np.unique((ways @ score).argmax(axis=1))])


def _integrals(profile: Profile, teeth: int, helix: float, cuts: ManyCuts) -> _Blocks:
    """Closed integrals over each slice: its engaged arc lies between two angles, all else is constant."""
    wind = 2.0 * np.tan(helix) / profile.diameter
    low = np.maximum(cuts.height - cuts.thickness / 2.0, 0.0)
    outline = slice_outline(profile, low, low + cuts.thickness)
    span = np.maximum(wind * cuts.thickness, STRAIGHT)
    foot = np.mod(_tips(teeth, wind, cuts)[..., None] - wind * low, 2.0 * np.pi)   # (W, A, teeth, S)
    start = np.clip(foot - span, cuts.entry[:, None, None], cuts.exit[:, None, None])
    stop = np.clip(foot, cuts.entry[:, None, None], cuts.exit[:, None, None])
    sides = _sums(outline, stop, start, span)
    feed = cuts.feed_per_tooth[:, None]
    x, y = (np.stack([item * feed if i % 2 == 0 else item for i, item in enumerate(part)], axis=-1)
            for part in sides)
    return _Blocks(x, y, *_means(outline, teeth, cuts))


def _tips(teeth: int, wind: float, cuts: ManyCuts) -> Array:
    """Angles of the tips at the positions looked at: over a pitch, or where a tooth of a short cut is in it."""
    pitch = 2.0 * np.pi / teeth
    cuts_at_all = cuts.exit > cuts.entry
    first = np.where(cuts_at_all, cuts.entry, np.inf).min(axis=1)
    last = (np.where(cuts_at_all, cuts.exit, 0.0) + wind * (cuts.height + cuts.thickness / 2.0)).max(axis=1)
    first = np.where(np.isfinite(first), first, 0.0)
    reach, lag = np.clip(last - first, STRAIGHT, pitch), wind * cuts.thickness.sum()
    even = first[:, None] + reach[:, None] * np.linspace(1e-7, 1.0 - 1e-7, _POSITIONS - 4)
    leave = cuts.exit.max(axis=1)
    # where the tip or the top of an edge comes or goes
    ends = np.stack([leave - STRAIGHT, leave + STRAIGHT, first + lag, last - STRAIGHT], axis=1)
    return np.asarray(np.concatenate([even, ends], axis=1)[..., None] + pitch * np.arange(teeth))


def _sums(outline: Outline, stop: Array, start: Array, span: Array) -> tuple[list[Array], list[Array]]:
    """x and y of each coefficient (t, te, r, re, a, ae), summed over teeth and slices."""
    share, led, lean = outline.length / span, np.sin(outline.lead_angle), np.cos(outline.lead_angle)
    up, down = np.sin(stop), np.sin(start)
    co_up, co_down = np.cos(stop), np.cos(start)
    cosine, sine = up - down, co_down - co_up                       # of cos, of sin
    both = (up * up - down * down) / 2.0                            # of sin cos
    square = (stop - start - up * co_up + down * co_down) / 2.0     # of sin sin

    def over(item: Array, weight: Array) -> Array:
        return np.asarray((item @ (share * weight)).sum(axis=2), dtype=np.float64)

    every = np.ones_like(led)                                       # a chip is thinner by sin(lead)
    x = [-over(both, led), -over(cosine, every), -over(square, led * led), -over(sine, led),
         -over(square, led * lean), -over(sine, lean)]
    y = [over(square, led), over(sine, every), -over(both, led * led), -over(cosine, led),
         -over(both, led * lean), -over(cosine, lean)]
    return x, y


def _means(outline: Outline, teeth: int, cuts: ManyCuts) -> tuple[Array, Array]:
    """Mean torque and mean force out of the collet of each coefficient."""
    turn = teeth * outline.length / (2.0 * np.pi)
    led, lean = np.sin(outline.lead_angle), np.cos(outline.lead_angle)
    arc, feed = cuts.exit - cuts.entry, cuts.feed_per_tooth
    chip = (np.cos(cuts.entry) - np.cos(cuts.exit)) * feed[:, None]
    none = np.zeros_like(feed)
    torque = [chip @ (turn * led * outline.radius), arc @ (turn * outline.radius), none, none, none, none]
    pull = [none, none, -chip @ (turn * led * lean), -arc @ (turn * lean),
            chip @ (turn * led * led), arc @ (turn * led)]
    return np.stack(torque, axis=-1), np.stack(pull, axis=-1)


def _peaks(block: _Blocks, law: Array, scouts: Array, first: int, side: Array, worst: Array) -> None:
    """Squares of the peak side force, kept in `side` where a window is worse than those before."""
    seen = (block.x @ scouts) ** 2 + (block.y @ scouts) ** 2        # (W, A, scouts)
    highest = np.zeros(seen.shape[:2], dtype=bool)
    np.put_along_axis(highest, seen.argmax(axis=1), True, axis=1)
    near = highest.copy()
    near[:, 1:] |= highest[:, :-1]
    near[:, :-1] |= highest[:, 1:]
    for window in range(len(block.x)):
        at = np.flatnonzero(near[window])
        both = np.concatenate([block.x[window, at], block.y[window, at]]) @ law
        both *= both
        here = (both[:len(at)] + both[len(at):]).max(axis=0)
        more = here > side
        side[more] = here[more]
        worst[more] = first + window
