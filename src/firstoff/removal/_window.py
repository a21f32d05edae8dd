"""Kernels: what a stretch of path has removed, as one row of windows and a few of slices."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ._cells import BINS, FLOOR, HIGHEST, LOWEST, SAME, VOLUME, Work, larger, long, smaller
from ._round import Form
from .compiling import inner, kernel

Reals = NDArray[np.float64]

THIN = 0.08         #: fuller than this a bin counts as engaged
HOLLOW = 0.8        #: less full than this in its middle, an arc of engagement is not engaged all along
NEAR = 0.5          #: [cells] so near to the side of the tool an arc of engagement ends there
LEAST_SHARE = 1.0e-3    #: of a window's volume: less makes no slice

#: Columns of `rows`: path and time, volumes, sizes and angles.
S0, S1, SECONDS, WHOLE, BY_END, DEPTH, WIDTH, ENTRY, EXIT, PLACE = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9
#: Columns of `slices`.
Z0, Z1, SLICE_ENTRY, SLICE_EXIT, SLICE_VOLUME, STEEP = 0, 1, 2, 3, 4, 5


@kernel
def radius_at(form: Form, z: float) -> float:
    """Radius of the cutter at a height above its tip [mm]; of one with a neck, of its teeth alone."""
    if form.neck > 0.0:
        if z > form.head:
            return 0.0
        return form.radius - (form.radius - form.neck) * (z - form.land) / (form.head - form.land) if (
            z > form.land) else form.radius
    if z < form.bend_z:
        rest = form.arc - z
        return form.flat + math.sqrt(larger(form.arc * form.arc - rest * rest, 0.0))
    if form.slope > 0.0:
        return smaller(form.bend + (z - form.bend_z) / form.slope, form.radius)
    return form.radius


@kernel
def steepness(form: Form, z: float) -> float:
    """Sine of the angle between the cutter's normal at a height above its tip and its axis [1]."""
    if form.neck > 0.0:
        high, wide = form.head - form.land, form.radius - form.neck
        return high / math.sqrt(high * high + wide * wide) if z > form.land else 1.0
    if z < form.bend_z:
        return math.sqrt(larger(form.arc * form.arc - (form.arc - z) * (form.arc - z), 0.0)) / form.arc
    if form.slope > 0.0 and form.bend + (z - form.bend_z) / form.slope < form.radius:
        return form.slope / math.sqrt(1.0 + form.slope * form.slope)
    return 1.0


@kernel
def next_arc(work: Work, k: int, begin: int, thin: float, gap: int) -> tuple[int, int, float]:
    """The next bins that are engaged, from `begin` on: the first, the one after the last, height of chip in them.

    Rows of cells may leave up to `gap` bins empty where they run along the path.
    """
    first = begin
    while first < BINS and work.book[k, first] <= thin:
        first += 1
    last, here, b = first, 0.0, first
    while b < BINS and b - last <= gap:
        if work.book[k, b] > thin:
            last = b + 1
        b += 1
    for b in range(first, last):
        here += work.book[k, b]
    return first, larger(last, first + 1), here


@kernel
def arc_of(work: Work, k: int, first: int, last: int, full: float, reach: float, near: float) -> tuple[float, float]:
    """Right and left end of an arc of engagement, over the radius.

    Args:
        work: in whose book.
        k: slice.
        first: its first bin.
        last: the bin after its last one.
        full: height of chip in a bin that is engaged all along.
        reach: radius of the cutter at this slice over its greatest [1].
        near: so near to the side of the tool it ends there [1].

    Returns:
        Right and left end, -1 to 1 [1].
    """
    whole = moment = inner = 0.0
    for b in range(first, last):
        whole += work.book[k, b]
        moment += work.book[k, b] * ((b + 0.5) * (2.0 / BINS) - 1.0)
        if first + 1 < b < last - 2:
            inner += work.book[k, b]
    if last - first > 8 and inner < HOLLOW * full * (last - first - 4):
        full = inner / (last - first - 4)
    width = smaller(whole / full * (2.0 / BINS), 2.0 * reach)
    middle = moment / whole
    left, right = middle + 0.5 * width, middle - 0.5 * width
    if left > reach - near and reach - left <= right + reach:
        return larger(reach - width, -reach), reach
    if right < near - reach:
        return -reach, smaller(width - reach, reach)
    return right, left


@kernel
def slice_up(work: Work, form: Form, path: float, slices: Reals, used: int) -> tuple[int, int, float]:
    """Write the slices of a window.

    Args:
        work: in whose book.
        form: of the cutter.
        path: length as seen from above [mm].
        slices: written here from `used` on.
        used: how many were written before.

    Returns:
        How many are written now, which of them is the largest, its width [mm].
    """
    sums, size = len(work.edges), form.cell * form.cell
    low, high = work.book[sums, LOWEST], work.book[sums, HIGHEST]
    least = LEAST_SHARE * work.book[sums, VOLUME]
    largest, width, most = -1, 0.0, 0.0
    gap = int(form.cell * (0.5 * BINS) / form.radius) + 1
    for k in range(len(work.edges) - 1):
        z0, z1 = larger(work.edges[k], low), smaller(work.edges[k + 1], high) if k < len(work.edges) - 2 else high
        if z1 <= z0:
            continue
        reach = smaller(radius_at(form, 0.5 * (z0 + z1)) / form.radius, 1.0)
        full = path * (z1 - z0) * (2.0 * form.radius / BINS) / size
        last = long(0)
        while last < BINS:
            first, last, here = next_arc(work, k, last, THIN * full, gap)
            if here > least:
                right, left = arc_of(work, k, first, last, full, reach, NEAR * form.cell / form.radius)
                slices[used, Z0], slices[used, Z1] = z0, z1
                slices[used, SLICE_ENTRY] = math.acos(smaller(larger(left / reach, -1.0), 1.0))
                slices[used, SLICE_EXIT] = math.acos(smaller(larger(right / reach, -1.0), 1.0))
                slices[used, SLICE_VOLUME] = here * size
                slices[used, STEEP] = steepness(form, 0.5 * (z0 + z1))
                if here > most:
                    largest, width, most = used, (left - right) * form.radius, here
                used += 1
    return used, largest, width


@inner
def spread_same(work: Work) -> None:
    """Divide the rods that go from the tip to the same height among the slices."""
    sums, last = len(work.edges), len(work.edges) - 2
    high = work.book[sums, SAME]
    for k in range(last + 1):
        low, top = work.edges[k], high if k == last else smaller(work.edges[k + 1], high)
        if top > low:
            share = (top - low) / high
            for b in range(BINS):
                work.book[k, b] += share * work.book[sums - 1, b]


@kernel
def close(work: Work, form: Form, path: float, row: Reals, slices: Reals, used: int) -> int:
    """Write the volumes, sizes and angles of a window, empty the book; how many slices there are now."""
    sums, size = len(work.edges), form.cell * form.cell
    spread_same(work)
    row[WHOLE], row[BY_END] = work.book[sums, VOLUME] * size, work.book[sums, FLOOR] * size
    row[DEPTH] = row[WIDTH] = row[ENTRY] = row[EXIT] = 0.0
    if path > 0.0 and work.book[sums, HIGHEST] > work.book[sums, LOWEST]:
        used, largest, row[WIDTH] = slice_up(work, form, path, slices, used)
        row[DEPTH] = work.book[sums, HIGHEST] - work.book[sums, LOWEST]
        if largest >= 0:
            row[ENTRY], row[EXIT] = slices[largest, SLICE_ENTRY], slices[largest, SLICE_EXIT]
    clear(work)
    return used


@kernel
def clear(work: Work) -> None:
    """Nothing is removed yet."""
    for k in range(len(work.book)):
        for b in range(BINS):
            work.book[k, b] = 0.0
    work.book[len(work.book) - 1, LOWEST] = 1.0e9
