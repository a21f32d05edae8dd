"""ISO metric threads: profile, tap drills, shear areas; does the screw break or the thread strip."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive
from firstoff.errors import OutOfRange

_H = np.sqrt(3.0) / 2.0  # height of the fundamental triangle over the pitch


class Profile(NamedTuple):
    """Basic sizes of an ISO metric thread.

    Fields:
        nominal: d = D [m].
        pitch: P [m].
        height: H1, height of the overlap of a full thread [m].
        pitch_diameter: d2 = D2 [m].
        root_diameter: d3, of the screw, with rounded root [m].
        minor_diameter: D1, of the nut [m].
        stress_area: A_s, of the screw [m2].
    """

    nominal: Array
    pitch: Array
    height: Array
    pitch_diameter: Array
    root_diameter: Array
    minor_diameter: Array
    stress_area: Array


class Coarse(NamedTuple):
    """A coarse thread as the standards give it, with the limits of its classes 6g and 6H.

    Fields:
        nominal: d [m].
        pitch: P [m].
        tap_drill: drill for use before tapping [m].
        least_major: d min, 6g [m].
        least_pitch: d2 min, 6g [m].
        most_pitch: D2 max, 6H [m].
        most_minor: D1 max, 6H [m].
    """

    nominal: float
    pitch: float
    tap_drill: float
    least_major: float
    least_pitch: float
    most_pitch: float
    most_minor: float


class ShearAreas(NamedTuple):
    """Areas along which a thread strips.

    Fields:
        external: of the screw's thread [m2].
        internal: of the nut's thread [m2].
    """

    external: Array
    internal: Array


class CountersunkHead(NamedTuple):
    """Head of a hexagon socket countersunk screw, 90 degrees.

    Fields:
        sharp_diameter: theoretical largest diameter, to the sharp edge [m].
        height: largest height k [m].
    """

    sharp_diameter: float
    height: float


#: Coarse pitches (iso724), tap drills (iso2306), limits of 6g and 6H (iso965), M2 to M12.
COARSE: dict[str, Coarse] = {
    "M2": Coarse(0.002, 0.0004, 0.0016, 0.001886, 0.001654, 0.00183, 0.001679),
    "M2.5": Coarse(0.0025, 0.00045, 0.00205, 0.00238, 0.002117, 0.002303, 0.002138),
    "M3": Coarse(0.003, 0.0005, 0.0025, 0.002874, 0.00258, 0.002775, 0.002599),
    "M4": Coarse(0.004, 0.0007, 0.0033, 0.003838, 0.003433, 0.003663, 0.003422),
    "M5": Coarse(0.005, 0.0008, 0.0042, 0.004826, 0.004361, 0.004605, 0.004334),
    "M6": Coarse(0.006, 0.001, 0.005, 0.005794, 0.005212, 0.0055, 0.005153),
    "M8": Coarse(0.008, 0.00125, 0.0068, 0.00776, 0.007042, 0.007348, 0.006912),
    "M10": Coarse(0.01, 0.0015, 0.0085, 0.009732, 0.008862, 0.009206, 0.008676),
    "M12": Coarse(0.012, 0.00175, 0.0102, 0.011701, 0.010679, 0.011063, 0.010441),
}

#: Heads of hexagon socket countersunk screws (iso10642).
COUNTERSUNK: dict[str, CountersunkHead] = {
    "M3": CountersunkHead(0.00672, 0.00186),
    "M4": CountersunkHead(0.00896, 0.00248),
    "M5": CountersunkHead(0.0112, 0.0031),
    "M6": CountersunkHead(0.01344, 0.00372),
    "M8": CountersunkHead(0.01792, 0.00496),
    "M10": CountersunkHead(0.0224, 0.0062),
    "M12": CountersunkHead(0.02688, 0.00744),
}


def metric_profile(nominal: Num, pitch: Num) -> Profile:
    """Basic sizes of an ISO metric thread.

    Args:
        nominal: d [m].
        pitch: P [m].

    Returns:
        Profile, each [m] or [m2], shape of the arguments.

    Raises:
        OutOfRange: if an argument is not above 0, or the pitch leaves no core.

    Range: 60 degree profile, basic sizes without tolerance.
    Source: iso724 for H1, d2, D1; iso898 for d3 and the stress area.
    """
    size, step = np.broadcast_arrays(positive("nominal diameter", nominal), positive("pitch", pitch))
    if np.any(step >= size / 2.0):
        raise OutOfRange(f"pitch is {float(step.max()):.4g} m", right="below half the nominal diameter")
    height = 5.0 / 8.0 * _H * step
    pitch_diameter, root = size - 0.75 * _H * step, size - 17.0 / 12.0 * _H * step
    area = np.pi / 4.0 * ((pitch_diameter + root) / 2.0) ** 2
    return Profile(size, step, height, pitch_diameter, root, size - 2.0 * height, area)


def thread_height_share(nominal: Num, pitch: Num, hole_diameter: Num) -> Array:
    """How much of the full height of thread a tap drill leaves.

    Args:
        nominal: D [m].
        pitch: P [m].
        hole_diameter: of the drilled hole as it came out [m].

    Returns:
        Height of thread over H1 [1], shape of the arguments; above 1 the tap must form or break.

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: cut threads.
    Source: iso724, (D - D_o) / (2 H1).
    """
    profile = metric_profile(nominal, pitch)
    hole = positive("hole diameter", hole_diameter)
    return np.asarray(np.maximum(profile.nominal - hole, 0.0) / (2.0 * profile.height), dtype=np.float64)


def thread_shear_areas(
    pitch: Num, engagement_length: Num, least_major: Num, least_pitch: Num, most_pitch: Num, most_minor: Num
) -> ShearAreas:
    """Least areas along which the threads of screw and nut shear.

    Args:
        pitch: P [m].
        engagement_length: length of full thread in both parts [m], scalar or shape (N,).
        least_major: d min of the screw [m].
        least_pitch: d2 min of the screw [m].
        most_pitch: D2 max of the nut [m].
        most_minor: D1 max of the nut, or the drilled hole where that is wider [m].

    Returns:
        ShearAreas, each [m2], shape of the arguments.

    Raises:
        OutOfRange: if a size is not above 0 or the length negative.

    Range: chamfered ends and incomplete turns do not count to the length. Where a wide hole leaves no
        overlap the area is 0.
    Source: asmeb1, appendix B: pi L / P d [P / 2 + (d - d2) / sqrt 3].
    """
    turns = np.pi * not_negative("length of engagement", engagement_length) / positive("pitch", pitch)
    major, minor = positive("least major diameter", least_major), positive("most minor diameter", most_minor)
    half = np.asarray(pitch) / 2.0
    thick_screw = half + (positive("least pitch diameter", least_pitch) - minor) / np.sqrt(3.0)
    thick_nut = half + (major - positive("most pitch diameter", most_pitch)) / np.sqrt(3.0)
    overlap = major > minor
    return ShearAreas(
        np.asarray(turns * minor * np.maximum(thick_screw, 0.0) * overlap, dtype=np.float64),
        np.asarray(turns * major * np.maximum(thick_nut, 0.0) * overlap, dtype=np.float64),
    )


def stripping_load(areas: ShearAreas, screw_shear_strength: Num, nut_shear_strength: Num) -> Array:
    """Load at which the weaker of the two threads strips.

    Args:
        areas: shear areas of screw and nut.
        screw_shear_strength: about 0.6 of its tensile strength [N/m2], shape (N,).
        nut_shear_strength: of the part with the tapped hole, about 0.6 of its tensile strength [N/m2],
            shape (N,).

    Returns:
        Load [N], shape (N,).

    Raises:
        OutOfRange: if a strength is not above 0.

    Range: all turns share the load (short engagements); no widening of a thin nut.
    Source: asmeb1, appendix B, area x shear strength; vdi2230 for shear over tensile strength.
    """
    screw = areas.external * positive("shear strength of the screw", screw_shear_strength)
    nut = areas.internal * positive("shear strength of the nut", nut_shear_strength)
    return np.asarray(np.minimum(screw, nut), dtype=np.float64)


def breaking_load(tensile_strength: Num, stress_area: Num) -> Array:
    """Load at which a screw breaks in its thread.

    Args:
        tensile_strength: R_m of the screw [N/m2], shape (N,).
        stress_area: A_s [m2].

    Returns:
        Load [N], shape (N,).

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: pure tension; tightening twists it too and takes a part.
    Source: iso898, F_m = R_m A_s.
    """
    area = positive("stress area", stress_area)
    return np.asarray(positive("tensile strength", tensile_strength) * area, dtype=np.float64)


def length_to_break(load: Num, stripping: Num, engagement_length: Num) -> Array:
    """Length of engagement from which the screw breaks before the thread strips.

    Args:
        load: at which the screw breaks [N], shape (N,).
        stripping: load at which the thread strips at engagement_length [N], shape (N,).
        engagement_length: length of full thread for which stripping was found [m].

    Returns:
        Length [m], shape (N,).

    Raises:
        OutOfRange: if an argument is not above 0.

    Range: stripping grows with the length, up to about 1.5 diameters.
    Source: own, proportion.
    """
    length = positive("length of engagement", engagement_length)
    return np.asarray(positive("breaking load", load) / positive("stripping load", stripping) * length)


def countersink_diameter(sharp_diameter: Num, sink: Num, half_angle: Num) -> Array:
    """Diameter at the surface of a countersink that puts a head below it.

    Args:
        sharp_diameter: theoretical largest diameter of the head [m].
        sink: how far the sharp edge lies below the surface; negative stands proud [m], shape (N,).
        half_angle: half the included angle [rad].

    Returns:
        Diameter [m], shape (N,).

    Raises:
        OutOfRange: if the diameter is not above 0 or the angle outside 0 ... pi/2.

    Range: the cone of the screw equals that of the countersink.
    Source: own, cone; heads after iso10642.
    """
    angle = between("half angle", positive("half angle", half_angle), 0.0, 1.57, right="below pi/2")
    edge = positive("diameter of the head", sharp_diameter)
    return np.asarray(edge + 2.0 * finite("sink", sink) * np.tan(angle), dtype=np.float64)
