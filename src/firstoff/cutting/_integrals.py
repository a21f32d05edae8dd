"""Integrals of chip and edge along the engaged edges: the geometry that all rows of a force law share."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.cutting._guard import Array
from firstoff.cutting.edge import Edge
from firstoff.quadrature import gauss_rule

#: Gauss rules along the engaged part of a slice: one slice alone is exact to 1e-8 for arcs up to pi.
_ALONE = gauss_rule(8)
_AMONG = gauss_rule(2)
#: Gauss rule over the arc of engagement, for the means.
_MEAN_T, _MEAN_W = gauss_rule(24)
#: Step between positions of the cutter at which peaks are sought [rad]; over a whole turn twice as far.
_STEP = 0.035
#: Places where an edge enters or leaves that lie nearer than this are one [rad].
_NEAR = 0.005
#: Ratios of eccentricity to feed between which the chip thickness is interpolated.
_RATIOS = 13
#: Chip over feed per tooth below which there is none: what rounding makes of an edge along its way.
_NO_CHIP = 1e-12
_SQUARE = np.pi / 2.0 - 1e-9

#: What the force in a direction is made of: coefficient (0 tangential, 1 radial, 2 axial), weight, sign.
#: z is positive out of the collet: the helix pulls that way, a leaning edge pushes back.
_PARTS: dict[str, list[tuple[int, str, float]]] = {
    "x": [(0, "cos", -1.0), (1, "lead_sin", -1.0), (2, "lean_sin", -1.0)],
    "y": [(0, "sin", 1.0), (1, "lead_cos", -1.0), (2, "lean_cos", -1.0)],
    "z": [(1, "lean", -1.0), (2, "lead", 1.0)],
    "torque": [(0, "radius", 1.0)],
}
#: Weights that vanish on a cylinder.
_LEANING = ("lean", "lean_sin", "lean_cos")


class Term(NamedTuple):
    """One coefficient (chip t, r, a; edge t, r, a: 0 ... 5) in one direction."""

    number: int
    kind: str          # chip or edge
    weight: str
    sign: float


class Tables(NamedTuple):
    """Integrals of one engagement for every node of eccentricity over feed, ready to multiply."""

    nodes: Array                                # eccentricity over feed (R,)
    terms: dict[str, tuple[Term, ...]]          # by direction
    peaks: dict[str, Array]                     # by direction (terms x R, A)
    means: dict[str, Array]                     # by direction (terms x R, 1)


@lru_cache(maxsize=512)
def tables(edge: Edge, runout: bool) -> Tables:
    """The tables of an engagement; they depend on neither feed nor force law, and are looked up often."""
    nodes = ratio_nodes(edge.teeth) if runout else np.zeros(1)
    where, terms = positions(edge, turn=runout), terms_of(edge)
    return Tables(nodes, terms, _stacked(units(edge, where, nodes), terms), _stacked(mean(edge, nodes), terms))


def terms_of(edge: Edge) -> dict[str, tuple[Term, ...]]:
    """The terms that count for this edge, by direction."""
    leans = _leans(edge)
    return {way: tuple(Term(number + 3 * off, kind, weight, sign) for number, weight, sign in parts
                       for off, kind in ((0, "chip"), (1, "edge")) if leans or weight not in _LEANING)
            for way, parts in _PARTS.items()}


def _leans(edge: Edge) -> bool:
    """Whether any of the edge leans, outwards as a corner or inwards as the flank of a dovetail cutter."""
    return min(edge.lead_angle) < _SQUARE or max(edge.lead_angle) > _SQUARE + 1e-9


def _stacked(sums: dict[str, Array], terms: dict[str, tuple[Term, ...]]) -> dict[str, Array]:
    return {way: np.concatenate([t.sign * sums[f"{t.kind}_{t.weight}"] for t in of]) if of else np.zeros((0, 1))
            for way, of in terms.items()}


def ratio_nodes(teeth: int) -> Array:
    """Eccentricity over feed from none to where one tooth does all the work and more changes nothing."""
    alone = 1.0 if teeth == 1 else teeth / (1.0 - np.cos(2.0 * np.pi / teeth))
    return np.asarray(alone * (np.arange(_RATIOS) / (_RATIOS - 1)) ** 2, dtype=np.float64)


def shares(ratio: Array, nodes: Array) -> Array:
    """How much each node counts for each row, linear between nodes, shape (N, R)."""
    if len(nodes) == 1:
        return np.ones((ratio.size, 1))
    inside = np.minimum(ratio, nodes[-1])
    upper = np.clip(np.searchsorted(nodes, inside, side="left"), 1, len(nodes) - 1)
    share = (inside - nodes[upper - 1]) / (nodes[upper] - nodes[upper - 1])
    table = np.zeros((ratio.size, len(nodes)))
    rows = np.arange(ratio.size)
    table[rows, upper - 1], table[rows, upper] = 1.0 - share, share
    return table


def positions(edge: Edge, turn: bool) -> Array:
    """Positions of the cutter over a tooth pitch, or a whole turn, that show the peaks.

    Forces are smooth between the positions where an edge enters or leaves: those ends are taken, and between
    them steps small enough that a peak is missed by less than 1 in 1000 (with runout, 2 in 100).
    """
    pitch = 2.0 * np.pi / edge.teeth
    one = _between_marks(_marks(edge, pitch), 2.0 * _STEP if turn else _STEP)
    if turn:
        one = (one[None, :] + pitch * np.arange(edge.teeth)[:, None]).ravel()
    tips = np.mod(one[:, None, None] + pitch * np.arange(edge.teeth)[:, None], 2.0 * np.pi)
    start = np.asarray(edge.entry) + np.asarray(edge.lag_low)
    stop = np.asarray(edge.exit) + np.asarray(edge.lag_high)
    busy = np.any(np.mod(tips - start, 2.0 * np.pi) < stop - start, axis=(1, 2))
    idle = np.flatnonzero(~busy)[:1]  # one position out of the cut stands for all of them
    return np.asarray(np.concatenate([one[busy], one[idle]]), dtype=np.float64)


def _marks(edge: Edge, pitch: float) -> Array:
    entry, leave = np.asarray(edge.entry), np.asarray(edge.exit)
    low, high = np.asarray(edge.lag_low), np.asarray(edge.lag_high)
    marks = np.mod(np.concatenate([entry + low, leave + low, entry + high, leave + high]), pitch)
    sorted_marks = np.sort(np.concatenate([[0.0, pitch], marks]))
    apart = np.concatenate([[True], np.diff(sorted_marks) > (_NEAR if len(edge.entry) > 1 else 0.0)])
    return np.asarray(sorted_marks[apart], dtype=np.float64)


def _between_marks(ends: Array, step: float) -> Array:
    stretches = []
    for start, stop in pairwise(ends):
        nudge = (stop - start) * 1e-7  # just inside: a straight flute jumps at the end itself
        stretches.append(np.linspace(start + nudge, stop - nudge, 2 + int((stop - start) / step)))
    return np.concatenate(stretches)


def mean(edge: Edge, ratios: Array) -> dict[str, Array]:
    """Means over a turn of what `units` gives at a position, by ratio (R, 1); the helix does not alter them."""
    pieces = 8 if np.any(ratios > 0.0) or edge.slope != 0.0 else 1  # an offset cutter's chip has corners
    start, stop = np.asarray(edge.entry), np.asarray(edge.exit)
    width = (stop - start) / pieces
    ends = start[:, None] + width[:, None] * np.arange(pieces)
    angle = (ends[:, :, None] + width[:, None, None] * (_MEAN_T + 1.0) / 2.0).reshape(1, len(start), -1)
    share = width[:, None] * np.tile(_MEAN_W, pieces) * np.asarray(edge.length)[:, None] / (4.0 * np.pi)
    tooth = np.arange(edge.teeth)[:, None, None]
    sine, slices = np.sin(angle), np.arange(len(start))
    thick = chip(edge, slices, sine, tooth, ratios)                     # (R, teeth, S, G)
    held = share * np.asarray(edge.edge_share)[:, None]
    both = np.stack([thick * share, np.where(thick > _NO_CHIP, held, 0.0)]).sum(axis=2)
    return _weighted(edge, slices, sine, np.cos(angle), both.reshape(2, len(ratios), 1, *angle.shape[1:]))


def unit(edge: Edge, where: Array, ratio: float) -> dict[str, Array]:
    """What `units` gives at one ratio (A,)."""
    return {name: values[0] for name, values in units(edge, where, np.array([ratio])).items()}


def units(edge: Edge, where: Array, ratios: Array) -> dict[str, Array]:
    """Sums over the teeth of the integrals along the edge, by ratio (R,) at positions (A,) of the tip of tooth 1.

    A slice spans the angles from tip - lag_high to tip - lag_low; what of it lies between entry and exit cuts.
    """
    nodes, weights = _ALONE if len(edge.entry) == 1 else _AMONG
    low, high = np.asarray(edge.lag_low), np.asarray(edge.lag_high)
    tooth = np.arange(edge.teeth)
    tip = np.mod(where[:, None] + 2.0 * np.pi * tooth / edge.teeth, 2.0 * np.pi)
    turns = 2.0 * np.pi * np.arange(int(np.ceil(high.max() / (2.0 * np.pi))) + 1)
    ahead = (tip[:, :, None] + turns)[..., None]                       # (A, teeth, turns, 1)
    start = np.maximum(ahead - high, np.asarray(edge.entry))
    width = np.maximum(np.minimum(ahead - low, np.asarray(edge.exit)) - start, 0.0)
    here, of_tooth, slices = _in_cut(width)                            # (A, K) each: most teeth are out of the cut
    start, width = (np.take_along_axis(item.reshape(len(where), -1), here, axis=1)[..., None]
                    for item in (start, width))
    angle = start + width * (nodes + 1.0) / 2.0                        # (A, K, G)
    share = (np.asarray(edge.length) / (high - low))[slices][..., None] * width * weights / 2.0
    sine = np.sin(angle)
    thick = chip(edge, slices, sine, of_tooth[..., None], ratios)      # (R, A, K, G)
    held = share * np.asarray(edge.edge_share)[slices][..., None]
    both = np.stack([thick * share, np.where(thick > _NO_CHIP, held, 0.0)])
    return _weighted(edge, slices, sine, np.cos(angle), both)


def _in_cut(width: Array) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Of teeth, turns and slices those that cut at each position, as many for all as cut at any: where they stand
    among them, their tooth and their slice (A, K). Others fill the places of those that are fewer.
    """
    cuts = width.reshape(len(width), -1) > 0.0
    most = max(1, int(np.count_nonzero(cuts, axis=1).max(initial=0)))
    here = np.argsort(~cuts, axis=1, kind="stable")[:, :most]
    return here, here // (width.shape[2] * width.shape[3]), here % width.shape[3]


def _weighted(
    edge: Edge, slices: npt.NDArray[np.intp], sine: Array, cosine: Array, both: Array
) -> dict[str, Array]:
    """Chip and edge (2, R, A, ..., G) of slices (..., ) times every weight, summed over all but ratio and position:
    (R, A)."""
    lead, lean, radius = (np.asarray(of)[slices][..., None]
                          for of in (np.sin(edge.lead_angle), np.cos(edge.lead_angle), edge.radius))
    weights = {"cos": cosine, "sin": sine, "radius": radius,
               "lead": lead, "lead_sin": lead * sine, "lead_cos": lead * cosine}
    if _leans(edge):
        weights |= {"lean": lean, "lean_sin": lean * sine, "lean_cos": lean * cosine}
    places = len(sine)
    of = np.stack([np.broadcast_to(item, sine.shape).reshape(places, -1) for item in weights.values()], axis=-1)
    left = both.reshape(-1, places, of.shape[1]).transpose(1, 0, 2)     # (A, 2 R, K)
    sums = np.moveaxis(left @ of, 0, -1).reshape(2, -1, len(weights), places)
    return {f"{kind}_{name}": sums[i, :, j] for i, kind in enumerate(("chip", "edge"))
            for j, name in enumerate(weights)}


def chip(
    edge: Edge, slices: npt.NDArray[np.intp], sine: Array, tooth: npt.NDArray[np.intp], ratios: Array
) -> Array:
    """Chip thickness over feed per tooth by ratio: what the deepest of the teeth that went before has left."""
    lead, lean = (of[slices][..., None] for of in (np.sin(edge.lead_angle), np.cos(edge.lead_angle)))
    fresh = np.cos(edge.slope) * lead * sine + np.sin(edge.slope) * lean
    fresh = fresh + 0.0 * tooth
    if not np.any(ratios):
        return np.asarray(np.broadcast_to(np.maximum(fresh, 0.0), (len(ratios), *fresh.shape)), dtype=np.float64)
    step = 2.0 * np.pi / edge.teeth
    ratio = ratios.reshape(-1, *np.ones(fresh.ndim, dtype=int))
    least = np.full((len(ratios), *fresh.shape), np.inf)
    # Teeth are numbered ahead in the sense of rotation: the tooth that went before has the next number.
    for back in range(1, edge.teeth + 1):
        offset = lead * (np.cos(step * tooth) - np.cos(step * (tooth + back)))
        np.minimum(least, back * fresh + ratio * offset, out=least)
    return np.maximum(least, 0.0, out=least)
