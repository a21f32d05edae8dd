"""The cutting edge in slices: what cutters of any outline have in the work, from a nominal cut or from a program.

Heights are counted from the tip. A slice carries a piece of edge that leans by its lead angle: pi/2 on a cylinder,
0 on a flat end, between them on a corner, ball or cone. Angles of engagement as in `engagement`.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from firstoff.cutting._guard import Array, Num, between, finite, not_negative, positive, whole_teeth
from firstoff.cutting.force_law import ThinChips, share_of_edge
from firstoff.errors import OutOfRange
from firstoff.quadrature import gauss_rule

#: Slices of a rounded corner or ball, and of a cone: forces then stand within 1 in 200 of four times as many.
_ROUND, _CONE = 12, 8
#: The most that one slice may lag behind its foot [rad].
_LAG = 0.2
#: Halvings by which a height is found: to a part in 10^12.
_HALVINGS = 40
#: Rings of a flat end.
_RINGS = 4
#: A cut that comes within this share of the top of a head reaches it.
_TOP = 1e-3
#: Lag that stands for a straight flute; its only effect is rounding, 1e-7 of the force.
STRAIGHT = 1e-9
_SQUARE = np.pi / 2.0
#: Dish of an end beyond which it would be another tool [rad].
_DEEPEST = 0.2
#: What the metal ends at beside a cutter: a wall along its axis, or what the same cutter left a row before.
Beside = Literal["wall", "row"]
#: Gauss rule for the mean chip of a slice over its arc.
_ARC_T, _ARC_W = gauss_rule(12)


class Profile(NamedTuple):
    """Outline of a milling cutter: flat tip, rounded corner, straight flank up to the full diameter.

    An undercut is as wide at its tip as anywhere: a dovetail cutter's flank leans inwards from there, up to its neck;
    a T-slot cutter's stands upright, and teeth on the upper side of its head reach in to the neck.

    Fields:
        diameter: D, the largest [m].
        corner_radius: of the corner; half the diameter for a ball [m].
        half_angle: between flank and axis: 0 for a cylinder, below 0 where it leans inwards from the tip [rad].
        tip_diameter: of the flat at the tip [m].
        head: height of the teeth of an undercut; 0 for any other cutter [m].
        neck: diameter of what is above them; 0 for any other cutter [m].
        dish: by which the teeth of a flat tip rise towards the middle [rad].
        hole: diameter of the hole that is there already where it goes straight down [m].
    """

    diameter: float
    corner_radius: float
    half_angle: float
    tip_diameter: float
    head: float = 0.0
    neck: float = 0.0
    dish: float = 0.0
    hole: float = 0.0


class Edge(NamedTuple):
    """Slices of the edge of one tooth that are in the work; all lists are of the same length S.

    Fields:
        teeth: z, number of teeth [1].
        slope: of the way down that the tool goes: 0 level, pi/2 plunging, negative climbing [rad].
        low: foot of each slice above the tip [m], shape (S,).
        high: top of each slice [m], shape (S,).
        radius: distance of the edge from the axis [m], shape (S,).
        lead_angle: kappa, angle between axis and normal of the edge [rad], shape (S,).
        length: of the edge, its helix left out [m], shape (S,).
        lag_low: how far the foot lies behind the tip [rad], shape (S,).
        lag_high: how far the top lies behind the tip [rad], shape (S,).
        entry: angle of entry [rad], shape (S,).
        exit: angle of exit [rad], shape (S,).
        edge_share: of the edge force that a slice has: 1 but for thin chips of the end [1], shape (S,).
    """

    teeth: int
    slope: float
    low: tuple[float, ...]
    high: tuple[float, ...]
    radius: tuple[float, ...]
    lead_angle: tuple[float, ...]
    length: tuple[float, ...]
    lag_low: tuple[float, ...]
    lag_high: tuple[float, ...]
    entry: tuple[float, ...]
    exit: tuple[float, ...]
    edge_share: tuple[float, ...]


def check_profile(profile: Profile) -> None:
    """Refuses an outline that cannot be.

    Args:
        profile: outline of the cutter.

    Returns:
        Nothing.

    Raises:
        OutOfRange: if a size is negative, the half angle not within -1.5 ... 1.5 rad, the dish not within 0 ... 0.2,
            the hole, or tip and corner, are wider than the cutter, or an undercut has no sharp full tip, no head or
            no neck thinner than that.

    Range: any.
    Source: own, what the outline needs.
    """
    size = positive("diameter", profile.diameter)
    corner = not_negative("corner radius", profile.corner_radius)
    tip = not_negative("tip diameter", profile.tip_diameter)
    angle = between("half angle", profile.half_angle, -1.5, 1.5, right="from -1.5 to 1.5 rad (86 degrees)")
    wide = tip + 2.0 * corner * np.cos(angle)
    if wide > size * (1.0 + 1e-9):
        raise OutOfRange(f"tip and corner are {float(wide):.4g} m wide",
                         right=f"at most the diameter, {float(size):.4g} m")
    between("dish", profile.dish, 0.0, _DEEPEST, right="from 0 to 0.2 rad (11 degrees)")
    between("hole", profile.hole, 0.0, size, right=f"narrower than the cutter, {float(size):.4g} m")
    head, neck = not_negative("head", profile.head), not_negative("neck", profile.neck)
    if angle < 0.0 or head > 0.0 or neck > 0.0:
        _check_undercut(float(size), float(corner), float(angle), float(tip), float(head), float(neck))


def _check_undercut(size: float, corner: float, angle: float, tip: float, head: float, neck: float) -> None:
    if angle > 0.0 or corner > 0.0 or tip < size or not 0.0 < neck < size or head <= 0.0:
        raise OutOfRange(f"an undercut of {size:.4g} m with a tip of {tip:.4g} m, a corner of {corner:.4g} m, a head "
                         f"of {head:.4g} m and a neck of {neck:.4g} m", right="a full sharp tip, a head, a neck")
    top = size + 2.0 * head * float(np.tan(angle))
    if top < neck * (1.0 - 1e-9):
        raise OutOfRange(f"the teeth are {top:.4g} m wide at the top of the head",
                         right=f"at least the neck, {neck:.4g} m")


def profile_radius(profile: Profile, height: Num) -> Array:
    """Radius of the cutter at a height.

    Args:
        profile: outline of the cutter.
        height: above the tip [m].

    Returns:
        Radius [m], shape of height.

    Raises:
        OutOfRange: if the height is negative or the outline cannot be.

    Range: above the flank the full diameter; an undercut up to its head, and as there above it.
    Source: own, circle and cone.
    """
    check_profile(profile)
    up = not_negative("height", height)
    if profile.head > 0.0:
        leaning = np.minimum(up, profile.head) * np.tan(profile.half_angle)
        return np.asarray(profile.diameter / 2.0 + leaning, dtype=np.float64)
    corner, angle = profile.corner_radius, profile.half_angle
    turn = corner * (1.0 - np.sin(angle))       # where the corner runs into the flank
    inside = np.minimum(up, turn)
    radius = profile.tip_diameter / 2.0 + np.sqrt(inside * (2.0 * corner - inside))
    return np.asarray(np.minimum(radius + np.maximum(up - turn, 0.0) * np.tan(angle), profile.diameter / 2.0))


def lead_angle(profile: Profile, height: Num) -> Array:
    """Angle between axis and normal of the edge at a height: by its sine a chip is thinner than on a cylinder.

    Args:
        profile: outline of the cutter.
        height: above the tip [m].

    Returns:
        kappa [rad], shape of height: 0 at the tip of a ball, pi/2 on a cylinder.

    Raises:
        OutOfRange: if the height is negative or the outline cannot be.

    Range: above the flank that of a cylinder; of an undercut as on its flank.
    Source: engin2001; own, circle and cone.
    """
    check_profile(profile)
    up = not_negative("height", height)
    corner, angle = profile.corner_radius, profile.half_angle
    if angle < 0.0 or profile.head > 0.0:
        return np.asarray(np.full_like(up, _SQUARE - angle), dtype=np.float64)
    turn = corner * (1.0 - np.sin(angle))
    whole = (up > turn) & (profile_radius(profile, up) >= profile.diameter / 2.0)
    flank = np.where(whole, _SQUARE, _SQUARE - angle)
    rounded = np.arccos(np.clip(1.0 - up / corner, -1.0, 1.0)) if corner > 0.0 else flank
    return np.asarray(np.where(up < turn, rounded, flank), dtype=np.float64)


class Outline(NamedTuple):
    """Slices of the outline of a cutter.

    Fields:
        radius: distance of the edge from the axis [m], shape (S,).
        lead_angle: kappa, angle between axis and normal of the edge [rad], shape (S,).
        length: of the edge [m], shape (S,).
    """

    radius: Array
    lead_angle: Array
    length: Array


def slice_outline(profile: Profile, low: Num, high: Num) -> Outline:
    """Radius, lead and length of the edge of slices, by the chord between foot and top.

    Args:
        profile: outline of the cutter.
        low: foot of each slice above the tip [m], shape (S,).
        high: top of each slice [m], shape (S,).

    Returns:
        Outline, lengths [m] and angles [rad], shape (S,).

    Raises:
        OutOfRange: if a height is negative, or the outline cannot be.

    Range: the chip area of a slice is exact, its edge as long as the chord.
    Source: own, chord.
    """
    foot, top = profile_radius(profile, low), profile_radius(profile, high)
    rise, out = np.asarray(high) - np.asarray(low), top - foot
    return Outline((foot + top) / 2.0, np.arctan2(rise, out), np.hypot(rise, out))


def edge_in_cut(
    profile: Profile, teeth: int, helix: float, depth_of_cut: float, entry: float, exit_angle: float,
    slope: float = 0.0, thin: ThinChips | None = None, beside: Beside = "wall",
) -> Edge:
    """The edge of a nominal cut: a band of material, beside or under the cutter.

    Args:
        profile: outline of the cutter.
        teeth: z, number of teeth [1].
        helix: helix angle [rad].
        depth_of_cut: a_p [m].
        entry: phi_st at the widest place that cuts [rad].
        exit_angle: phi_ex there, up to pi [rad].
        slope: of the way down that the tool goes: 0 level, pi/2 plunging, negative climbing [rad].
        thin: by which the end's edge has its share of the edge force on a way down; None for all of it.
        beside: where the band ends: at a wall along the axis, of which a narrower slice sees less, or nothing; or at
            what the same cutter left a row before, from which every slice takes the same width.

    Returns:
        Edge, its lengths [m] and angles [rad]; downwards with the end of the cutter too, an undercut's upwards with
            the upper side of its head.

    Raises:
        OutOfRange: if a size is out of range, exit is not above entry, or the slope outside -pi/2 ... pi/2.

    Range: the lead of the helix is the same all the way; the end cuts to its centre, its chisel left out; a wall
        stays where the widest place says.
    Source: altintas2012, ch. 2; engin2001 for the outline; own for the band: outlines a step apart.
    """
    bounds = _cut_heights(profile, float(positive("depth of cut", depth_of_cut)), helix)
    widest = float(profile_radius(profile, depth_of_cut if profile.half_angle >= 0.0 else 0.0))
    angles = _row_angles if beside == "row" else _band_angles
    middle = (bounds[:-1] + bounds[1:]) / 2.0
    start, stop = angles(entry, exit_angle, widest, profile_radius(profile, middle))
    if not np.any(stop > start) and exit_angle > entry:        # a band narrower than the step from slice to slice
        bounds = _top_heights(profile, depth_of_cut, widest * (np.cos(entry) - np.cos(exit_angle)))
        middle = (bounds[:-1] + bounds[1:]) / 2.0
        start, stop = angles(entry, exit_angle, widest, profile_radius(profile, middle))
    return edge_of_slices(profile, teeth, helix, middle, np.diff(bounds), start, stop, slope, thin)


def edge_of_slices(
    profile: Profile, teeth: int, helix: float, height: Array, thickness: Array, entry: Array, exit_angle: Array,
    slope: float = 0.0, thin: ThinChips | None = None,
) -> Edge:
    """The edge of slices as a program's window brings them.

    Args:
        profile: outline of the cutter.
        teeth: z, number of teeth [1].
        helix: helix angle [rad].
        height: middle of each slice above the tip [m], shape (S,).
        thickness: of each slice along the axis [m], shape (S,).
        entry: phi_st of each slice [rad], shape (S,).
        exit_angle: phi_ex of each slice; a slice whose exit is not above its entry is out of the cut [rad],
            shape (S,).
        slope: of the way down that the tool goes [rad].
        thin: by which the end's edge has its share of the edge force on a way down; None for all of it.

    Returns:
        Edge, its lengths [m] and angles [rad]; downwards with the end of the cutter too, an undercut's upwards with
            the upper side of its head.

    Raises:
        OutOfRange: if no slice cuts, a slice reaches below the tip, or an angle is out of range.

    Range: as edge_in_cut.
    Source: altintas2012, ch. 2; engin2001 for the outline.
    """
    middle, thick = positive("height of a slice", height), positive("thickness of a slice", thickness)
    low, high = middle - thick / 2.0, middle + thick / 2.0
    if np.any(low < -1e-6 * thick):
        raise OutOfRange(f"a slice reaches {float(-low.min()):.4g} m below the tip", right="heights from the tip up")
    start, stop = finite("entry", entry), finite("exit", exit_angle)
    between("helix", helix, 0.0, 1.4, right="from 0 to 1.4 rad (80 degrees)")
    between("slope", slope, -_SQUARE, _SQUARE, right="from -pi/2 to pi/2")
    cuts = stop > start
    if not np.any(cuts):
        raise OutOfRange("no slice of the cutter is in the work", right="an exit above its entry")
    wind = 2.0 * np.tan(helix) / profile.diameter
    radius, lead, length = slice_outline(profile, np.maximum(low, 0.0), high)
    rows = np.stack([np.maximum(low, 0.0), high, radius, lead, length, wind * np.maximum(low, 0.0),
                     np.maximum(wind * high, wind * np.maximum(low, 0.0) + STRAIGHT), start, stop])[:, cuts]
    if slope > 0.0:
        end = np.concatenate([_behind(rows, -1.0), _end(profile, rows, slope)], axis=1)
        share = np.ones(rows.shape[1] + end.shape[1])
        if thin is not None:
            share[rows.shape[1]:] = share_of_edge(thin.feed_per_tooth * _chips(end, slope), thin)
        return _edge(teeth, slope, np.concatenate([rows, end], axis=1), share)
    if slope < 0.0 and profile.head > 0.0:
        top = 2.0 * float(profile_radius(profile, profile.head))
        reached = float(rows[1].max()) >= profile.head * (1.0 - _TOP)
        rings = _rings(profile, rows, profile.neck, top if reached else profile.neck, np.pi)
        rows = np.concatenate([rows, _behind(rows, 1.0), rings], axis=1)
    return _edge(teeth, slope, rows, np.ones(rows.shape[1]))


def _edge(teeth: int, slope: float, rows: Array, share: Array) -> Edge:
    between("angle of entry", rows[7], 0.0, 2.0 * np.pi, right="from 0 to 2 pi")
    between("angle of exit", rows[8], 0.0, 2.0 * np.pi + 1e-9, right="from 0 to 2 pi")
    return Edge(whole_teeth(teeth), float(slope), *(tuple(float(item) for item in row) for row in (*rows, share)))


def _cut_heights(profile: Profile, depth: float, helix: float) -> Array:
    """Bounds of slices up to a depth: even in angle round a corner, along a cone, and up a helix."""
    check_profile(profile)
    corner, angle = profile.corner_radius, profile.half_angle
    turn = corner * (1.0 - np.sin(angle))
    marks = [0.0]
    if turn > 0.0:
        last = np.arccos(1.0 - min(depth, turn) / corner)
        marks += list(corner * (1.0 - np.cos(np.linspace(0.0, last, _ROUND + 1)[1:])))
    top = turn
    if angle < 0.0:
        return np.linspace(0.0, depth, _CONE + 1)
    if angle > 0.0:
        top = turn + (profile.diameter / 2.0 - profile_radius(profile, turn)) / np.tan(angle)
        if depth > turn:
            marks += list(np.linspace(turn, min(depth, top), _CONE + 1)[1:])
    if depth > top:
        lag = 2.0 * np.tan(helix) * (depth - top) / profile.diameter
        alone = 1 if len(marks) == 1 else max(1, int(np.ceil(lag / _LAG)))
        marks += list(np.linspace(top, depth, alone + 1)[1:])
    return np.asarray(marks, dtype=np.float64)


def _top_heights(profile: Profile, depth: float, band: float) -> Array:
    """Bounds of slices of what reaches into a narrow band beside the widest place, at the top of the cut."""
    least, low, high = float(profile_radius(profile, depth)) - band, 0.0, depth
    for _ in range(_HALVINGS):
        half = 0.5 * (low + high)
        low, high = (half, high) if profile_radius(profile, half) < least else (low, half)
    return np.linspace(low, depth, _RINGS + 1)


def _band_angles(entry: float, leave: float, widest: float, radius: Array) -> tuple[Array, Array]:
    """Where a slice of a smaller radius enters and leaves the band that the widest place cuts."""
    first, last = widest * np.cos(entry), widest * np.cos(leave)
    start = np.where(entry > 0.0, np.arccos(np.clip(first / radius, -1.0, 1.0)), 0.0)
    stop = np.where(leave < np.pi, np.arccos(np.clip(last / radius, -1.0, 1.0)), np.pi)
    return np.asarray(start), np.asarray(stop)


def _row_angles(entry: float, leave: float, widest: float, radius: Array) -> tuple[Array, Array]:
    """Where a slice enters and leaves what a row before left: all take as wide a step as the widest place."""
    if entry > 0.0 and leave < np.pi:
        return _band_angles(entry, leave, widest, radius)
    step = widest * (np.cos(entry) - np.cos(leave))
    free = np.arccos(np.clip(step / radius - 1.0, -1.0, 1.0))       # of half a turn, as in a climb cut
    return (free, np.full_like(radius, np.pi)) if entry > 0.0 else (np.zeros_like(radius), np.pi - free)


def _behind(rows: Array, way: float) -> Array:
    """What lies behind the axis cuts as well on a way down (-1) or up (1), wherever its edge leans that way; the chip
    says how much."""
    leans = way * (rows[3] - _SQUARE) > 1e-9
    back = rows[:, leans].copy()
    back[7], back[8] = 2.0 * np.pi - rows[8, leans], 2.0 * np.pi - rows[7, leans]
    return back


def _end(profile: Profile, rows: Array, slope: float) -> Array:
    """Rings of the flat tip where they are in the work on a way down.

    What the corner has left stands above its plane by tan(slope) for each length that it went since; a tooth that
    rises towards the middle by its dish meets it only where it stands higher. On a slope less than the dish that is
    behind the axis and near the corner; on a level path it is nowhere.
    """
    outer, over = profile.tip_diameter / 2.0, np.tan(profile.dish) / np.tan(slope)
    if outer <= profile.hole / 2.0:
        return np.empty((9, 0))
    inner = max(profile.hole / 2.0, outer * (over - 1.0) / (over + 1.0))
    edges = np.linspace(inner, outer, _RINGS + 1)
    radius = (edges[:-1] + edges[1:]) / 2.0
    part = radius / outer
    ahead = np.ones(_RINGS) if over <= 0.0 else ((1.0 + part) - (1.0 - part) * over**2) / (2.0 * over * part)
    free = np.arccos(np.clip(ahead, -1.0, 1.0))          # to either side of the way ahead it is out of the work
    touch = ((0.0 * free, _SQUARE - free), (_SQUARE + free, np.minimum(5.0 * _SQUARE - free, 2.0 * np.pi)))
    found = []
    for band in _bands(rows):
        start, stop = _band_angles(*band, radius)
        for first, last in ((start, stop), (2.0 * np.pi - stop, 2.0 * np.pi - start)):
            for low, high in touch:
                arc = np.maximum(first, low), np.minimum(last, high)
                found.append(np.stack([0.0 * radius, 0.0 * radius, radius, 0.0 * radius - profile.dish,
                                       np.diff(edges) / np.cos(profile.dish), 0.0 * radius, 0.0 * radius + STRAIGHT,
                                       *arc])[:, arc[1] > arc[0]])
    return np.concatenate(found, axis=1)


def _chips(rows: Array, slope: float) -> Array:
    """Mean thickness over feed per tooth of the chips that slices cut, where they cut, shape (S,)."""
    lead, start, stop = rows[3], rows[7], rows[8]
    angle = start[:, None] + (stop - start)[:, None] * (_ARC_T + 1.0) / 2.0
    chip = np.cos(slope) * np.sin(lead)[:, None] * np.sin(angle) + np.sin(slope) * np.cos(lead)[:, None]
    cut = (chip > 0.0) @ _ARC_W
    return np.asarray(np.maximum(chip, 0.0) @ _ARC_W / np.maximum(cut, np.finfo(np.float64).tiny))


def _rings(profile: Profile, rows: Array, inner: float, outer: float, lead: float) -> Array:
    """Rings of the top of a head between two diameters, before and behind the axis."""
    if outer <= inner:
        return np.empty((9, 0))
    edges = np.linspace(inner / 2.0, outer / 2.0, _RINGS + 1)
    radius, height = (edges[:-1] + edges[1:]) / 2.0, profile.head if lead > 0.0 else 0.0
    zero = np.zeros(_RINGS)
    lag = rows[6].max() if lead > 0.0 else 0.0
    starts, stops = zip(*(_band_angles(*band, radius) for band in _bands(rows)), strict=True)
    front = np.concatenate([
        np.stack([zero + height, zero + height, radius, zero + lead, np.diff(edges), zero + lag,
                  zero + lag + STRAIGHT, start, stop]) for start, stop in zip(starts, stops, strict=True)], axis=1)
    front = front[:, front[8] > front[7]]
    back = front.copy()
    back[7], back[8] = 2.0 * np.pi - front[8], 2.0 * np.pi - front[7]
    return np.concatenate([front, back], axis=1)


def _bands(rows: Array) -> list[tuple[float, float, float]]:
    """Entry, exit and radius of what cuts at the height of the first slice: two where it is in the work twice."""
    return [(float(row[7]), float(row[8]), float(row[2])) for row in rows.T if row[0] == rows[0, 0]]
