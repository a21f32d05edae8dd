"""Forces of milling by an affine law: an edge force and a cutting force, both along the engaged edge.

Axes: x along the feed, y square to it, z along the tool; forces in x and y act on the tool. The integrals along the
helix are made once for an engagement; the rows of the coefficients come in by a matrix product.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstoff.cutting import _integrals
from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive, whole_teeth
from firstoff.cutting.edge import STRAIGHT, Edge
from firstoff.errors import OutOfRange

#: Eccentricity over feed below which a cutter runs even.
_EVEN = 1e-12


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


class Instant(NamedTuple):
    """Forces and torque at positions of the cutter, by row.

    Fields:
        x: along the feed [N], shape (N, A).
        y: square to the feed [N], shape (N, A).
        z: along the tool, positive out of its collet [N], shape (N, A).
        torque: about the tool's axis [N m], shape (N, A).
    """

    x: Array
    y: Array
    z: Array
    torque: Array


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


def milling_forces(
    coefficients: Coefficients, engagement: Engagement | Edge, feed_per_tooth: Num, eccentricity: Num
) -> Forces:
    """Mean and peak forces and torque of one engagement, by row.

    Args:
        coefficients: the force law by rows.
        engagement: cutter and cut that all rows share: of a cylinder, or of any outline in slices.
        feed_per_tooth: f_z, along the way that the tool goes [m], scalar or shape (N,).
        eccentricity: offset of the cutter's axis from the spindle's, half of what an indicator shows in a
            turn [m], scalar or shape (N,). Tooth 1 is taken to stand out most.

    Returns:
        Forces, each in [N] or [N m], shape (N,).

    Raises:
        OutOfRange: if feed, depth or eccentricity is negative, or exit is not above entry.

    Range: circular tooth path, rigid tool, affine law inside its span of chips; the offset is parallel and its
        turning along the helix is left out (depth below the diameter); the end of a cutter cuts like its side.
    Source: altintas2012, ch. 2 (forces of a helical end mill); engin2001 for any outline; kline1983 for the chip
        of an offset cutter.
    """
    turn, rows = _by_row(coefficients, engagement, feed_per_tooth, eccentricity)
    return Forces(*(line.reshape(rows) for line in turn.forces()))


def mean_axial_force(
    coefficients: Coefficients, engagement: Engagement | Edge, feed_per_tooth: Num, eccentricity: Num
) -> Array:
    """Mean force along the tool, as `milling_forces` has it, without the work for all else.

    Args:
        coefficients: the force law by rows.
        engagement: cutter and cut that all rows share.
        feed_per_tooth: f_z, along the way that the tool goes [m], scalar or shape (N,).
        eccentricity: offset of the cutter's axis from the spindle's [m], scalar or shape (N,).

    Returns:
        Force; a right-hand helix pulls the tool out of its collet [N], shape (N,).

    Raises:
        OutOfRange: as milling_forces.

    Range: as milling_forces.
    Source: altintas2012, ch. 2 (forces of a helical end mill).
    """
    turn, rows = _by_row(coefficients, engagement, feed_per_tooth, eccentricity)
    return np.asarray(turn.over(turn.made.means, "z")[0].reshape(rows))


def normal_force(
    coefficients: Coefficients, engagement: Engagement | Edge, feed_per_tooth: Num, positions: Num
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
    return forces_at(coefficients, engagement, feed_per_tooth, positions).y


def forces_at(
    coefficients: Coefficients, engagement: Engagement | Edge, feed_per_tooth: Num, positions: Num
) -> Instant:
    """Forces and torque at given positions of the cutter, by row, without runout.

    Args:
        coefficients: the force law by rows.
        engagement: cutter and cut that all rows share.
        feed_per_tooth: f_z [m], scalar or shape (N,).
        positions: angle of the tip of tooth 1, from +y [rad], shape (A,).

    Returns:
        Instant, each in [N] or [N m], shape (N, A).

    Raises:
        OutOfRange: if the feed is not above 0 or the engagement is impossible.

    Range: as milling_forces.
    Source: altintas2012, ch. 2 (forces of a helical end mill).
    """
    edge, feed = as_edge(engagement), positive("feed per tooth", feed_per_tooth)
    unit = _integrals.unit(edge, np.atleast_1d(finite("positions", positions)), 0.0)
    law = [finite("coefficient", item) for item in coefficients]
    k = [*(item * feed for item in law[:3]), *law[3:]]
    found = {}
    for way, terms in _integrals.terms_of(edge).items():
        columns = np.stack(np.broadcast_arrays(*(k[t.number] for t in terms)), axis=-1)
        found[way] = columns @ np.stack([t.sign * unit[f"{t.kind}_{t.weight}"] for t in terms])
    return Instant(**found)


def as_edge(engagement: Engagement | Edge) -> Edge:
    """The engagement as slices of the edge: a cylinder is one.

    Args:
        engagement: cutter and cut.

    Returns:
        Edge, its lengths [m] and angles [rad].

    Raises:
        OutOfRange: as check_engagement.

    Range: any.
    Source: own, the cylinder as one slice.
    """
    if isinstance(engagement, Edge):
        return engagement
    check_engagement(engagement)
    depth, radius = float(engagement.depth_of_cut), float(engagement.diameter) / 2.0
    lag = max(float(np.tan(engagement.helix)) * depth / radius, STRAIGHT)
    return Edge(int(engagement.teeth), 0.0, (0.0,), (depth,), (radius,), (np.pi / 2.0,), (depth,), (0.0,), (lag,),
                (float(engagement.entry),), (float(engagement.exit),), (1.0,))


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


class _Turn(NamedTuple):
    """One turn of a cutter: what it comes to for a unit of each coefficient, and the coefficients by row."""

    made: _integrals.Tables
    columns: list[Array]

    def over(self, table: dict[str, Array], way: str) -> Array:
        """Forces one way, shape (A, N), at the positions of a table."""
        left = np.concatenate([self.columns[term.number] for term in self.made.terms[way]], axis=1)
        return np.asarray((left @ table[way]).T, dtype=np.float64)

    def forces(self) -> Array:
        """The fields of Forces, stacked, by row."""
        means, peaks = self.made.means, self.made.peaks
        force_x, force_y, force_z = (self.over(peaks, way) for way in ("x", "y", "z"))
        side = np.sqrt(np.max(force_x * force_x + force_y * force_y, axis=0))
        return np.stack([
            self.over(means, "x")[0], self.over(means, "y")[0], self.over(means, "z")[0],
            _size(force_x), _size(force_y), _size(force_z), side,
            self.over(means, "torque")[0], _size(self.over(peaks, "torque")),
        ])


def _by_row(
    coefficients: Coefficients, engagement: Engagement | Edge, feed_per_tooth: Num, eccentricity: Num
) -> tuple[_Turn, tuple[int, ...]]:
    """A turn with all that varies by row, flat, and the shape of the rows."""
    edge = as_edge(engagement)
    feed, offset = positive("feed per tooth", feed_per_tooth), not_negative("eccentricity", eccentricity)
    rows = np.broadcast_shapes(*(np.shape(item) for item in coefficients), feed.shape, offset.shape)
    law = [np.broadcast_to(finite("coefficient", item), rows).ravel() for item in coefficients]
    feeds, ratio = np.broadcast_to(feed, rows).ravel(), np.broadcast_to(offset / feed, rows).ravel()
    made = _integrals.tables(edge, bool(ratio.max() > _EVEN))
    shares = _integrals.shares(ratio, made.nodes)
    k = [*(item * feeds for item in law[:3]), *law[3:]]
    return _Turn(made, [item[:, None] * shares for item in k]), rows


def _size(force: Array) -> Array:
    """Largest size over the positions, with no copy of the whole."""
    return np.asarray(np.maximum(force.max(axis=0), -force.min(axis=0)), dtype=np.float64)
