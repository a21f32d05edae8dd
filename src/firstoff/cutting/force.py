"""Forces of milling by an affine law: an edge force and a cutting force, both along the engaged edge.

Axes: x along the feed, y square to it, z along the tool; forces in x and y act on the tool. The integrals along the
helix are made once for an engagement; the rows of the coefficients come in by a matrix product.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive, whole_teeth
from firstoff.errors import OutOfRange

#: Points of the Gauss rule along the engaged part of an edge: exact to 1e-8 for arcs up to pi.
_GAUSS_T, _GAUSS_W = np.polynomial.legendre.leggauss(8)
#: Lag that stands for a straight flute; its only effect is rounding, 1e-7 of the force.
_STRAIGHT = 1e-9
#: Gauss rule over the arc of engagement, for the means.
_MEAN_T, _MEAN_W = np.polynomial.legendre.leggauss(24)
#: Step between positions of the cutter at which peaks are sought [rad]; over a whole turn twice as far.
_STEP = 0.035
#: Ratios of eccentricity to feed between which the chip thickness is interpolated.
_RATIOS = 13
#: Eccentricity over feed below which a cutter runs even.
_EVEN = 1e-12


#: Which coefficient (chip t, edge t, chip r, edge r, chip a, edge a) meets which integral, with what sign.
_TERMS: dict[str, list[tuple[int, str, float]]] = {
    "x": [(0, "chip_cos", -1.0), (1, "edge_cos", -1.0), (2, "chip_sin", -1.0), (3, "edge_sin", -1.0)],
    "y": [(0, "chip_sin", 1.0), (1, "edge_sin", 1.0), (2, "chip_cos", -1.0), (3, "edge_cos", -1.0)],
    "z": [(4, "chip", 1.0), (5, "edge", 1.0)],
    "torque": [(0, "chip", 1.0), (1, "edge", 1.0)],
}


class Coefficients(NamedTuple):
    """The affine force law by rows: force on a unit of edge = cutting x chip thickness + edge.

    Fields:
        tangential: K_tc [N/m2], shape (N,).
        radial: K_rc [N/m2], shape (N,).
        axial: K_ac [N/m2], shape (N,).
        tangential_edge: K_te [N/m], shape (N,).
        radial_edge: K_re [N/m], shape (N,).
        axial_edge: K_ae [N/m], shape (N,).
    """

    tangential: Num
    radial: Num
    axial: Num
    tangential_edge: Num
    radial_edge: Num
    axial_edge: Num


class Engagement(NamedTuple):
    """One engagement of a cylindrical cutter: the geometry that all rows share.

    Fields:
        diameter: D [m].
        teeth: z, number of teeth [1].
        helix: helix angle [rad].
        depth_of_cut: a_p [m].
        entry: phi_st, from 0 [rad].
        exit: phi_ex, up to 2 pi [rad].
    """

    diameter: float
    teeth: int
    helix: float
    depth_of_cut: float
    entry: float
    exit: float


class Forces(NamedTuple):
    """Mean and peak over a turn, by row.

    Fields:
        mean_x: mean force along the feed [N], shape (N,).
        mean_y: mean force square to the feed [N], shape (N,).
        mean_z: mean force along the tool; a right-hand helix pulls the tool out of its collet [N], shape (N,).
        peak_x: largest size of the force along the feed [N], shape (N,).
        peak_y: largest size of the force square to the feed [N], shape (N,).
        peak_z: largest force along the tool [N], shape (N,).
        peak_side: largest resultant of x and y [N], shape (N,).
        mean_torque: mean torque [N m], shape (N,).
        peak_torque: largest torque [N m], shape (N,).
    """

    mean_x: Array
    mean_y: Array
    mean_z: Array
    peak_x: Array
    peak_y: Array
    peak_z: Array
    peak_side: Array
    mean_torque: Array
    peak_torque: Array


class Affine(NamedTuple):
    """An affine force law on a unit of edge.

    Fields:
        cutting: slope over the chip thickness [N/m2], shape (N,).
        edge: force at no chip thickness [N/m], shape (N,).
    """

    cutting: Array
    edge: Array


class _Unit(NamedTuple):
    """Integrals along the engaged edges at A positions, for chips in units of the feed per tooth."""

    chip_cos: Array
    chip_sin: Array
    chip: Array
    edge_cos: Array
    edge_sin: Array
    edge: Array


def specific_force(kc11: Num, exponent: Num, chip: Num, reference_chip: Num) -> Array:
    """Specific cutting force by the power law: kc = kc1.1 (h / h_0)^-mc.

    Args:
        kc11: specific force at the reference thickness [N/m2], shape (N,).
        exponent: mc [1], shape (N,).
        chip: h, thickness of the chip [m].
        reference_chip: h_0, to which kc1.1 refers: 1 mm in the tables [m].

    Returns:
        kc [N/m2], shape (N,).

    Raises:
        OutOfRange: if a thickness or kc1.1 is not above 0.

    Range: chips of 0.05 to 2 mm, sharp tool of about 6 degrees rake; thinner chips are dominated by the edge.
    Source: klocke2011, Kienzle and Victor tables; vdi3206.
    """
    ratio = positive("chip thickness", chip) / positive("reference chip thickness", reference_chip)
    return np.asarray(positive("kc1.1", kc11) * ratio ** -finite("exponent mc", exponent), dtype=np.float64)


def affine_law(kc11: Num, exponent: Num, chip_low: Num, chip_high: Num, reference_chip: Num) -> Affine:
    """Affine law nearest to the power law over a span of chip thickness (least squares, uniform weight).

    Args:
        kc11: specific force at the reference thickness [N/m2], shape (N,).
        exponent: mc, from 0 to below 1 [1], shape (N,).
        chip_low: least thickness of the chip [m].
        chip_high: largest thickness of the chip [m].
        reference_chip: h_0, to which kc1.1 refers: 1 mm in the tables [m].

    Returns:
        Affine, slope [N/m2] and edge force [N/m], shape (N,).

    Raises:
        OutOfRange: if the span is empty or negative, or mc outside 0 ... 1.

    Range: inside the span; the largest departure grows with its width (3 % for 0.02 to 0.1 mm at mc 0.25).
    Source: own, least squares in closed form on the law of klocke2011.
    """
    low, high = not_negative("least chip thickness", chip_low), positive("largest chip thickness", chip_high)
    if np.any(high <= low):
        span = f"{float(np.max(low)):.3g} ... {float(np.min(high)):.3g} m"
        raise OutOfRange(f"span of chip thickness {span} is empty", right="the largest above the least")
    power = 1.0 - between("exponent mc", exponent, 0.0, 0.99, right="from 0 to below 1")
    reference = positive("reference chip thickness", reference_chip)
    lowest = low / high  # in units of the largest chip, so that no power of a length appears
    width, first = 1.0 - lowest, (1.0 - lowest**2) / 2.0
    second = (1.0 - lowest**3) / 3.0
    value = (1.0 - lowest ** (power + 1.0)) / (power + 1.0)
    moment = (1.0 - lowest ** (power + 2.0)) / (power + 2.0)
    slope = (width * moment - first * value) / (width * second - first**2)
    offset = (value - slope * first) / width
    specific = positive("kc1.1", kc11) * (high / reference) ** (power - 1.0)
    return Affine(specific * slope, specific * offset * high)


def milling_forces(
    coefficients: Coefficients, engagement: Engagement, feed_per_tooth: Num, eccentricity: Num
) -> Forces:
    """Mean and peak forces and torque of one engagement, by row.

    Args:
        coefficients: the force law by rows.
        engagement: cutter and cut that all rows share.
        feed_per_tooth: f_z [m], scalar or shape (N,).
        eccentricity: offset of the cutter's axis from the spindle's, half of what an indicator shows in a
            turn [m], scalar or shape (N,). Tooth 1 is taken to stand out most.

    Returns:
        Forces, each in [N] or [N m], shape (N,).

    Raises:
        OutOfRange: if feed, depth or eccentricity is negative, or exit is not above entry.

    Range: cylindrical cutter, circular tooth path, rigid tool, affine law inside its span of chips; the
        offset is parallel and its turning along the helix is left out (depth below the diameter).
    Source: altintas2012, ch. 2 (forces of a helical end mill); kline1983 for the chip of an offset cutter.
    """
    check_engagement(engagement)
    feed, offset = positive("feed per tooth", feed_per_tooth), not_negative("eccentricity", eccentricity)
    rows = np.broadcast_shapes(*(np.shape(item) for item in coefficients), feed.shape, offset.shape)
    law = Coefficients(*(np.broadcast_to(finite("coefficient", item), rows).ravel() for item in coefficients))
    feeds = np.broadcast_to(feed, rows).ravel()
    ratio = np.broadcast_to(offset / feed, rows).ravel()
    found = _turn(law, engagement, feeds, ratio)
    return Forces(*(line.reshape(rows) for line in found))


def normal_force(
    coefficients: Coefficients, engagement: Engagement, feed_per_tooth: Num, positions: Num
) -> Array:
    """Force square to the feed at given positions of the cutter, by row, without runout.

    Args:
        coefficients: the force law by rows.
        engagement: cutter and cut that all rows share.
        feed_per_tooth: f_z [m], scalar or shape (N,).
        positions: angle of the tip of tooth 1, from +y [rad], shape (A,).

    Returns:
        F_y on the tool [N], shape (N, A).

    Raises:
        OutOfRange: if the feed is not above 0 or the engagement is impossible.

    Range: as milling_forces.
    Source: altintas2012, ch. 2 (forces of a helical end mill).
    """
    check_engagement(engagement)
    feed = positive("feed per tooth", feed_per_tooth)
    unit = _unit_integrals(engagement, np.atleast_1d(finite("positions", positions)), 0.0)
    tangential, radial = finite("K_tc", coefficients.tangential), finite("K_rc", coefficients.radial)
    edge_t, edge_r = finite("K_te", coefficients.tangential_edge), finite("K_re", coefficients.radial_edge)
    columns = np.stack(np.broadcast_arrays(feed * tangential, edge_t, feed * radial, edge_r), axis=-1)
    table = np.stack([unit.chip_sin, unit.edge_sin, -unit.chip_cos, -unit.edge_cos])
    return np.asarray(columns @ table, dtype=np.float64)


def check_engagement(engagement: Engagement) -> None:
    """Refuses an engagement that cannot be.

    Args:
        engagement: cutter and cut.

    Returns:
        Nothing.

    Raises:
        OutOfRange: if a size is not above 0, the helix not within 0 ... 1.4 rad, or exit not above entry.

    Range: any.
    Source: own, what the integrals along the edge need.
    """
    positive("diameter", engagement.diameter)
    whole_teeth(engagement.teeth)
    positive("depth of cut", engagement.depth_of_cut)
    between("helix", engagement.helix, 0.0, 1.4, right="from 0 to 1.4 rad (80 degrees)")
    entry = between("angle of entry", engagement.entry, 0.0, 2.0 * np.pi, right="from 0 to 2 pi")
    leave = between("angle of exit", engagement.exit, 0.0, 2.0 * np.pi + 1e-12, right="from 0 to 2 pi")
    if leave <= entry:
        raise OutOfRange(f"angle of exit {float(leave):.4g} rad is not above entry {float(entry):.4g} rad",
                         right="a width of cut above 0")


class _Tables(NamedTuple):
    """Integrals of one engagement at its positions, for every node of eccentricity over feed, ready to multiply."""

    nodes: Array                    # eccentricity over feed (R,)
    peaks: dict[str, Array]         # by kind (terms x R, A)
    means: dict[str, Array]         # by kind (terms x R, 1)


@lru_cache(maxsize=512)
def _tables(engagement: Engagement, runout: bool) -> _Tables:
    """The tables of an engagement; they depend on neither feed nor force law, and are looked up often."""
    nodes = _ratio_nodes(engagement.teeth) if runout else np.zeros(1)
    positions = _positions(engagement, turn=runout)
    units = [_unit_integrals(engagement, positions, float(ratio)) for ratio in nodes]
    means = [_mean_integrals(engagement, float(ratio)) for ratio in nodes]
    return _Tables(nodes, _stacked(units), _stacked(means))


def _stacked(units: list[_Unit]) -> dict[str, Array]:
    return {
        kind: np.concatenate([sign * np.stack([getattr(unit, name) for unit in units]) for _, name, sign in terms])
        for kind, terms in _TERMS.items()
    }


def _ratio_nodes(teeth: int) -> Array:
    """Eccentricity over feed from none to where one tooth does all the work and more changes nothing."""
    alone = 1.0 if teeth == 1 else teeth / (1.0 - np.cos(2.0 * np.pi / teeth))
    return np.asarray(alone * (np.arange(_RATIOS) / (_RATIOS - 1)) ** 2, dtype=np.float64)


def _shares(ratio: Array, nodes: Array) -> Array:
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


def _turn(law: Coefficients, engagement: Engagement, feed: Array, ratio: Array) -> Array:
    """The fields of Forces, stacked, by row."""
    tables = _tables(engagement, bool(ratio.max() > _EVEN))
    shares = _shares(ratio, tables.nodes)
    k = np.stack(np.broadcast_arrays(*(np.asarray(item) for item in law)))
    chip_t, chip_r, chip_a = k[:3] * feed
    columns = [item[:, None] * shares for item in (chip_t, k[3], chip_r, k[4], chip_a, k[5])]

    def over(table: dict[str, Array], kind: str) -> Array:
        left = np.concatenate([columns[number] for number, _, _ in _TERMS[kind]], axis=1)
        return np.asarray((left @ table[kind]).T, dtype=np.float64)

    force_x, force_y, force_z = (over(tables.peaks, kind) for kind in ("x", "y", "z"))
    radius = engagement.diameter / 2.0
    side = np.sqrt(np.max(force_x * force_x + force_y * force_y, axis=0))
    return np.stack([
        over(tables.means, "x")[0], over(tables.means, "y")[0], over(tables.means, "z")[0],
        _size(force_x), _size(force_y), _size(force_z), side,
        over(tables.means, "torque")[0] * radius, _size(over(tables.peaks, "torque")) * radius,
    ])


def _size(force: Array) -> Array:
    """Largest size over the positions, with no copy of the whole."""
    return np.asarray(np.maximum(force.max(axis=0), -force.min(axis=0)), dtype=np.float64)


def _lag(engagement: Engagement) -> float:
    """Angle by which the top of an edge lies behind its tip."""
    lag = 2.0 * np.tan(engagement.helix) * engagement.depth_of_cut / engagement.diameter
    return max(float(lag), _STRAIGHT)


def _positions(engagement: Engagement, turn: bool) -> Array:
    """Positions of the cutter over a tooth pitch, or a whole turn, that show the peaks.

    Forces are smooth between the positions where an edge enters or leaves: those ends are taken, and between
    them steps small enough that a peak is missed by less than 1 in 1000 (with runout, 2 in 100).
    """
    pitch = 2.0 * np.pi / engagement.teeth
    lag = _lag(engagement)
    marks = np.mod([engagement.entry, engagement.exit, engagement.entry + lag, engagement.exit + lag], pitch)
    ends = np.unique(np.concatenate([[0.0, pitch], marks]))
    stretches = []
    for start, stop in pairwise(ends):
        nudge = (stop - start) * 1e-7  # just inside: a straight flute jumps at the end itself
        count = 2 + int((stop - start) / (2.0 * _STEP if turn else _STEP))
        stretches.append(np.linspace(start + nudge, stop - nudge, count))
    one = np.concatenate(stretches)
    if turn:
        one = (one[None, :] + pitch * np.arange(engagement.teeth)[:, None]).ravel()
    tips = np.mod(one[:, None] + pitch * np.arange(engagement.teeth), 2.0 * np.pi)
    since_entry = np.mod(tips - engagement.entry, 2.0 * np.pi)
    busy = np.any(since_entry < engagement.exit - engagement.entry + lag, axis=1)
    idle = np.flatnonzero(~busy)[:1]  # one position out of the cut stands for all of them
    return np.asarray(np.concatenate([one[busy], one[idle]]), dtype=np.float64)


def _mean_integrals(engagement: Engagement, ratio: float) -> _Unit:
    """Means over a turn of what _unit_integrals gives at a position; the helix does not alter them."""
    pieces = 8 if ratio > 0.0 else 1  # an offset cutter's chip has corners
    ends = np.linspace(engagement.entry, engagement.exit, pieces + 1)
    width = ends[1] - ends[0]
    angle = (ends[:-1, None] + width * (_MEAN_T + 1.0) / 2.0).ravel()
    share = np.tile(_MEAN_W, pieces) * width * engagement.depth_of_cut / (4.0 * np.pi)
    sine, cosine = np.sin(angle), np.cos(angle)
    chip = _chip(sine, np.arange(engagement.teeth)[:, None], engagement.teeth, ratio)
    edge = (share * np.where(chip > 0.0, 1.0, 0.0) if ratio > 0.0 else share * np.ones_like(chip)).sum(axis=0)
    chip = (chip * share).sum(axis=0)
    sums = (chip * cosine, chip * sine, chip, edge * cosine, edge * sine, edge)
    return _Unit(*(np.atleast_1d(item.sum()) for item in sums))


def _unit_integrals(engagement: Engagement, positions: Array, ratio: float) -> _Unit:
    """Sums over the teeth of the integrals along the edge, at positions (A,) of the tip of tooth 1.

    A tooth's edge spans the angles from tip - lag to tip; what of it lies between entry and exit cuts.
    """
    lag, teeth = _lag(engagement), engagement.teeth
    tooth = np.arange(teeth)
    tip = np.mod(positions[:, None] + 2.0 * np.pi * tooth / teeth, 2.0 * np.pi)
    turns = 2.0 * np.pi * np.arange(int(np.ceil(lag / (2.0 * np.pi))) + 1)
    ahead = tip[:, :, None] + turns
    start = np.maximum(ahead - lag, engagement.entry)
    width = np.maximum(np.minimum(ahead, engagement.exit) - start, 0.0)
    angle = start[..., None] + width[..., None] * (_GAUSS_T + 1.0) / 2.0
    length = (engagement.depth_of_cut / lag) * width[..., None] * _GAUSS_W / 2.0
    sine, cosine = np.sin(angle), np.cos(angle)
    chip = _chip(sine, tooth[:, None, None], teeth, ratio)
    edge = length * (chip > 0.0) if ratio > 0.0 else length
    chip = chip * length
    every = (1, 2, 3)
    return _Unit((chip * cosine).sum(every), (chip * sine).sum(every), chip.sum(every),
                 (edge * cosine).sum(every), (edge * sine).sum(every), edge.sum(every))


def _chip(sine: Array, tooth: npt.NDArray[np.intp], teeth: int, ratio: float) -> Array:
    """Chip thickness over feed per tooth: what the deepest of the teeth that went before has left."""
    if ratio == 0.0:
        return sine + 0.0 * tooth
    step = 2.0 * np.pi / teeth
    # Teeth are numbered ahead in the sense of rotation: the tooth that went before has the next number.
    left = [back * sine + ratio * (np.cos(step * tooth) - np.cos(step * (tooth + back)))
            for back in range(1, teeth + 1)]
    return np.asarray(np.maximum(np.minimum.reduce(left), 0.0), dtype=np.float64)
