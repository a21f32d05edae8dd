"""Kernels: a cutter of any convex profile (ball, rounded corner, taper, chamfer, point) along a line or down.

Above a cell the swept tool is lowest where its profile is as steep as the path: as both are convex there is one such
place. How far ahead of the tool's middle it lies, over half the chord of the outline there, is `ahead`: a table by
distance across the path, made once for each slope. An error of that place counts only by its square.

As the tool goes along, only the cells are cut whose lowest place it passes; what lies in front is cut where it turns,
stops or a window ends: until then the next piece of path is about to cut it deeper.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ._cells import (
    ACROSS,
    ALONG,
    CORNER,
    HEIGHT,
    LEAST,
    LOW,
    NO,
    PART,
    PASSED,
    SLIVER,
    TOP,
    YES,
    Line,
    Work,
    below,
    engage,
    larger,
    long,
    note,
    pick,
    smaller,
    spot,
    take_whole,
    widened,
)
from ._spans import band_spans, dome_spans, row_spans
from .compiling import inner, kernel

Singles = NDArray[np.float32]

DEEP = 8.0                    #: [cells] lowest places that spread further along the path are walked along
HIGH = np.float32(1.0e9)      #: [mm] above all material
HIGH_UP = 1.0e9               #: [mm] the same


class Form(NamedTuple):
    """The profile of a cutter: flat, then an arc, then a straight flank, then straight up.

    Fields:
        radius: of the cutter [mm].
        flat: radius of the flat at its end [mm].
        arc: radius of its corner [mm].
        bend: radius at which the arc becomes the flank [mm].
        bend_z: height above the tip there [mm].
        slope: of the flank, height for each radius [1].
        cell: side of a cell [mm].
        neck: radius of what is above the teeth, where they are wider, else 0 [mm].
        land: height up to which it then has its whole radius [mm].
        head: height at which its neck begins [mm].
    """

    radius: float
    flat: float
    arc: float
    bend: float
    bend_z: float
    slope: float
    cell: float
    neck: float
    land: float
    head: float


@inner
def height_at(form: Form, away: float) -> float:
    """Height of the profile above the tip, `away` from the axis [mm]."""
    if away <= form.flat:
        return 0.0
    if away < form.bend:
        out = away - form.flat
        return form.arc - math.sqrt(larger(form.arc * form.arc - out * out, 0.0))
    return form.bend_z + (smaller(away, form.radius) - form.bend) * form.slope


@inner
def screen_level(work: Work, count: int, line: Line, form: Form) -> None:
    """Heights of the envelope over the cells that are picked, by a level move or where the tool stands."""
    one = np.float32
    size, flat, arc, square = one(form.cell), one(form.flat), one(form.arc), one(form.arc * form.arc)
    bend, start, slope = one(form.bend), one(form.bend_z + line.z - form.bend * form.slope), one(form.slope)
    base, none, length = one(line.z) + arc, one(0.0), one(line.length)
    for e in range(count):
        q, s = work.places[ACROSS, e], work.places[ALONG, e]
        t = smaller(larger(s, none), length)
        away = np.sqrt(q * q + (s - t) * (s - t)) * size
        out = larger(away - flat, none)
        curved = base - np.sqrt(larger(square - out * out, none))
        work.places[HEIGHT, e] = curved if away < bend else start + away * slope
        work.places[PASSED, e] = t


@inner
def screen_slope(
    work: Work, count: int, line: Line, form: Form, ahead: Singles, slack: float, outer: float,
) -> None:
    """The same by a move that rises or falls, where it passes its lowest place: from `slack` before its start [cells]
    and no further than `outer` from it."""
    one = np.float32
    size, flat, arc, square = one(form.cell), one(form.flat), one(form.arc), one(form.arc * form.arc)
    bend, start, slope = one(form.bend), one(form.bend_z - form.bend * form.slope), one(form.slope)
    none, length, rise, base = one(0.0), one(line.length), one(line.rise), one(line.z)
    before, radius, widest = one(-slack), one(form.radius / form.cell), one(outer)
    last = len(ahead) - 1
    scale, top = one(last) / radius, one(last) - one(0.001)
    for e in range(count):
        q, s = work.places[ACROSS, e], work.places[ALONG, e]
        at = smaller(abs(q) * scale, top)
        k = np.int32(at)
        ratio = ahead[k] + (ahead[k + 1] - ahead[k]) * (at - one(k))
        passed = s - ratio * np.sqrt(larger(radius * radius - q * q, none))
        t = smaller(larger(passed, none), length)
        away = np.sqrt(q * q + (s - t) * (s - t)) * size
        out = larger(away - flat, none)
        curved = arc - np.sqrt(larger(square - out * out, none))
        z = base + rise * t + (curved if away < bend else start + away * slope)
        work.places[HEIGHT, e] = z if before <= passed <= length and abs(q) <= widest else HIGH
        work.places[PASSED, e] = t


@kernel
def cut_hits(work: Work, count: int, line: Line, form: Form) -> None:
    """Cut the cells that are picked and stand above the envelope."""
    over = form.cell / form.radius
    volume, lowest, highest = 0.0, 1.0e9, 0.0
    for e in range(count):
        k = long(work.picked[e])
        top, z = np.float64(work.rods[TOP, spot(k)]), np.float64(work.places[HEIGHT, e])
        if top <= z + LEAST:
            continue
        across, along, t = work.places[ACROSS, e], work.places[ALONG, e], work.places[PASSED, e]
        tip = line.z + line.rise * t
        met = z
        if line.rise < 0.0 and along < t:
            tip = line.z + line.rise * smaller(larger(along, 0.0), line.length)
            met = smaller(larger(tip + height_at(form, abs(across) * form.cell), z), top)
        was, wide = met, HIGH_UP
        if work.rods[PART, spot(k)] > 0.0:
            was, wide = np.float64(work.rods[LOW, spot(k)]), widened(work, k, z, 1.0)
        removed = take_whole(work, k, z)
        if met > z:
            rear = (met - z) / (top - z)
            below(work, removed * rear)
            removed, wide = removed * (1.0 - rear), wide * (1.0 - rear)
        volume, wide = volume + removed, smaller(wide, removed)
        if wide > SLIVER * (top - met):
            lowest, highest = smaller(lowest, met - tip), larger(highest, top - tip)
        if wide > 0.0:
            engage(work, across * over, met - tip, top - tip, wide)
        if removed > wide and was > met:
            engage(work, across * over, met - tip, was - tip, removed - wide)
            lowest, highest = smaller(lowest, met - tip), larger(highest, was - tip)
    if volume > 0.0:
        note(work, volume, lowest, highest)


@kernel
def cut_end(work: Work, count: int, across: float) -> None:
    """Cut the cells that are picked, no further `across` the path [cells], down to the envelope: by the end."""
    for e in range(count):
        k, z = long(work.picked[e]), np.float64(work.places[HEIGHT, e])
        if work.rods[TOP, spot(k)] > z + LEAST and abs(work.places[ACROSS, e]) <= across:
            below(work, take_whole(work, k, z))


@kernel
def cut_round(work: Work, line: Line, form: Form, ahead: Singles, slack: float, reach: float) -> None:
    """Cut the cells within `reach` of a line whose lowest place the cutter passes, from `slack` before its start."""
    radius = form.radius / form.cell
    outer, low, high = smaller(radius - CORNER, reach), 0.0, 0.0
    if line.rise != 0.0:
        for ratio in ahead:
            low, high = smaller(low, ratio * radius), larger(high, ratio * radius)
    deep = high - low > DEEP
    if deep:
        base, first, last = dome_spans(line, ahead, radius, slack, outer, work)
    else:
        base, last = band_spans(line.x, line.y, line.ux, line.uy, slack - low, line.length + high, outer, work)
        first = base
    lowest = line.z + smaller(line.rise * line.length, 0.0) + LEAST
    for piece in range(2 if deep else 1):
        row = first
        while row < last:
            row, count = pick(work, line, base, row, last, piece, lowest)
            if line.rise == 0.0:
                screen_level(work, count, line, form)
            else:
                screen_slope(work, count, line, form, ahead, slack, outer)
            cut_hits(work, count, line, form)


@kernel
def cut_ahead(work: Work, line: Line, form: Form, back: float, reach: float, ends: float) -> None:
    """Cut all cells that a cutter covers where it stands, whole but for those behind it.

    Args:
        work: on what.
        line: where it stands and along what it came; of no length.
        form: of the cutter.
        back: how far behind its middle cells count [cells].
        reach: how far from it they count [cells].
        ends: YES where its end takes them, and no side.
    """
    radius = form.radius / form.cell
    first, last = row_spans(line.x, line.y, line.ux, line.uy, 0.0, back, smaller(radius, reach), 0.0, work)
    row = first
    while row < last:
        row, count = pick(work, line, first, row, last, long(0), line.z + LEAST)
        screen_level(work, count, line, form)
        if ends > NO:
            cut_end(work, count, radius - CORNER)
        else:
            cut_hits(work, count, line, form)


@kernel
def cut_behind(work: Work, line: Line, form: Form) -> None:
    """Cut the cells behind a cutter that came down along a line to where it stands, and once covered them whole."""
    back = Line(line.x, line.y, line.z, -line.ux, -line.uy, 0.0, 0.0)
    cut_ahead(work, back, form, 0.0, form.radius / form.cell, YES)


@kernel
def stamp(work: Work, line: Line, form: Form) -> None:
    """Cut all cells that a cutter covers whole as it stands, or goes straight up or down; its end takes it all."""
    foot = Line(line.x, line.y, line.z + smaller(line.rise, 0.0), 1.0, 0.0, 0.0, 0.0)
    radius = form.radius / form.cell
    cut_ahead(work, foot, form, radius + 2.0, radius - CORNER, YES)
