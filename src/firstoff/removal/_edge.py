"""Kernels: cells on the edge of a tool, of which it covers a share: beside its path, and round it where it stands."""

from __future__ import annotations

import math

import numpy as np

from ._cells import (
    ACROSS,
    ALONG,
    CORNER,
    HEIGHT,
    HIGHEST,
    LEAST,
    LOW,
    LOWEST,
    NO,
    OVERLAP,
    PART,
    PASSED,
    TOP,
    VOLUME,
    Line,
    Work,
    below,
    covered,
    engage,
    higher,
    larger,
    long,
    pick_thin,
    smaller,
    spot,
    take,
    take_side,
    widened,
)
from ._round import Form, height_at
from ._spans import row_spans, steep
from .compiling import inner, kernel

NEAR = 0.05     #: [cells] more than a corner from the edge, for rounding


@inner
def cut_share(work: Work, k: int, foot: float, form: Form, share: float, across: float, ends: float) -> None:
    """Cut the share of a cell that the edge covers, the tip at `foot` [mm]; `ends`: YES where its end takes it."""
    if share <= 0.0:
        return
    low = height_at(form, form.radius - 0.5 * share * form.cell)
    top = float(work.rods[TOP, spot(k)])
    if top <= foot + low + LEAST:
        return
    if ends > NO:
        below(work, take(work, k, foot + low, share))
    else:
        take_side(work, k, foot + low, share, across, low, foot)


@inner
def cut_aside(work: Work, row: int, column: int, line: Line, form: Form, wedge: float, over: float) -> None:
    """Cut the share of a cell that lies on the edge of a tool beside a line; `over` is one over its radius [1/cells].
    """
    x, y = column - line.x, row - line.y
    along, across = x * line.ux + y * line.uy, y * line.ux - x * line.uy
    if along > line.length or along <= -wedge:
        return
    edge = form.radius / form.cell - (abs(across) if along >= 0.0 else math.sqrt(x * x + y * y))
    if abs(edge) < CORNER:
        share = covered(edge, line.ux, line.uy)
        foot = line.z + line.rise * larger(along, 0.0)
        cut_share(work, row * work.columns + column, foot, form, share, across * over, NO)


@inner
def cut_beside(work: Work, line: Line, form: Form, wedge: float) -> None:
    """Cut the shares of cells on both sides of a line.

    Args:
        work: on what.
        line: the path.
        form: of the cutter.
        wedge: how far behind the start the last piece left a gap, because the path turned [cells].
    """
    radius = form.radius / form.cell
    over_x, over_y, over = steep(line.ux), steep(line.uy), 1.0 / radius
    near = CORNER + NEAR + 0.5 * wedge * wedge * over
    for hand in (-1.0, 1.0):
        mx, my = line.x - hand * line.uy * radius, line.y + hand * line.ux * radius
        ax, ay = mx - wedge * line.ux, my - wedge * line.uy
        bx, by = mx + line.length * line.ux, my + line.length * line.uy
        first, last = larger(math.ceil(smaller(ay, by) - 1.0), 0), smaller(int(larger(ay, by) + 1.0) + 1, work.rows)
        left, right = smaller(ax, bx) - 1.0, larger(ax, bx) + 1.0
        for j in range(first, last):
            y = j - my
            one, two = (y * line.ux - near) * over_y, (y * line.ux + near) * over_y
            low, high = (-wedge - y * line.uy) * over_x, (line.length - y * line.uy) * over_x
            begin = larger(larger(left, mx + smaller(one, two)), mx + smaller(low, high) - 1.0)
            end = smaller(smaller(right, mx + larger(one, two)), mx + larger(low, high) + 1.0)
            begin = smaller(larger(begin, 0.0), float(work.columns))
            end = smaller(larger(end, -1.0), work.columns - 1.0)
            for i in range(math.ceil(begin), math.floor(end) + 1):
                cut_aside(work, j, i, line, form, wedge, over)


@inner
def shares(work: Work, count: int, line: Line, radius: float) -> None:
    """How much of the cells that are picked a tool of this radius [cells] covers where it stands."""
    one = np.float32
    ux, uy, whole, least = one(line.ux), one(line.uy), one(radius), one(1.0e-6)
    for e in range(count):
        q, s = work.places[ACROSS, e], work.places[ALONG, e]
        away = np.sqrt(q * q + s * s)
        over = one(1.0) / larger(away, least)
        work.places[HEIGHT, e] = covered(
            whole - away, (s * ux - q * uy) * over, (s * uy + q * ux) * over)


@kernel
def cut_front(work: Work, line: Line, form: Form, back: float, ends: float) -> None:
    """Cut the shares of cells on the edge of a tool where it stands, `back` behind its middle and further on."""
    radius = form.radius / form.cell
    first, last = row_spans(
        line.x, line.y, line.ux, line.uy, 0.0, back, radius + CORNER, radius - CORNER, work)
    row = first
    while row < last:
        row, count = pick_thin(work, line, first, row, last, line.z + LEAST)
        shares(work, count, line, radius)
        for e in range(count):
            share, across = np.float64(work.places[HEIGHT, e]), np.float64(work.places[ACROSS, e]) / radius
            cut_share(work, long(work.picked[e]), line.z, form, share, across, ends)


@inner
def would_take(work: Work, k: int, z: float, share: float) -> float:
    """What a share of a cell of one interval, cut down to z, would take off that part of it which was cut before."""
    part, deeper = float(work.rods[PART, spot(k)]), float(work.rods[LOW, spot(k)]) - z
    return smaller(share, part) * deeper if deeper > 0.0 else 0.0


@kernel
def owe(work: Work, line: Line, radius: float) -> int:
    """What the edge of a flat tool has cut in front where it stands at a level, but is not yet taken from its cells.

    It is booked, and stays to be booked the other way round where the path goes on: what is cut then is more by it.

    Returns:
        How many cells it is; -1 where there are more than there is room for. In `places` are then where across the
        path they lie, how much of what stood to its top, how high that is, and how much of what stood to LOW.
    """
    first, last = row_spans(
        line.x, line.y, line.ux, line.uy, 0.0, OVERLAP, radius + CORNER, radius - CORNER, work)
    row, count = pick_thin(work, line, first, first, last, line.z + LEAST)
    if row < last:
        return -1
    shares(work, count, line, radius)
    for e in range(count):
        k = long(work.picked[e])
        share = np.float64(work.places[HEIGHT, e])
        high = np.float64(work.rods[TOP, spot(k)]) - line.z
        work.places[PASSED, e], work.places[ALONG, e] = high, 0.0
        work.places[HEIGHT, e] = share * high
        if work.rods[PART, spot(k)] > 0.0:
            work.places[HEIGHT, e] = widened(work, k, line.z, share)
            work.places[ALONG, e] = would_take(work, k, line.z, share)
    book_owed(work, count, line.z, radius, 1.0)
    return count


@inner
def book_owed(work: Work, count: int, z: float, radius: float, sign: float) -> None:
    """Book what `owe` found at a height, or book it back."""
    over, volume, highest = 1.0 / radius, 0.0, 0.0
    for e in range(count):
        removed, high = np.float64(work.places[HEIGHT, e]), np.float64(work.places[PASSED, e])
        across, deeper = np.float64(work.places[ACROSS, e]) * over, np.float64(work.places[ALONG, e])
        if removed > 0.0:
            volume, highest = volume + removed, higher(highest, high, removed)
            engage(work, across, 0.0, high, sign * removed)
        if deeper > 0.0:
            high = np.float64(work.rods[LOW, spot(work.picked[e])]) - z
            volume, highest = volume + deeper, higher(highest, high, deeper)
            engage(work, across, 0.0, high, sign * deeper)
    sums = len(work.edges)
    work.book[sums, VOLUME] += sign * volume
    if sign > 0.0 and highest > 0.0:
        work.book[sums, LOWEST], work.book[sums, HIGHEST] = 0.0, larger(work.book[sums, HIGHEST], highest)
