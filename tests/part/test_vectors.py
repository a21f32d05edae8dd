"""Small sums with directions."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from firstoff.part import vectors
from firstoff.part.shapes import Vector

parts = st.floats(min_value=-100, max_value=100)
free = st.tuples(parts, parts, parts)


@given(free, free)
def test_products(a: Vector, b: Vector) -> None:
    assert vectors.dot(vectors.cross(a, b), a) == pytest.approx(0, abs=1e-6)
    lagrange = vectors.norm(vectors.cross(a, b)) ** 2 + vectors.dot(a, b) ** 2
    assert lagrange == pytest.approx(vectors.dot(a, a) * vectors.dot(b, b), abs=1e-6)
    assert vectors.sub(vectors.along(a, b, 1.0), a) == pytest.approx(b, abs=1e-9)


@given(free)
def test_directions(a: Vector) -> None:
    assume(vectors.norm(a) > 1e-3)
    way = vectors.unit(a)
    assert vectors.norm(way) == pytest.approx(1)
    assert vectors.parallel(way, vectors.minus(way))
    assert not vectors.same(way, vectors.minus(way))
    assert vectors.same(vectors.clean(way), way)
    assert vectors.upwards_first(way) == vectors.upwards_first(vectors.minus(way)) or math.isclose(
        *sorted(map(abs, way))[1:], rel_tol=1e-5)
    nearest = vectors.nearest_axis(way)
    assert vectors.dot(nearest, way) == pytest.approx(max(map(abs, way)))
    assert len(vectors.distinct([way, way, vectors.minus(way)])) == 2


def test_square_and_span() -> None:
    assert vectors.square_to((1, 0, 0), (0, 0.6, 0.8))
    assert not vectors.square_to((1, 0, 0), (0.6, 0.8, 0))
    assert vectors.span([(1, 2, 3), (4, 0, 9)], (0, 0, 1)) == (3, 9)
    assert vectors.clean((1e-13, -1.0, 0.0)) == (0, -1, 0)
