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

from ._cells import CORNER, LEAST, TOP, Line, Work, below, engage, note, take_whole
from ._spans import band_spans, row_spans
from .compiling import inner, kernel

Singles = NDArray[np.float32]

HIGH = np.float32(1.0e9)      #: [mm] above all material


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
    """

    radius: float
    flat: float
    arc: float
    bend: float
    bend_z: float
    slope: float
    cell: float


@inner
def height_at(form: Form, away: float) -> float:
    """Height of the profile above the tip, `away` from the axis [mm]."""
    if away <= form.flat:
        return 0.0
    if away < form.bend:
        out = away - form.flat
        return form.arc - math.sqrt(max(form.arc * form.arc - out * out, 0.0))
    return form.bend_z + (min(away, form.radius) - form.bend) * form.slope


@inner
def place_of(ahead: Singles, across: float, radius: float) -> float:
    """How far ahead of the tool's middle it is lowest over a cell, `across` from the path; all in cells."""
    last = len(ahead) - 1
    at = min(abs(across) / radius, 1.0) * last
    k = min(int(at), last - 1)
    ratio = ahead[k] + (ahead[k + 1] - ahead[k]) * (at - k)
    return float(ratio) * math.sqrt(max(radius * radius - across * across, 0.0))


@inner
def screen_level(heights: Singles, line: Line, form: Form, y: float, begin: int, count: int) -> None:
    """Heights of the envelope over cells of a row, by a level move, or where the tool stands."""
    one = np.float32
    ux, uy, size = one(line.ux), one(line.uy), one(form.cell)
    along, across = one(y * line.uy - line.x * line.ux), one(y * line.ux + line.x * line.uy)
    flat, arc, square = one(form.flat), one(form.arc), one(form.arc * form.arc)
    bend, start, slope = one(form.bend), one(form.bend_z + line.z - form.bend * form.slope), one(form.slope)
    base, none, length = one(line.z) + arc, one(0.0), one(line.length)
    for e in range(count):
        i = one(begin + e)
        q, s = across - i * uy, along + i * ux
        beyond = max(s - length, none) + min(s, none)
        away = np.sqrt(q * q + beyond * beyond) * size
        out = max(away - flat, none)
        curved = base - np.sqrt(max(square - out * out, none))
        heights[e] = curved if away < bend else start + away * slope


@inner
def screen_slope(
    heights: Singles, line: Line, form: Form, ahead: Singles, slack: float, y: float, begin: int, count: int,
) -> None:
    """The same by a move that rises or falls, where it passes its lowest place; `slack` before its start [cells]."""
    one = np.float32
    ux, uy, size = one(line.ux), one(line.uy), one(form.cell)
    along, across = one(y * line.uy - line.x * line.ux), one(y * line.ux + line.x * line.uy)
    flat, arc, square = one(form.flat), one(form.arc), one(form.arc * form.arc)
    bend, start, slope = one(form.bend), one(form.bend_z - form.bend * form.slope), one(form.slope)
    none, length, rise, base, before = one(0.0), one(line.length), one(line.rise), one(line.z), one(-slack)
    radius = one(form.radius / form.cell)
    last = len(ahead) - 1
    scale, top = one(last) / radius, one(last) - one(0.001)
    for e in range(count):
        i = one(begin + e)
        q, s = across - i * uy, along + i * ux
        at = min(abs(q) * scale, top)
        k = np.int32(at)
        ratio = ahead[k] + (ahead[k + 1] - ahead[k]) * (at - one(k))
        passed = s - ratio * np.sqrt(max(radius * radius - q * q, none))
        t = max(passed, none)
        away = np.sqrt(q * q + (s - t) * (s - t)) * size
        out = max(away - flat, none)
        curved = arc - np.sqrt(max(square - out * out, none))
        z = base + rise * t + (curved if away < bend else start + away * slope)
        heights[e] = z if before <= passed <= length else HIGH


@inner
def cut_hits(
    work: Work, row: int, y: float, begin: int, count: int, line: Line, form: Form, ahead: Singles,
) -> None:
    """Cut the cells of a row that stand above the envelope."""
    radius = form.radius / form.cell
    over = 1.0 / radius
    volume, lowest, highest = 0.0, 1.0e9, 0.0
    for e in range(count):
        k = row + begin + e
        top, z = work.rods[TOP, k], work.heights[e]
        if top <= z + np.float32(LEAST):
            continue
        x = begin + e - line.x
        across, along = y * line.ux - x * line.uy, x * line.ux + y * line.uy
        t = 0.0
        if line.length > 0.0:
            t = along - place_of(ahead, across, radius) if line.rise != 0.0 else along
            t = min(max(t, 0.0), line.length)
        tip = line.z + line.rise * t
        met = z
        if line.rise < 0.0 and along < t:
            tip = line.z + line.rise * min(max(along, 0.0), line.length)
            met = min(max(tip + height_at(form, abs(across) * form.cell), z), top)
        removed = take_whole(work, k, z)
        if met > z:
            rear = removed * (met - z) / (top - z)
            below(work, rear)
            removed -= rear
        if removed > 0.0:
            volume += removed
            lowest, highest = min(lowest, met - tip), max(highest, top - tip)
            engage(work, across * over, met - tip, top - tip, removed)
    if volume > 0.0:
        note(work, volume, lowest, highest)


@inner
def cut_round(work: Work, line: Line, form: Form, ahead: Singles, slack: float, reach: float) -> None:
    """Cut the cells within `reach` of a line whose lowest place the cutter passes, from `slack` before its start."""
    radius = form.radius / form.cell
    back, beyond = slack, line.length
    if line.rise != 0.0:
        for ratio in ahead:
            back, beyond = max(back, slack - ratio * radius), max(beyond, line.length + ratio * radius)
    outer = min(radius - CORNER, reach)
    first, last = band_spans(line.x, line.y, line.ux, line.uy, back, beyond, outer, work)
    for j in range(first, last):
        at, y = j - first, j - line.y
        begin, count = work.spans[0, at], work.spans[1, at] - work.spans[0, at]
        if count <= 0:
            continue
        if line.rise == 0.0:
            screen_level(work.heights, line, form, y, begin, count)
        else:
            screen_slope(work.heights, line, form, ahead, slack, y, begin, count)
        cut_hits(work, j * work.columns, y, begin, count, line, form, ahead)


@kernel
def cut_ahead(work: Work, line: Line, form: Form, ahead: Singles, back: float, reach: float) -> None:
    """Cut all cells within `reach` of where the cutter stands, up to `back` behind it, that it covers whole."""
    outer = min(form.radius / form.cell - CORNER, reach)
    first, last = row_spans(line.x, line.y, line.ux, line.uy, 0.0, back, outer, 0.0, work)
    for j in range(first, last):
        at, y = j - first, j - line.y
        begin, count = work.spans[0, at], work.spans[3, at] - work.spans[0, at]
        if count > 0:
            screen_level(work.heights, line, form, y, begin, count)
            cut_hits(work, j * work.columns, y, begin, count, line, form, ahead)


@kernel
def cut_behind(work: Work, line: Line, form: Form) -> None:
    """Cut the cells behind a cutter that came down along a line to where it stands, and once covered them whole."""
    radius = form.radius / form.cell
    first, last = band_spans(line.x, line.y, line.ux, line.uy, radius, 0.0, radius - CORNER, work)
    for j in range(first, last):
        y = j - line.y
        for i in range(work.spans[0, j - first], work.spans[1, j - first]):
            k = j * work.columns + i
            x = i - line.x
            away = form.cell * math.sqrt(x * x + y * y)
            if away > form.radius or work.rods[TOP, k] <= line.z + LEAST:
                continue
            z = line.z + height_at(form, away)
            if work.rods[TOP, k] > z + LEAST:
                below(work, take_whole(work, k, z))


@kernel
def stamp(work: Work, line: Line, form: Form) -> None:
    """Cut all cells that a cutter covers whole as it stands, or goes straight up or down; its end takes it all."""
    tip = line.z + min(line.rise, 0.0)
    radius = form.radius / form.cell - CORNER
    first, last = row_spans(line.x, line.y, 1.0, 0.0, 0.0, radius + 2.0, radius, 0.0, work)
    for j in range(first, last):
        y = j - line.y
        for i in range(work.spans[0, j - first], work.spans[3, j - first]):
            k = j * work.columns + i
            if work.rods[TOP, k] <= tip + LEAST:
                continue
            x = i - line.x
            z = tip + height_at(form, form.cell * math.sqrt(x * x + y * y))
            if work.rods[TOP, k] > z + LEAST:
                below(work, take_whole(work, k, z))
