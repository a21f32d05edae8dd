"""Work glued or taped down on a carrier: shear, prying at an edge, and a thin part that bends and peels."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.holding._rows import Array, above_zero, finite, not_negative, used

POISSON = 0.3       #: of the metals that are glued down
#: Pressure under a load at the edge of a plate on springs, times sqrt(D/k) over the load.
EDGE = float(np.sqrt(2.0 + 1.2 * POISSON) / np.sqrt(12.0 * (1.0 - POISSON**2)))


def shear_capacity(area: npt.ArrayLike, strength: npt.ArrayLike, covered: npt.ArrayLike = 1.0) -> Array:
    """Force along the joint that a patch of glue or tape carries, at most.

    Args:
        area: of the patch [m2], shape (N,).
        strength: shear strength [N/m2], broadcast, at the temperature that the cut brings.
        covered: share of the patch that the glue wets [1], broadcast, 0 to 1.

    Returns:
        Force [N], shape (N,).

    Raises:
        OutOfRange: if a value is negative or more than the whole patch is covered.

    Range: even stress, so an upper bound: strength measured on short laps, pulled steadily.
    Source: petrie, table 10.16 gives strengths counted in this way (force over area).
    """
    patch, shear, share = not_negative(area=area, strength=strength, covered=covered)
    if (share > 1.0).any():
        raise OutOfRange(f"covered is {share.max():g}", right="0 to 1")
    return np.asarray(patch * shear * share)


def strength_when_warm(strength: npt.ArrayLike, rise: npt.ArrayLike, half_rise: npt.ArrayLike) -> Array:
    """Strength of glue or tape that has got warm.

    Args:
        strength: cold [N/m2], shape (N,).
        rise: above the shop [K], broadcast; below it nothing is gained.
        half_rise: at which half the strength is left [K], broadcast.

    Returns:
        Strength [N/m2], shape (N,).

    Raises:
        OutOfRange: if the strength is negative or half_rise not above 0.

    Range: steadily warm; a curve that falls little at first, and steeply about half_rise.
    Source: petrie, ch. 10 gives for cyanoacrylate the temperature to which it serves; the curve between is own.
    """
    (cold,), (half,), (warm,) = not_negative(strength=strength), above_zero(half_rise=half_rise), finite(rise=rise)
    return np.asarray(cold / (1.0 + (np.maximum(warm, 0.0) / half) ** 3))


def strength_after(
    strength: npt.ArrayLike, loaded: npt.ArrayLike, pulled: npt.ArrayLike, exponent: npt.ArrayLike
) -> Array:
    """Strength of tape that has been under load for a while: it creeps, and lets go at less the longer it is loaded.

    Args:
        strength: measured by pulling it apart [N/m2], shape (N,).
        loaded: time under load [s], broadcast.
        pulled: time in which the strength was measured [s], broadcast.
        exponent: slope of the logarithm of strength by that of time, as a positive number [1], broadcast; 0 for none.

    Returns:
        Strength [N/m2], shape (N,); no more than when it was measured.

    Raises:
        OutOfRange: if a time is not above 0, or strength or exponent negative.

    Range: at one temperature, load steadily on: a cut loads it in turns, so that it is stronger than told.
    Source: psashear2015, failure time of acrylic foam tape over its load as a power law; exponent from the caller.
    """
    cold, slope = not_negative(strength=strength, exponent=exponent)
    time, once = above_zero(loaded=loaded, pulled=pulled)
    return np.asarray(cold * np.minimum((time / once) ** -slope, 1.0))


def edge_pull(
    force_up: npt.ArrayLike, moment: npt.ArrayLike, length: npt.ArrayLike, width: npt.ArrayLike
) -> Array:
    """Highest pull on a rectangular patch whose part is lifted and pried.

    Args:
        force_up: lifting force square to the joint [N], shape (N,); negative presses.
        moment: prying moment about the middle of the patch [N m], broadcast, either sign.
        length: of the patch in the direction of prying [m], broadcast.
        width: of the patch across [m], broadcast.

    Returns:
        Stress at the edge that is pulled [N/m2], shape (N,); negative where all of it is pressed.

    Raises:
        OutOfRange: if length or width is not above 0.

    Range: part and carrier stiff, glue elastic. A thin part peels at far less: it bends, and the edge takes all.
    Source: gere2012, ch. 5, axial load and bending of a rectangle.
    """
    lift, pry = finite(force_up=force_up, moment=moment)
    long, wide = above_zero(length=length, width=width)
    return np.asarray(lift / (long * wide) + 6.0 * np.abs(pry) / (wide * long**2))


def peel_use(
    force_up: npt.ArrayLike, thickness: npt.ArrayLike, young: npt.ArrayLike, peel_energy: npt.ArrayLike
) -> Array:
    """Use of glue or tape under a thin part that bends where it is lifted at its edge, and peels.

    The glue's own springs fall out: a softer one is pulled less, further in, and stores as much.

    Args:
        force_up: lifting force at the edge [N], shape (N,); one that presses pulls nowhere.
        thickness: of the part [m], broadcast.
        young: of the part [N/m2], broadcast.
        peel_energy: that it takes to part the joint, by its area; force over width of a slow peel test [N/m],
            broadcast.

    Returns:
        Demand over capacity [1], shape (N,).

    Raises:
        OutOfRange: if thickness, modulus or energy is not above 0.

    Range: a plate, Poisson's ratio as POISSON, lifted at one place of an edge that goes on to both sides; at a corner
        about twice as much, within it a quarter. A thick part does not bend, and is as good as never peeled.
    Source: westergaard1926, pressure under a load at the edge of a slab on springs of stiffness k; krenk1992, energy
        let go at the edge of a joint, the square of that pressure over 2 k.
    """
    (lift,) = finite(force_up=force_up)
    thick, metal, energy = above_zero(thickness=thickness, young=young, peel_energy=peel_energy)
    plate = metal * thick**3 / (12.0 * (1.0 - POISSON**2))
    return np.asarray(EDGE * np.maximum(lift, 0.0) / np.sqrt(2.0 * energy * plate))


def patch_use(
    side_force: npt.ArrayLike,
    force_up: npt.ArrayLike,
    load_height: npt.ArrayLike,
    length: npt.ArrayLike,
    width: npt.ArrayLike,
    shear_strength: npt.ArrayLike,
    pull_strength: npt.ArrayLike,
    peeled: npt.ArrayLike = 0.0,
    pry: npt.ArrayLike = 0.0,
    other_pry: npt.ArrayLike = 0.0,
    twist: npt.ArrayLike = 0.0,
) -> Array:
    """Use of a rectangular patch of glue or tape under a cut above it.

    Args:
        side_force: load along the joint, in the direction of length [N], shape (N,).
        force_up: load square to the joint, upwards [N], broadcast; negative presses.
        load_height: height of the load above the joint [m], broadcast.
        length: of the patch in the direction of the side force [m], broadcast.
        width: of the patch across [m], broadcast.
        shear_strength: of the joint [N/m2], broadcast.
        pull_strength: of the joint square to it [N/m2], broadcast.
        peeled: use of the joint by a thin part that bends and peels [1], broadcast; 0 of a stiff one.
        pry: moment that pries over the length, beside that of the side force [N m], broadcast, either sign.
        other_pry: moment that pries over the width [N m], broadcast, either sign.
        twist: moment that turns the part on the carrier [N m], broadcast, either sign.

    Returns:
        Demand over capacity [1], shape (N,); above 1 the edge lets go.

    Raises:
        OutOfRange: if a size is not above 0 or a strength, height or peeled negative.

    Range: as edge_pull, the corner counts; shear of the side force spread evenly, that of a twist as in a stiff part
        about the middle; shear and pull added by squares; of pulled off and peeled the larger counts.
    Source: own, edge_pull with the ellipse of shear and pull; gere2012, ch. 3, for the twist: moment by distance over
        the polar moment of the patch.
    """
    along, lift = finite(side_force=side_force, force_up=force_up)
    height, shear, pull, bent = not_negative(
        load_height=load_height, shear_strength=shear_strength, pull_strength=pull_strength, peeled=peeled
    )
    long, wide = above_zero(length=length, width=width)
    over, across, turned = finite(pry=pry, other_pry=other_pry, twist=twist)
    stress = (edge_pull(lift, np.abs(along) * height + np.abs(over), long, wide)
              + 6.0 * np.abs(across) / (long * wide**2))
    turning = 6.0 * np.abs(turned) / (long * wide * np.hypot(long, wide))
    sheared = used(np.abs(along), shear_capacity(long * wide, shear)) + used(turning, shear)
    return np.hypot(sheared, np.maximum(used(np.maximum(stress, 0.0), pull), bent))
