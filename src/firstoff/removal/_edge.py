"""Kernels: cells on the edge of a tool, of which it covers a share: beside its path, and round it where it stands."""

from __future__ import annotations

import math

import numpy as np

from ._cells import (
    ACROSS,
    ALONG,
    CORNER,
    HEIGHT,
    LEAST,
    NO,
    TOP,
    Line,
    Work,
    below,
    covered,
    long,
    pick,
    side,
    take,
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
    top = float(work.rods[TOP, k])
    if top <= foot + low + LEAST:
        return
    removed = take(work, k, foot + low, share)
    if ends > NO:
        below(work, removed)
    else:
        side(work, across, low, top - foot, removed)


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
        foot = line.z + line.rise * max(along, 0.0)
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
        first, last = max(math.ceil(min(ay, by) - 1.0), 0), min(int(max(ay, by) + 1.0) + 1, work.rows)
        left, right = min(ax, bx) - 1.0, max(ax, bx) + 1.0
        for j in range(first, last):
            y = j - my
            one, two = (y * line.ux - near) * over_y, (y * line.ux + near) * over_y
            begin = max(left, mx + min(one, two), mx + min(
                (-wedge - y * line.uy) * over_x, (line.length - y * line.uy) * over_x) - 1.0)
            end = min(right, mx + max(one, two), mx + max(
                (-wedge - y * line.uy) * over_x, (line.length - y * line.uy) * over_x) + 1.0)
            begin, end = min(max(begin, 0.0), float(work.columns)), min(max(end, -1.0), work.columns - 1.0)
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
        over = one(1.0) / max(away, least)
        work.places[HEIGHT, e] = covered(
            whole - away, (s * ux - q * uy) * over, (s * uy + q * ux) * over)


@kernel
def cut_front(work: Work, line: Line, form: Form, back: float, ends: float) -> None:
    """Cut the shares of cells on the edge of a tool where it stands, `back` behind its middle and further on."""
    radius = form.radius / form.cell
    first, last = row_spans(
        line.x, line.y, line.ux, line.uy, 0.0, back, radius + CORNER, radius - CORNER, work)
    for piece in range(2):
        row = first
        while row < last:
            row, count = pick(work, line, first, row, last, piece, line.z + LEAST)
            shares(work, count, line, radius)
            for e in range(count):
                share, across = np.float64(work.places[HEIGHT, e]), np.float64(work.places[ACROSS, e]) / radius
                cut_share(work, long(work.picked[0, e]), line.z, form, share, across, ends)
