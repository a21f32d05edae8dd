"""Kernels: cells on the edge of a tool, of which it covers a share: beside its path, and round it where it stands."""

from __future__ import annotations

import math

from ._cells import CORNER, LEAST, TOP, Line, Work, below, covered, side, take
from ._round import Form, height_at
from ._spans import row_spans
from .compiling import inner, kernel


@inner
def cut_share(work: Work, k: int, foot: float, form: Form, share: float, across: float, ends: bool) -> None:
    """Cut the share of a cell that the edge covers, the tip at `foot` [mm]; `ends`: the tool's end takes it."""
    if share <= 0.0:
        return
    low = height_at(form, form.radius - 0.5 * share * form.cell)
    top = float(work.rods[TOP, k])
    if top <= foot + low + LEAST:
        return
    removed = take(work, k, foot + low, share)
    if ends:
        below(work, removed)
    else:
        side(work, across, low, top - foot, removed)


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
    for hand in (-1.0, 1.0):
        mx, my = line.x - hand * line.uy * radius, line.y + hand * line.ux * radius
        ax, ay = mx - wedge * line.ux, my - wedge * line.uy
        bx, by = mx + line.length * line.ux, my + line.length * line.uy
        first, last = max(math.ceil(min(ay, by) - 1.0), 0), min(int(max(ay, by) + 1.0) + 1, work.rows)
        left, right = max(math.ceil(min(ax, bx) - 1.0), 0), min(int(max(ax, bx) + 1.0) + 1, work.columns)
        for j in range(first, last):
            for i in range(left, right):
                x, y = i - line.x, j - line.y
                along = x * line.ux + y * line.uy
                if along > line.length or along <= -wedge:
                    continue
                across = y * line.ux - x * line.uy
                away = abs(across) if along >= 0.0 else math.sqrt(x * x + y * y)
                edge = radius - away
                if abs(edge) < CORNER:
                    foot = line.z + line.rise * max(along, 0.0)
                    share = covered(edge, line.ux, line.uy)
                    cut_share(work, j * work.columns + i, foot, form, share, across / radius, False)


@kernel
def cut_front(work: Work, line: Line, form: Form, back: float, ends: bool) -> None:
    """Cut the shares of cells on the edge of a tool at the end of a line, `back` behind its middle and further on."""
    radius = form.radius / form.cell
    x0, y0 = line.x + line.ux * line.length, line.y + line.uy * line.length
    foot = line.z + (line.rise * line.length if line.length > 0.0 else min(line.rise, 0.0))
    first, last = row_spans(x0, y0, line.ux, line.uy, 0.0, back, radius + CORNER, radius - CORNER, work)
    for j in range(first, last):
        at, y = j - first, j - y0
        for piece in range(2):
            for i in range(work.spans[2 * piece, at], work.spans[2 * piece + 1, at]):
                k = j * work.columns + i
                if work.rods[TOP, k] <= foot + LEAST:
                    continue
                x = i - x0
                away = math.sqrt(x * x + y * y)
                share = covered(radius - away, x / away, y / away)
                across = (y * line.ux - x * line.uy) / radius
                cut_share(work, k, foot, form, share, across, ends)
