"""Heat: how hot edge and chip become, and how much of the heat stays in the work.

All rises are above the temperature of the shop. One tooth, taken as cutting steadily: a contact of tenths of a
millimetre is warm in a fraction of a millisecond, sooner than a tooth leaves the cut.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive
from firstoff.cutting.orthogonal import shear_angle
from firstoff.errors import OutOfRange

#: Mean over a band of the rise under an even heat that the metal carries away, in units of q sqrt(K a / v) / k.
_BAND = 4.0 / (3.0 * np.sqrt(np.pi))
#: The factor of the source that shares the heat of the shear plane between chip and work.
_SHEAR = 1.328


class Temperatures(NamedTuple):
    """Temperatures of one tooth at work.

    Fields:
        work_share: share of the heat of shearing that goes into the work [1].
        chip_share: share of the heat of friction that goes into the chip, the rest goes into the tool; below 0 where
            the tool takes heat of shearing as well [1].
        shear_rise: of the metal that has passed the shear plane [K].
        interface_rise: mean, where chip and tool touch [K].
        chip_rise: mean, of the chip when it leaves the tool [K].
    """

    work_share: Array
    chip_share: Array
    shear_rise: Array
    interface_rise: Array
    chip_rise: Array


class Solid(NamedTuple):
    """What a material does with heat.

    Fields:
        conductivity: k [W/(m K)].
        heat_capacity: rho c, heat that a unit of volume takes [J/(m3 K)].
    """

    conductivity: Num
    heat_capacity: Num


class Chip(NamedTuple):
    """How a chip comes off.

    Fields:
        thickness: h, before it is cut [m].
        width: of the edge in the cut [m].
        speed: v_c, of the edge through the work [m/s].
        ratio: thickness before over after the cut, above 0 to below 1 in most metals [1].
    """

    thickness: Num
    width: Num
    speed: Num
    ratio: Num


def rise_by_similarity(
    specific_energy: Num, heat_capacity: Num, diffusivity: Num, cutting_speed: Num, chip: Num
) -> Array:
    """Mean rise at the edge from dimensional analysis, fitted to measurement on steels.

    Args:
        specific_energy: u, energy of a unit of volume cut [J/m3].
        heat_capacity: rho c of the work [J/(m3 K)].
        diffusivity: K of the work [m2/s].
        cutting_speed: v_c [m/s].
        chip: thickness before the cut [m].

    Returns:
        Rise [K], shape of the arguments.

    Raises:
        OutOfRange: if energy, speed or chip is negative, or a property of the work not above 0.

    Range: continuous chips of metals; the tool's own conductivity is left out.
    Source: groover, the chapter on cutting temperature: 0.4 u / (rho c) x (v h / K)^(1/3).
    """
    number = not_negative("cutting speed", cutting_speed) * not_negative("chip", chip)
    number = number / positive("diffusivity", diffusivity)
    heated = not_negative("specific energy", specific_energy) / positive("heat capacity", heat_capacity)
    return np.asarray(0.4 * heated * np.cbrt(number))


def shear_strain(ratio: Num, rake: Num = 0.0) -> Array:
    """Strain of the chip at its shear plane.

    Args:
        ratio: thickness before over after the cut [1].
        rake: angle of the face of the tool [rad].

    Returns:
        Strain [1], shape of the arguments.

    Raises:
        OutOfRange: if the ratio is not above 0 or the rake beyond 1 rad.

    Range: one thin plane; continuous chips.
    Source: kalpakjian, chapter on the mechanics of cutting: cot(phi) + tan(phi - rake).
    """
    plane = shear_angle(ratio, rake)
    return np.asarray(1.0 / np.tan(plane) + np.tan(plane - np.asarray(rake)))


def work_share(strain: Num, diffusivity: Num, cutting_speed: Num, chip: Num) -> Array:
    """Share of the heat of shearing that stays in the work: large when the chip is thin and slow.

    Args:
        strain: of the chip at its shear plane [1].
        diffusivity: K of the work [m2/s].
        cutting_speed: v_c [m/s].
        chip: thickness before the cut [m].

    Returns:
        Share, 0 to 1 [1], shape of the arguments.

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: steady cutting with one thin shear plane.
    Source: loewen1954, R1 = 1 / (1 + 1.328 sqrt(K strain / (v h))); here 1 - R1.
    """
    number = positive("cutting speed", cutting_speed) * positive("chip", chip) / positive("diffusivity", diffusivity)
    leak = _SHEAR * np.sqrt(positive("strain", strain) / number)
    return np.asarray(leak / (1.0 + leak))


def patch_factor(aspect: Num) -> Array:
    """Mean rise of an evenly heated oblong at the edge of a tool, in units of flux x length / conductivity.

    Args:
        aspect: width of the oblong (along the edge) over its length (down the face) [1].

    Returns:
        Factor [1], shape of the argument.

    Raises:
        OutOfRange: if the aspect is not above 0.

    Range: the tool is a quarter space, its flank lets no heat out; steady.
    Source: loewen1954, area factor of the tool; carslaw1959 for the oblong on a half space, which is twice as long.
    """
    half = positive("aspect", aspect) / 2.0           # the mirror at the flank doubles the length: half width over it
    first = np.arcsinh(half) + half * np.arcsinh(1.0 / half)
    sides = (half**2 + 1.0 / half - (1.0 + half**2) ** 1.5 / half) / 3.0
    return np.asarray(2.0 / np.pi * (first + sides))


def temperatures(
    work: Solid, tool: Solid, chip: Chip, specific_energy: Num, friction_share: Num
) -> Temperatures:
    """How hot one tooth, its chip and the shear plane become.

    Args:
        work: of the workpiece.
        tool: of the tool; its heat capacity does not count in a steady cut.
        chip: how it comes off.
        specific_energy: u, energy of a unit of volume cut [J/m3].
        friction_share: share of it that is friction between chip and tool, 0 to 1 [1].

    Returns:
        Shares and rises, shape of the arguments.

    Raises:
        OutOfRange: if the friction share is outside 0 ... 1, the energy negative or another argument not above 0.

    Range: continuous chips, zero rake; the chip touches the tool for as long as it is thick (boothroyd); edge sharp.
        A slow thin chip is cooled by the tool; it leaves no colder than it is where the two touch.
    Source: loewen1954, shear plane and tool face, partition by equal mean rises; own, the chip's bulk is warmer than
        the face by which it is cooled.
    """
    energy = not_negative("specific energy", specific_energy)
    rubbed = between("friction share", friction_share, 0.0, 1.0, right="from 0 to 1")
    thick, wide, speed, ratio = (positive(name, value) for name, value in zip(Chip._fields, chip, strict=True))
    conducts, stores = (positive(name, value) for name, value in zip(Solid._fields, work, strict=True))
    diffusivity = conducts / stores
    stays = work_share(shear_strain(ratio), diffusivity, speed, thick)
    shear = (1.0 - stays) * (1.0 - rubbed) * energy / stores
    contact = thick / ratio
    flux = rubbed * energy * thick * speed / contact
    in_chip = _BAND * flux * np.sqrt(diffusivity * contact / (speed * ratio)) / conducts
    in_tool = flux * contact * patch_factor(wide / contact) / positive("conductivity of the tool", tool.conductivity)
    apart = in_chip + in_tool
    share = np.divide(in_tool - shear, apart, out=np.ones_like(apart + shear), where=apart > 0.0)
    interface = shear + share * in_chip
    bulk = shear + share * rubbed * energy / stores
    leaves = np.where(share < 0.0, np.maximum(bulk, interface), bulk)
    return Temperatures(*np.broadcast_arrays(stays, share, shear, interface, leaves))


def part_rise(power: Num, conductance: Num, capacity: Num, seconds: Num, rise_before: Num = 0.0) -> Array:
    """How warm a part is after so long of even heating, all of it equally warm.

    Args:
        power: into the part [W].
        conductance: heat that leaves it for each degree that it is warmer than the shop [W/K].
        capacity: heat that warms it by a degree [J/K].
        seconds: of heating, or of cooling where the power is 0 [s].
        rise_before: how much warmer than the shop it was [K].

    Returns:
        Rise [K], shape of the arguments.

    Raises:
        OutOfRange: if power, rise or time is negative, or conductance or capacity not above 0.

    Range: small or well-conducting parts (Biot number below 0.1); the vise stays at the shop's temperature.
    Source: incropera, lumped capacity: T = P/G + (T0 - P/G) exp(-G t / C).
    """
    leaves, holds = positive("conductance", conductance), positive("capacity", capacity)
    level = not_negative("power", power) / leaves
    fading = np.exp(-leaves * not_negative("time", seconds) / holds)
    return np.asarray(level + (not_negative("rise before", rise_before) - level) * fading)


def cooling_time(rise: Num, wanted: Num, conductance: Num, capacity: Num) -> Array:
    """How long a part must wait to cool from one rise to another.

    Args:
        rise: now, above the shop [K].
        wanted: then, above 0 [K].
        conductance: heat that leaves it a degree [W/K].
        capacity: heat that warms it by a degree [J/K].

    Returns:
        Time, 0 where it is cool enough already [s], shape of the arguments.

    Raises:
        OutOfRange: if the rise is negative or another argument not above 0.

    Range: as part_rise.
    Source: incropera, lumped capacity: (C / G) ln(rise / wanted).
    """
    ratio = np.maximum(not_negative("rise", rise) / positive("wanted rise", wanted), 1.0)
    return np.asarray(positive("capacity", capacity) / positive("conductance", conductance) * np.log(ratio))


def growth(length: Num, expansion: Num, rise: Num) -> Array:
    """How much longer a warm part is than at the temperature of the shop.

    Args:
        length: cold [m].
        expansion: alpha, for each degree [1/K].
        rise: above the shop [K]; below 0 for a colder part.

    Returns:
        Growth [m], shape of the arguments.

    Raises:
        OutOfRange: if length or expansion is negative, or the rise not a number.

    Range: all of it equally warm; the instrument is at the temperature of the shop.
    Source: own, definition of the expansion (gere2012).
    """
    stretched = not_negative("length", length) * not_negative("expansion", expansion)
    return np.asarray(stretched * finite("rise", rise))


#: Colours that a clean steel surface takes on and the temperature from which on it shows them after a short while [K]
COLOURS: tuple[tuple[str, float], ...] = (
    ("bright", 0.0), ("pale yellow", 483.0), ("straw", 503.0), ("brown", 528.0), ("purple", 543.0),
    ("dark blue", 563.0), ("light blue", 583.0), ("grey", 603.0),
)


def chip_colour(temperature: Num) -> np.typing.NDArray[np.intp]:
    """Which colour a chip of plain steel comes off with: an index into COLOURS.

    Args:
        temperature: of the chip, absolute [K].

    Returns:
        Index [1], shape of the argument.

    Raises:
        OutOfRange: if the temperature is not above 0.

    Range: unalloyed steel, dry, in air; stainless steel colours some 100 K hotter; a chip that is hot for a second
        only colours some tens of degrees hotter than steel in an oven.
    Source: gaugeplate, table of temper colours.
    """
    edges = np.array([from_here for _, from_here in COLOURS[1:]])
    return np.asarray(np.searchsorted(edges, positive("temperature", temperature), side="right"), dtype=np.intp)


def colour_chance(temperature: Num, colour: str, spread: float) -> Array:
    """Chance that a chip of this temperature is called this colour, for a record of what was seen.

    Args:
        temperature: of the chip, absolute [K], shape (N,).
        colour: one of the words of COLOURS.
        spread: standard deviation between the table and what is seen, above 0 [K].

    Returns:
        Chance [1], shape (N,).

    Raises:
        OutOfRange: if there is no such colour, the temperature or the spread is not above 0.

    Range: as chip_colour.
    Source: gaugeplate, table of temper colours; own, normal error of the reading.
    """
    from firstoff.normal import normal_cdf

    words = [word for word, _ in COLOURS]
    if colour not in words:
        raise OutOfRange(f"the colour is {colour!r}", right=f"one of {', '.join(words)}")
    heat, wide = positive("temperature", temperature), positive("spread", spread)
    edges = [-np.inf, *(from_here for _, from_here in COLOURS[1:]), np.inf]
    at = words.index(colour)
    return np.asarray(normal_cdf((edges[at + 1] - heat) / wide) - normal_cdf((edges[at] - heat) / wide))
