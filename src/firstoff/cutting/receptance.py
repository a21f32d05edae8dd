"""Response at the tip of a tool: a stepped beam in a collet on a machine, and the modes of the whole."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, finite, positive
from firstoff.cutting.chatter import Mode
from firstoff.errors import OutOfRange

#: Elements of each section of the beam; the first frequency is then within 1 in 1000.
_ELEMENTS: Final = 6
#: Bending modes of the tool that are found, lowest first, and of them those that are coupled: the first has 97 %
#: of the give of the bar.
_KEPT, _COUPLED = 2, 1
_POISSON: Final = 0.25                                  #: of carbide and steel alike, for shear
_SHEAR: Final = 6.0 * (1.0 + _POISSON) / (7.0 + 6.0 * _POISSON)   #: share of a round section that bears shear


class Section(NamedTuple):
    """A piece of a tool of constant section, from the collet outwards.

    Fields:
        length: along the axis [m].
        diameter: that bends; of fluted parts the equivalent one [m].
    """

    length: float
    diameter: float


class BeamModes(NamedTuple):
    """Bending modes of a tool whose end is held rigidly, and how they feel the end being moved.

    Fields:
        natural: natural angular frequencies, lowest first [rad/s], shape (K,).
        tip: displacement of the tip for an amplitude of mass one [1/kg0.5], shape (K,).
        carried: momentum for such an amplitude, as the moved end feels it [kg0.5], shape (K,).
        mass: of all that is free [kg].
    """

    natural: Array
    tip: Array
    carried: Array
    mass: float


def clamped_modes(sections: tuple[Section, ...], young: float, density: float) -> BeamModes:
    """Bending modes of a stepped round beam, one end held rigidly, with shear and rotary inertia.

    Args:
        sections: from the held end to the tip.
        young: Young's modulus [N/m2].
        density: of the tool's material [kg/m3].

    Returns:
        BeamModes, the two lowest: frequencies [rad/s], tip [1/kg0.5], carried [kg0.5], mass [kg].

    Raises:
        OutOfRange: if there is no section, or a length, diameter, modulus or density is not above 0.

    Range: round sections; no spin (no gyroscopic effect); no axial force.
    Source: friedman1993, consistent matrices of a two-node beam with shear and rotary inertia.
    """
    if not sections:
        raise OutOfRange("the tool has no section", right="shank or flutes outside of the collet")
    elastic, heavy = positive("Young's modulus", young), positive("density", density)
    size = 2 * (len(sections) * _ELEMENTS + 1)
    stiff, mass = np.zeros((size, size)), np.zeros((size, size))
    for i, section in enumerate(sections):
        pieces = _element(float(positive("length", section.length)) / _ELEMENTS,
                          float(positive("diameter", section.diameter)), float(elastic), float(heavy))
        for j in range(i * _ELEMENTS, (i + 1) * _ELEMENTS):
            at = slice(2 * j, 2 * j + 4)
            stiff[at, at] += pieces[0]
            mass[at, at] += pieces[1]
    rigid = np.zeros(size)
    rigid[0::2] = 1.0
    values, shapes = _modes(stiff[2:, 2:], mass[2:, 2:])
    return BeamModes(np.sqrt(values[:_KEPT]), shapes[-2, :_KEPT], (shapes.T @ mass[2:] @ rigid)[:_KEPT],
                     float(rigid @ mass @ rigid))


def _element(length: float, diameter: float, young: float, density: float) -> tuple[Array, Array]:
    """Stiffness and mass of one element; a node has displacement and slope."""
    area, inertia = np.pi * diameter**2 / 4.0, np.pi * diameter**4 / 64.0
    soft = 24.0 * (1.0 + _POISSON) * inertia / (_SHEAR * area * length**2)   # 12 E I / (share G A l2)
    a, b, c = length, length**2, 1.0 + soft
    stiff = young * inertia / (length**3 * c) * np.array([
        [12, 6 * a, -12, 6 * a], [6 * a, (4 + soft) * b, -6 * a, (2 - soft) * b],
        [-12, -6 * a, 12, -6 * a], [6 * a, (2 - soft) * b, -6 * a, (4 + soft) * b]])
    p = soft
    m1, m2 = 312 + 588 * p + 280 * p**2, (44 + 77 * p + 35 * p**2) * a
    m3, m4 = 108 + 252 * p + 140 * p**2, -(26 + 63 * p + 35 * p**2) * a
    m5, m6 = (8 + 14 * p + 7 * p**2) * b, -(6 + 14 * p + 7 * p**2) * b
    moved = density * area * length / (840.0 * c**2) * np.array([
        [m1, m2, m3, m4], [m2, m5, -m4, m6], [m3, -m4, m1, -m2], [m4, m6, -m2, m5]])
    r1, r2 = 36.0, (3 - 15 * p) * a
    r3, r4 = (4 + 5 * p + 10 * p**2) * b, (-1 - 5 * p + 5 * p**2) * b
    turned = density * inertia / (30.0 * length * c**2) * np.array([
        [r1, r2, -r1, r2], [r2, r3, -r2, r4], [-r1, -r2, r1, -r2], [r2, r4, -r2, r3]])
    return stiff, moved + turned


def _modes(stiff: Array, mass: Array) -> tuple[Array, Array]:
    """Squares of the frequencies, ascending, and shapes of mass one; leading axes are rows."""
    root = np.linalg.cholesky(mass)
    half = np.linalg.solve(root, stiff)
    whole = np.linalg.solve(root, np.swapaxes(half, -1, -2))
    values, vectors = np.linalg.eigh((whole + np.swapaxes(whole, -1, -2)) / 2.0)
    return values, np.linalg.solve(np.swapaxes(root, -1, -2), vectors)


def tip_modes(
    beam: BeamModes, beam_stretch: Num, beam_damping: Num, seat_stiffness: Num, seat_mass: Num, machine: Mode
) -> tuple[Mode, ...]:
    """Modes at the tip of a tool in its collet on a machine, in one direction, by row.

    The machine is one mode, on it the seat of the tool (collet, nut, nose) on a spring, on it the beam.

    Args:
        beam: modes of the tool, held rigidly.
        beam_stretch: by which all its frequencies are multiplied, the root of Young's modulus over that of the
            beam [1], shape (N,).
        beam_damping: damping ratio of tool and seat [1], shape (N,).
        seat_stiffness: of the collet and what lies between it and the machine's mass [N/m], shape (N,).
        seat_mass: what swings with the collet [kg], shape (N,).
        machine: weakest mode of the machine where the collet sits.

    Returns:
        Modes at the tip, lowest first: the machine's, that of the seat, that of the bending tool.

    Raises:
        OutOfRange: if an argument is not above 0, or the damping not below 0.9.

    Range: the seat moves without tilting; the first bending mode of the beam alone; damping small enough for modes
        that are not coupled by it.
    Source: schmitz2001, receptances coupled at the joint, here by their modes; own, damping shared by energy.
    """
    parts = [positive("stretch", beam_stretch), between("damping ratio", beam_damping, 1e-6, 0.9, right="below 0.9"),
             positive("stiffness of the seat", seat_stiffness), positive("mass of the seat", seat_mass),
             positive("stiffness", machine.stiffness), between("damping ratio", machine.damping, 1e-6, 0.9,
                                                               right="below 0.9"),
             positive("natural frequency", machine.natural)]
    stretch, loss, spring, seat, stiffness, damping, natural = np.broadcast_arrays(*(np.atleast_1d(p) for p in parts))
    kept, rows = min(_COUPLED, len(beam.natural)), stretch.size
    mass, stiff = (np.zeros((rows, kept + 2, kept + 2)) for _ in range(2))
    mass[:, 0, 0], mass[:, 1, 1] = stiffness / natural**2, seat + beam.mass
    mass[:, 1, 2:] = mass[:, 2:, 1] = beam.carried[:kept]
    stiff[:, 0, 0], stiff[:, 1, 1] = stiffness + spring, spring
    stiff[:, 0, 1] = stiff[:, 1, 0] = -spring
    for i in range(kept):
        mass[:, i + 2, i + 2], stiff[:, i + 2, i + 2] = 1.0, (stretch * beam.natural[i]) ** 2
    values, shapes = _modes(stiff, mass)
    tip = shapes[:, 1] + np.einsum("k,nkm->nm", beam.tip[:kept], shapes[:, 2:])
    in_machine = stiffness[:, None] * shapes[:, 0] ** 2 / values
    ratio = in_machine * damping[:, None] + (1.0 - in_machine) * loss[:, None]
    return tuple(Mode(values[:, i] / tip[:, i] ** 2, ratio[:, i], np.sqrt(values[:, i])) for i in range(kept + 2))


def compliance(modes: tuple[Mode, ...], frequency: Num) -> Array:
    """Size of the response at the tip: displacement for a force that swings at this frequency.

    Args:
        modes: at the tip, in one direction.
        frequency: angular frequency of the force [rad/s], shape (N,).

    Returns:
        Compliance [m/N], shape (N,).

    Raises:
        OutOfRange: if the frequency is not a number.

    Range: modes that are not coupled by damping.
    Source: altintas2012, sum over modes of 1 / (k (1 - r2 + 2 i zeta r)).
    """
    swing = finite("frequency", frequency)
    total: Array = np.asarray(0.0)
    for mode in modes:
        ratio = swing / mode.natural
        total = total + 1.0 / (mode.stiffness * (1.0 - ratio**2 + 2j * mode.damping * ratio))
    return np.abs(total)
