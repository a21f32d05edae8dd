"""Cells that a tool reaches anew, against each cell asked alone."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from firstoff.removal._cells import BINS, Work
from firstoff.removal._spans import band_spans, row_spans

ROWS, COLUMNS = 60, 70
WORK = Work(np.zeros((4, 1), dtype=np.float32), np.zeros(1, dtype=np.int32), np.zeros((2, 1), dtype=np.float32),
            np.zeros(1, dtype=np.int32), ROWS, COLUMNS, np.zeros((3, BINS)), np.zeros(2),
            np.zeros((4, ROWS), dtype=np.int32), np.zeros(COLUMNS, dtype=np.float32))
PLACE = st.floats(-10.0, 80.0)
ANGLE = st.floats(0.0, 2.0 * math.pi) | st.sampled_from([0.0, 0.5 * math.pi, math.pi, 1.5 * math.pi])


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
