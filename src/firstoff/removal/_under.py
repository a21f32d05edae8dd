"""Kernels: a cutter that is wider than its neck (T-slot, Woodruff, dovetail) along a line or straight down.

It takes from a rod what lies between its end and the upper side of its head, so that rods get hollows. Cells are cut
whole where their middle is reached: a wall of an undercut is true to the nearest cell, and on the average where it
is, since the grid lies at an angle. A window of 1 mm then scatters by 1 in 100 of its volume, one of 2 mm by half.
What a person sees, the slot above it, was cut before by another cutter; the neck must find room in it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ._cells import BOTTOM, LEAST, PART, TOP, Line, Work, below, larger, long, side, smaller, spot
from ._from_side import take_between, whole
from ._pieces import PX, PY, PZ, QX, QY, QZ
from ._round import Form
from ._spans import row_spans
from .compiling import entry, inner, kernel

Reals = NDArray[np.float64]

SHORTEST = 1.0e-6   # as in `_drive`


@inner
def head_at(form: Form, away: float) -> float:
    """Height of the upper side of the head above the tip, `away` from the axis [mm]."""
    if away <= form.neck:
        return form.head
    return form.head - (form.head - form.land) * (away - form.neck) / (form.radius - form.neck)


@inner
def highest_over(form: Form, line: Line, along: float, across: float, first: float, last: float) -> float:
    """How high a head reaches over a cell as it goes from `first` to `last` along a line [cells]: as its upper side
    is nowhere hollow, at one of both, where it is nearest, where flank and path are as steep, or at its neck."""
    size, slope = form.cell, (form.head - form.land) / (form.radius - form.neck)
    rise = line.rise / size
    steep = slope * slope - rise * rise
    flank = along + (across * rise / math.sqrt(steep) if steep > 0.0 else 0.0)
    inner_half = math.sqrt(larger((form.neck / size) ** 2 - across * across, 0.0))
    found = -1.0e9
    for k in range(6):
        t = (first if k == 0 else last if k == 1 else along if k == 2 else flank if k == 3 else along - inner_half
             if k == 4 else along + inner_half)
        t = smaller(larger(t, first), last)
        away = math.sqrt(across * across + (along - t) * (along - t)) * size
        found = larger(found, line.z + line.rise * t + head_at(form, away))
    return found


@inner
def cut_hollow(work: Work, k: int, low: float, high: float, tip: float, across: float, ends: bool) -> None:
    """Take what a rod has between two heights, and book it: by the side of the head, or by its end."""
    top, bottom, place = float(work.rods[TOP, spot(k)]), float(work.rods[BOTTOM, spot(k)]), int(work.more[spot(k)])
    found = False
    while True:
        one, other = larger(low, bottom), smaller(high, top)
        if other > one + LEAST:
            found = True
            if ends:
                below(work, other - one)
            else:
                side(work, across, larger(one - tip, 0.0), other - tip, other - one)
        if place < 0:
            break
        top, bottom = float(work.pool[TOP, place]), float(work.pool[BOTTOM, place])
        place = int(work.links[place])
    if found:
        take_between(work, k, low, high)


@inner
def under_cell(work: Work, row: int, column: int, line: Line, form: Form, sense: float) -> None:
    """Take from one cell what the head goes through along a line; `sense` -1 where the stock lies turned over."""
    k, radius = row * work.columns + column, form.radius / form.cell
    if work.rods[TOP, spot(k)] < -0.5e9:
        return
    x, y = column - line.x, row - line.y
    along, across = x * line.ux + y * line.uy, y * line.ux - x * line.uy
    half = math.sqrt(larger(radius * radius - across * across, 0.0))
    first, last = larger(along - half, 0.0), smaller(along + half, line.length)
    if line.length == 0.0:
        low, high = line.z + smaller(line.rise, 0.0), line.z + larger(line.rise, 0.0)
        high += head_at(form, math.sqrt(x * x + y * y) * form.cell)
        tip = low
    else:
        low = line.z + line.rise * (first if line.rise > 0.0 else last)
        high, tip = highest_over(form, line, along, across, first, last), line.z + line.rise * first
    if sense < 0.0:
        low, high = -high, -low
    if work.rods[PART, spot(k)] > 0.0 and work.rods[TOP, spot(k)] > low and work.rods[BOTTOM, spot(k)] < high:
        whole(work, k)
    cut_hollow(work, k, low, high, tip, across / radius, line.length == 0.0)


@kernel
def cut_under(work: Work, form: Form, line: Line, sense: float, begun: bool) -> None:
    """Cut by a head along a line, or straight up or down; `begun` where what it reaches at the start is cut.

    On a level way nothing more is cut then behind the start, nor where the head has its whole height over a cell.
    """
    radius = form.radius / form.cell
    whole_to = form.radius if form.land >= form.head else form.neck
    level = begun and line.rise == 0.0 and line.length > 0.0
    first, last = row_spans(
        line.x, line.y, line.ux, line.uy, line.length, 0.0 if level else radius + 2.0, radius,
        whole_to / form.cell if level else 0.0, work)
    for j in range(first, last):
        for piece in range(2):
            for i in range(work.spans[2 * piece, j - first], work.spans[2 * piece + 1, j - first]):
                under_cell(work, j, long(i), line, form, sense)


@inner
def cramped(work: Work, form: Form, length: float) -> bool:
    """Whether a piece of path of this length [cells] might fill the pool of hollows."""
    wide = 2.0 * form.radius / form.cell + 3.0
    last = len(work.links) - 1
    return bool(work.links[last] + 2.0 * wide * (wide + length) >= last)


@entry
def cut_all_under(work: Work, form: Form, pieces: Reals, begin: int, sense: float) -> int:
    """Cut stock by the pieces of an earlier setting; see `cut_under` and `_pieces`; its book is of no use.

    Returns:
        The piece at which the pool had no more room; their number where all are cut.
    """
    for p in range(begin, len(pieces)):
        piece = pieces[p]
        dx, dy, dz = piece[QX] - piece[PX], piece[QY] - piece[PY], piece[QZ] - piece[PZ]
        length = math.sqrt(dx * dx + dy * dy)
        if cramped(work, form, length):
            return p
        goes = length > SHORTEST
        ux, uy = (dx / length, dy / length) if goes else (1.0, 0.0)
        line = Line(piece[PX], piece[PY], piece[PZ], ux, uy, length if goes else 0.0, dz / length if goes else dz)
        cut_under(work, form, line, sense, False)
    return len(pieces)
