"""Work glued or taped down on a carrier: shear, prying at an edge, and a thin part that bends and peels."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firstoff.errors import OutOfRange
from firstoff.holding._rows import Array, above_zero, finite, not_negative, used

POISSON = 0.3       #: of the metals that are glued down
#: Pressure under a load at the edge of a plate on springs, times reach squared over the load.
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


def reach_of_a_load(
    thickness: npt.ArrayLike, young: npt.ArrayLike, glue_young: npt.ArrayLike, glue_line: npt.ArrayLike
) -> Array:
    """How far a part that bends on its glue spreads a load: radius of relative stiffness, no less than its thickness.

    Args:
        thickness: of the part [m], shape (N,).
        young: of the part [N/m2], broadcast.
        glue_young: modulus of glue or tape between two faces that hold it [N/m2], broadcast.
        glue_line: its thickness [m], broadcast.

    Returns:
        Length [m], shape (N,).

    Raises:
        OutOfRange: if a value is not above 0.

    Range: a thin plate on springs, Poisson's ratio as POISSON. Where the plate reaches less far than it is thick it
        is no plate: its thickness spreads the load then.
    Source: westergaard1926, radius of relative stiffness; timoshenko1959, ch. 8; the bound by the thickness is own.
    """
    thick, metal = above_zero(thickness=thickness, young=young)
    glue, line = above_zero(glue_young=glue_young, glue_line=glue_line)
    plate = metal * thick**3 / (12.0 * (1.0 - POISSON**2))
    return np.asarray(np.maximum((plate * line / glue) ** 0.25, thick))


def peel_at_edge(force_up: npt.ArrayLike, reach: npt.ArrayLike) -> Array:
    """Highest pull on the glue under a thin part that is lifted at its edge.

    Args:
        force_up: lifting force at the edge [N], shape (N,); one that presses pulls nowhere.
        reach: how far the part spreads a load on its glue [m], broadcast.

    Returns:
        Stress [N/m2], shape (N,).

    Raises:
        OutOfRange: if the reach is not above 0.

    Range: an edge that goes on to both sides for some three times the reach; at a corner about twice as much.
    Source: westergaard1926, load at the edge of a slab on springs: sqrt(2 + 1.2 nu)/sqrt(12 (1 - nu^2)).
    """
    (lift,), (far,) = finite(force_up=force_up), above_zero(reach=reach)
    return np.asarray(EDGE * np.maximum(lift, 0.0) / far**2)


def patch_use(
    side_force: npt.ArrayLike,
    force_up: npt.ArrayLike,
    load_height: npt.ArrayLike,
    length: npt.ArrayLike,
    width: npt.ArrayLike,
    shear_strength: npt.ArrayLike,
    pull_strength: npt.ArrayLike,
    peel: npt.ArrayLike = 0.0,
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
        peel: what a part that bends takes the lift up with at its edge [N/m2], broadcast; 0 of a stiff one.

    Returns:
        Demand over capacity [1], shape (N,); above 1 the edge lets go.

    Raises:
        OutOfRange: if a size is not above 0 or a strength, height or peel negative.

    Range: as edge_pull; shear spread evenly, both stresses added by squares; of the lift spread evenly and the lift
        that peels the larger.
    Source: own, edge_pull with the ellipse of shear and pull.
    """
    along, lift = finite(side_force=side_force, force_up=force_up)
    height, shear, pull, bent = not_negative(
        load_height=load_height, shear_strength=shear_strength, pull_strength=pull_strength, peel=peel
    )
    even = np.maximum(lift, 0.0) / (np.asarray(length, dtype=float) * width)
    more = np.maximum(bent - even, 0.0)
    stress = np.maximum(edge_pull(lift, along * height, length, width) + more, 0.0)
    capacity = shear_capacity(np.asarray(length, dtype=float) * width, shear)
    return np.hypot(used(np.abs(along), capacity), used(stress, pull))
