"""Kernels: cells on the edge of a tool, of which it covers a share: beside its path, and all round where it stands."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ._cells import CORNER, LEAST, TOP, Line, below, covered, side, take
from ._round import Form, height_at
from ._spans import row_spans
from .compiling import inner, kernel

Reals = NDArray[np.float64]
Singles = NDArray[np.float32]
Counts = NDArray[np.int32]


@inner
def cut_share(
    rods: Singles, more: Counts, pool: Singles, links: Counts, k: int, foot: float, form: Form, share: float,
    across: float, ends: bool, book: Reals, edges: Reals,
) -> None:
    """Cut the share of a cell that the edge covers, the tip at `foot` [mm]; `ends`: the tool's end takes it."""
    if share <= 0.0:
        return
    low = height_at(form, form.radius - 0.5 * share * form.cell)
    top = float(rods[TOP, k])
    if top <= foot + low + LEAST:
        return
    removed = take(rods, more, pool, links, k, foot + low, share)
    if ends:
        below(book, removed)
    else:
        side(book, edges, across, low, top - foot, removed)


@kernel
def cut_beside(
    rods: Singles, more: Counts, pool: Singles, links: Counts, shape: tuple[int, int], line: Line, form: Form,
    wedge: float, book: Reals, edges: Reals,
) -> None:
    """Cut the shares of cells on both sides of a line.

    Args:
        rods: cells, see `_cells`.
        more: see `_cells`.
        pool: see `_cells`.
        links: see `_cells`.
        shape: rows and columns [1].
        line: the path.
        form: of the cutter.
        wedge: how far behind the start the last piece left a gap, because the path turned [cells].
        book: see `side`.
        edges: see `side`.
    """
    radius = form.radius / form.cell
    for hand in (-1.0, 1.0):
        mx, my = line.x - hand * line.uy * radius, line.y + hand * line.ux * radius
        ax, ay = mx - wedge * line.ux, my - wedge * line.uy
        bx, by = mx + line.length * line.ux, my + line.length * line.uy
        first, last = max(int(math.ceil(min(ay, by) - 1.0)), 0), min(int(max(ay, by) + 1.0) + 1, shape[0])
        left, right = max(int(math.ceil(min(ax, bx) - 1.0)), 0), min(int(max(ax, bx) + 1.0) + 1, shape[1])
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
                    cut_share(rods, more, pool, links, j * shape[1] + i, foot, form, share, across / radius,
                              False, book, edges)


@kernel
def cut_front(
    rods: Singles, more: Counts, pool: Singles, links: Counts, shape: tuple[int, int], line: Line, form: Form,
    back: float, ends: bool, book: Reals, edges: Reals, spans: Counts,
) -> None:
    """Cut the shares of cells on the edge of a tool at the end of a line, `back` behind its middle and further on."""
    radius = form.radius / form.cell
    x0, y0 = line.x + line.ux * line.length, line.y + line.uy * line.length
    foot = line.z + (line.rise * line.length if line.length > 0.0 else min(line.rise, 0.0))
    first, last = row_spans(x0, y0, line.ux, line.uy, 0.0, back, radius + CORNER, radius - CORNER, shape, spans)
    for j in range(first, last):
        at, y = j - first, j - y0
        for piece in range(2):
            for i in range(spans[2 * piece, at], spans[2 * piece + 1, at]):
                k = j * shape[1] + i
                if rods[TOP, k] <= foot + LEAST:
                    continue
                x = i - x0
                away = math.sqrt(x * x + y * y)
                share = covered(radius - away, x / away, y / away)
                across = (y * line.ux - x * line.uy) / radius
                cut_share(rods, more, pool, links, k, foot, form, share, across, ends, book, edges)
