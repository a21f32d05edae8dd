"""Cells that a tool reaches anew, against each cell asked alone."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from firstoff.removal import _spans
from firstoff.removal._cells import BINS, Line, Work
from firstoff.removal.compiling import entry
from firstoff.removal.cutters import contact_places
from tests.removal.paths import CUTTERS

ROWS, COLUMNS = 60, 70
WORK = Work(np.zeros((4, 1), dtype=np.float32), np.zeros(1, dtype=np.int32), np.zeros((2, 1), dtype=np.float32),
            np.zeros(1, dtype=np.int32), ROWS, COLUMNS, np.zeros((3, BINS)), np.zeros(2),
            np.zeros((4, ROWS), dtype=np.int32), np.zeros(1, dtype=np.int32), np.zeros((4, 1), dtype=np.float32),
            0.0)
PLACE = st.floats(-10.0, 80.0)
ANGLE = st.floats(0.0, 2.0 * math.pi) | st.sampled_from([0.0, 0.5 * math.pi, math.pi, 1.5 * math.pi])


@entry
def row_spans(
    x0: float, y0: float, ux: float, uy: float, length: float, back: float, outer: float, inside: float, work: Work,
) -> tuple[int, int]:
    """A way in from outside."""
    return _spans.row_spans(x0, y0, ux, uy, length, back, outer, inside, work)


@entry
def band_spans(
    x0: float, y0: float, ux: float, uy: float, back: float, ahead: float, outer: float, work: Work,
) -> tuple[int, int]:
    """A way in from outside."""
    return _spans.band_spans(x0, y0, ux, uy, back, ahead, outer, work)


@entry
def crescent_spans(line: Line, outer: float, work: Work) -> tuple[int, int]:
    """A way in from outside."""
    return _spans.crescent_spans(line, outer, work)


@entry
def dome_spans(
    line: Line, ahead: NDArray[np.float32], radius: float, slack: float, outer: float, work: Work,
) -> tuple[int, int, int]:
    """A way in from outside."""
    return _spans.dome_spans(line, ahead, radius, slack, outer, work)


def told(first: int, last: int, pieces: int) -> NDArray[np.bool_]:
    """The cells of the spans."""
    cells = np.zeros((ROWS, COLUMNS), dtype=np.bool_)
    for row in range(first, last):
        for piece in range(pieces):
            begin, end = WORK.spans[2 * piece:2 * piece + 2, row - first]
            assert 0 <= begin <= COLUMNS and end <= COLUMNS
            assert not cells[row, begin:end].any()
            cells[row, begin:end] = True
    return cells


def seen_from(x0: float, y0: float, angle: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Each cell along a line and across it."""
    y, x = np.mgrid[0:ROWS, 0:COLUMNS].astype(np.float64)
    c, s = math.cos(angle), math.sin(angle)
    return (x - x0) * c + (y - y0) * s, (y - y0) * c - (x - x0) * s


def agree(cells: NDArray[np.bool_], inside: NDArray[np.bool_], border: NDArray[np.float64]) -> None:
    """All cells are as they should be but for those on the border itself."""
    assert (cells == inside)[np.abs(border) > 1e-6].all()


@settings(deadline=None)
@given(PLACE, PLACE, ANGLE, st.floats(0.0, 20.0), st.floats(0.5, 25.0), st.floats(0.0, 1.0), st.booleans())
def test_newly_reached(
    x0: float, y0: float, angle: float, length: float, outer: float, share: float, whole: bool,
) -> None:
    back, inner = (outer + 2.0, 0.0) if whole else (0.0, share * outer)
    first, last = row_spans(x0, y0, math.cos(angle), math.sin(angle), length, back, outer, inner, WORK)
    along, across = seen_from(x0, y0, angle)
    away = np.hypot(along - np.clip(along, 0.0, length), across)
    begun = np.hypot(along, across)
    border = np.minimum(np.abs(away - outer), np.minimum(np.abs(begun - inner), np.abs(along + back)))
    agree(told(first, last, 2), (away < outer) & (along > -back) & (begun > inner), border)


@settings(deadline=None)
@given(PLACE, PLACE, ANGLE, st.floats(0.0, 20.0), st.floats(0.0, 20.0), st.floats(0.5, 25.0))
def test_band(x0: float, y0: float, angle: float, back: float, ahead: float, outer: float) -> None:
    first, last = band_spans(x0, y0, math.cos(angle), math.sin(angle), back, ahead, outer, WORK)
    along, across = seen_from(x0, y0, angle)
    border = np.minimum(np.minimum(np.abs(along + back), np.abs(along - ahead)), np.abs(np.abs(across) - outer))
    agree(told(first, last, 1), (along > -back) & (along < ahead) & (np.abs(across) < outer), border)


@settings(deadline=None)
@given(PLACE, PLACE, ANGLE, st.floats(0.01, 20.0), st.floats(0.5, 25.0))
def test_crescent(x0: float, y0: float, angle: float, length: float, outer: float) -> None:
    """As the spans of rows, but for a seam that is reached twice, so that nothing between two moves is left out."""
    ux, uy = math.cos(angle), math.sin(angle)
    first, last = crescent_spans(Line(x0, y0, 0.0, ux, uy, length, 0.0), outer, WORK)
    along, across = seen_from(x0, y0, angle)
    away = np.hypot(along - np.clip(along, 0.0, length), across)
    begun = np.hypot(along, across)
    cells = told(first, last, 2)
    assert cells[(away < outer - 1e-4) & (begun > outer + 1e-4)].all()
    assert not cells[(away > outer + 1e-4) | (begun < outer - 0.002 - 1e-4)].any()


@settings(deadline=None)
@given(st.sampled_from(sorted(CUTTERS)), PLACE, PLACE, ANGLE, st.floats(0.1, 8.0), st.integers(1, 95),
       st.sampled_from([-1.0, 1.0]), st.floats(0.5, 3.0), st.floats(0.3, 1.0))
def test_dome(
    name: str, x0: float, y0: float, angle: float, length: float, slope: int, sign: float, slack: float, share: float,
) -> None:
    """Not one cell is left out whose lowest place is passed; and those beside are few."""
    radius = 20.0
    outer, ahead = share * (radius - 0.70711), (sign * contact_places(CUTTERS[name])[slope]).astype(np.float32)
    line = Line(x0, y0, 0.0, math.cos(angle), math.sin(angle), length, sign)
    base, first, last = dome_spans(line, ahead, radius, slack, outer, WORK)
    along, across = seen_from(x0, y0, angle)
    ratio = np.interp(np.abs(across) / radius, np.linspace(0.0, 1.0, len(ahead)), ahead)
    passed = along - ratio * np.sqrt(np.maximum(radius**2 - across**2, 0.0))
    wanted = (np.abs(across) <= outer) & (passed >= -slack) & (passed <= length)
    cells = np.zeros((ROWS, COLUMNS), dtype=np.bool_)
    for row in range(first, last):
        for piece in range(2):
            begin, end = WORK.spans[2 * piece:2 * piece + 2, row - base]
            cells[row, begin:max(begin, end)] = True
    assert cells[wanted].all()
    assert cells.sum() <= 4 * wanted.sum() + 12 * radius
