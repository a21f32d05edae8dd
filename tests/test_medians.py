"""Medians are those of the library, which takes longer to load."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from firstoff.medians import median, medians, point_of

SHAPES = st.tuples(st.integers(1, 9), st.integers(1, 9))
NUMBERS = st.floats(-1e12, 1e12) | st.just(float("nan"))


@given(arrays(np.float64, SHAPES, elements=NUMBERS), st.integers(0, 1))
def test_they_are_the_librarys(values: np.ndarray[tuple[int, int], np.dtype[np.float64]], axis: int) -> None:
    assert medians(values, axis) == pytest.approx(np.median(values, axis=axis), rel=1e-15, nan_ok=True)
    assert median(values) == pytest.approx(float(np.median(values)), rel=1e-15, nan_ok=True)


def test_a_number_alone_is_its_own() -> None:
    assert median(3.5) == 3.5
    assert median([1.0, 2.0]) == 1.5


@given(arrays(np.float64, SHAPES, elements=st.floats(-1e12, 1e12)), st.floats(0.0, 1.0))
def test_points_are_the_librarys(values: np.ndarray[tuple[int, int], np.dtype[np.float64]], share: float) -> None:
    scale = float(np.abs(values).max())
    assert point_of(values, share) == pytest.approx(float(np.quantile(values, share)), rel=1e-12, abs=1e-12 * scale)
