"""Force laws turned into each other: the power law of tables, and the straight line that rows multiply quickly."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive
from firstoff.errors import OutOfRange

#: Chips at which the departure of the line from the power law is looked for.
_LOOKS = 201
#: An exponent of a power below this off -1 is integrated as a logarithm.
_LOG = 1e-9


class Line(NamedTuple):
    """A straight force law on a unit of edge, and how far it departs from the power law.

    Fields:
        cutting: slope over the chip thickness [N/m2], shape (N,).
        edge: force at no chip thickness [N/m], shape (N,).
        departure: largest relative departure inside the span [1], shape (N,).
    """

    cutting: Array
    edge: Array
    departure: Array


class PowerLaw(NamedTuple):
    """Specific cutting force kc = kc1.1 (h / h_0)^-mc.

    Fields:
        kc11: at the reference thickness [N/m2], shape (N,).
        exponent: mc [1], shape (N,).
    """

    kc11: Array
    exponent: Array


class ThinChips(NamedTuple):
    """What a straight force law gives too much of, where chips are thinner than its span.

    Fields:
        feed_per_tooth: f_z, along the way that the tool goes [m].
        cutting: slope of the line [N/m2].
        edge: its force at no chip thickness [N/m].
        floor: least chip that the edge takes off [m].
        chip_low: least thickness of the chip of the line, above 0 [m].
        chip_high: largest thickness of the chip of the line [m].
    """

    feed_per_tooth: float
    cutting: float
    edge: float
    floor: float
    chip_low: float
    chip_high: float


def share_of_edge(chip: Num, thin: ThinChips) -> Array:
    """Share of a line's edge force that is left at chips thinner than its span, by the power law through its ends.

    An edge that is given less than the least chip slides, turn by turn, until that much stands before it, and then
    cuts: its force is the mean of all between, as its parts do so at different times.

    Args:
        chip: thickness of the chip; 0 where the edge is out of the work [m].
        thin: the line, its span and the floor.

    Returns:
        Share [1], shape of chip: 1 inside the span, 0 out of the work.

    Raises:
        OutOfRange: if a thickness is negative or the span is empty, or the line not one of power_of_line.

    Range: chips below the span of the line; the tables of the power law are carried on to them.
    Source: klocke2011, the power law; wojciechowski2022 for the floor, cheng2018 for that of an end.
    """
    thick = not_negative("chip thickness", chip)
    floor, edge = not_negative("least chip", thin.floor), not_negative("edge force", thin.edge)
    power = power_of_line(thin.cutting, edge, thin.chip_low, thin.chip_high, thin.chip_high).exponent
    cut = np.minimum(thick, thin.chip_low) / thin.chip_low
    stands = np.maximum(np.minimum(floor, thin.chip_low) / thin.chip_low, cut)       # before it cuts
    # mean of the power law from what one turn brings to what is cut
    slides = stands > cut
    mean = (stands ** (2.0 - power) - cut ** (2.0 - power)) / np.where(slides, (2.0 - power) * (stands - cut), 1.0)
    force = (thin.cutting * thin.chip_low + edge) * np.where(slides, mean, cut ** (1.0 - power))
    left = (force - thin.cutting * cut * thin.chip_low) / np.where(edge > 0.0, edge, 1.0)
    share = np.where(edge > 0.0, np.clip(left, 0.0, 1.0), 1.0)
    return np.asarray(np.where(thick > 0.0, share, 0.0), dtype=np.float64)


def line_of_power(kc11: Num, exponent: Num, chip_low: Num, chip_high: Num, reference_chip: Num) -> Line:
    """Straight line of least relative error to the power law over a span of chips.

    Args:
        kc11: specific force at the reference thickness [N/m2], shape (N,).
        exponent: mc, from 0 to below 1 [1], shape (N,).
        chip_low: least thickness of the chip, above 0 [m].
        chip_high: largest thickness of the chip [m].
        reference_chip: h_0, to which kc1.1 refers: 1 mm in the tables [m].

    Returns:
        Line, slope [N/m2], edge force [N/m] and departure [1], shape (N,).

    Raises:
        OutOfRange: if the span is empty, kc1.1 not above 0, or mc outside 0 ... 0.99.

    Range: inside the span: 0.01 to 0.1 mm at mc 0.25 departs by 13 %.
    Source: own, weighted least squares in closed form on the law of klocke2011.
    """
    low, high = _span(chip_low, chip_high)
    power = between("exponent mc", exponent, 0.0, 0.99, right="from 0 to below 1")
    reference, start = positive("reference chip thickness", reference_chip), low / high
    # in units of the largest chip the law is h^(1 - mc); errors are weighed by its inverse square
    square, mixed, one = (_power_integral(2.0 * power - n, start) for n in (0.0, 1.0, 2.0))
    right, left = _power_integral(power, start), _power_integral(power - 1.0, start)
    slope = (right * one - left * mixed) / (square * one - mixed**2)
    offset = (left - slope * mixed) / one
    specific = positive("kc1.1", kc11) * (high / reference) ** -power
    return Line(specific * slope, specific * offset * high, _departure(slope, offset, power, start))


def growth_of_power(exponent: Num, chip: Num, chip_low: Num, chip_high: Num) -> Array:
    """How steeply the force by the power law grows with the chip, over the slope of its straight line.

    Args:
        exponent: mc, from 0 to below 1 [1], shape (N,).
        chip: thickness of the chip [m]; outside of the span the end of the span counts.
        chip_low: least thickness of the chip of the line [m].
        chip_high: largest thickness of the chip of the line [m].

    Returns:
        Ratio [1], shape (N,): above 1 for thin chips, below 1 for thick ones.

    Raises:
        OutOfRange: as line_of_power.

    Range: inside the span. Below 0.05 mm the tables of the power law are carried on, and a blunt edge ploughs.
    Source: klocke2011, the power law; own, its slope at a chip over that of line_of_power.
    """
    low, high = _span(chip_low, chip_high)
    power = between("exponent mc", exponent, 0.0, 0.99, right="from 0 to below 1")
    share = np.minimum(np.maximum(finite("chip thickness", chip), low), high) / high
    return np.asarray((1.0 - power) * share ** -power / line_of_power(1.0, power, low, high, high).cutting)


def _power_integral(power: Array, start: Array) -> Array:
    """Integral of x^power from start to 1."""
    flat = np.abs(power + 1.0) < _LOG
    raised = np.where(flat, 1.0, power + 1.0)
    return np.asarray(np.where(flat, -np.log(start), (1.0 - start**raised) / raised))


def _departure(slope: Array, offset: Array, power: Array, start: Array) -> Array:
    chips = start[..., None] + (1.0 - start[..., None]) * np.linspace(0.0, 1.0, _LOOKS)
    line = slope[..., None] * chips + offset[..., None]
    return np.asarray(np.abs(line / chips ** (1.0 - power[..., None]) - 1.0).max(axis=-1))


def power_of_line(cutting: Num, edge: Num, chip_low: Num, chip_high: Num, reference_chip: Num) -> PowerLaw:
    """Power law through the two ends of a straight line.

    Args:
        cutting: slope over the chip thickness [N/m2], shape (N,).
        edge: force at no chip thickness [N/m], shape (N,).
        chip_low: least thickness of the chip, above 0 [m].
        chip_high: largest thickness of the chip [m].
        reference_chip: h_0, to which kc1.1 is to refer [m].

    Returns:
        PowerLaw, kc1.1 [N/m2] and mc [1], shape (N,).

    Raises:
        OutOfRange: if the span is empty, the slope not above 0 or the edge force negative.

    Range: inside the span; outside it the two laws part quickly.
    Source: own, a power through two points.
    """
    low, high = _span(chip_low, chip_high)
    slope, offset = positive("slope", cutting), not_negative("edge force", edge)
    first, last = slope + offset / low, slope + offset / high
    power = np.log(first / last) / np.log(high / low)
    return PowerLaw(np.asarray(last * (high / positive("reference chip thickness", reference_chip)) ** power), power)


def _span(low: Num, high: Num) -> tuple[Array, Array]:
    least, most = positive("least chip thickness", low), positive("largest chip thickness", high)
    if np.any(most <= least):
        span = f"{float(np.max(least)):.3g} ... {float(np.min(most)):.3g} m"
        raise OutOfRange(f"span of chip thickness {span} is empty",
                         right="the largest above the least")
    return least, most
