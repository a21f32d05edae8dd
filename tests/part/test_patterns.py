"""Features that repeat are found in whatever order they come, and nothing else is."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.part import patterns
from firstoff.part.shapes import Feature, Vector

UP: Vector = (0.0, 0.0, 1.0)


def hole(number: int, x: float, y: float, z: float = 0.0, axis: Vector = UP, diameter: float = 5.0) -> Feature:
    """A hole at a place."""
    return Feature(f"hole-{number}", "hole", (number,), axis=axis, axis_point=(x, y, z), size={"diameter": diameter})


def placed(points: list[tuple[float, float]]) -> list[Feature]:
    """Holes at these places, in a random order."""
    points = list(points)
    random.Random(1).shuffle(points)
    return [hole(k, x, y) for k, (x, y) in enumerate(points)]


@given(st.integers(3, 9), st.floats(1, 50), st.floats(0, 6))
def test_a_line(count: int, pitch: float, angle: float) -> None:
    at = [(k * pitch * math.cos(angle), k * pitch * math.sin(angle)) for k in range(count)]
    (found,) = patterns.find(placed(at))
    assert (found.kind, len(found.features)) == ("line", count)
    assert found.size == pytest.approx({"pitch": pitch})


@given(st.integers(2, 5), st.integers(2, 5), st.floats(2, 40), st.floats(2, 40))
def test_a_grid(along: int, across: int, pitch: float, other: float) -> None:
    (found,) = patterns.find(placed([(i * pitch, j * other) for i in range(along) for j in range(across)]))
    assert (found.kind, len(found.features)) == ("grid", along * across)
    assert sorted(found.size.values()) == pytest.approx(sorted((pitch, other)))


@given(st.integers(5, 12), st.floats(5, 80), st.floats(0, 1))
def test_a_circle(count: int, diameter: float, start: float) -> None:
    turn = 2 * math.pi / count
    angles = [start + k * turn for k in range(count)]
    at = [(diameter / 2 * math.cos(a), diameter / 2 * math.sin(a)) for a in angles]
    (found,) = patterns.find(placed(at))
    assert (found.kind, len(found.features)) == ("circle", count)
    assert found.size == pytest.approx({"diameter": diameter})


def test_two_circles_about_one_middle() -> None:
    at = [(r * math.cos(k * math.pi / 3), r * math.sin(k * math.pi / 3)) for r in (10, 20) for k in range(6)]
    found = patterns.find(placed(at))
    assert sorted(p.size["diameter"] for p in found) == pytest.approx([20, 40])


def test_other_sizes_heights_and_directions_do_not_belong() -> None:
    odd = [hole(1, 0, 0), hole(2, 10, 0, diameter=6.0), hole(3, 27, 0, z=3.0), hole(4, 41, 5, axis=(1.0, 0.0, 0.0))]
    assert patterns.find(odd) == ()


def test_uneven_places_are_alike_and_no_more() -> None:
    (found,) = patterns.find(placed([(0, 0), (10, 0), (21, 3), (30, -8)]))
    assert found.kind == "alike"


def test_pairs_about_one_plane_are_told_together() -> None:
    left, right = (-1.0, 0.0, 0.0), (1.0, 0.0, 0.0)
    sides = [hole(1, -20, 5, 7, left), hole(2, 30, 5, 7, right), hole(3, 0, 3, 9), hole(4, 10, 3, 9)]
    (found,) = patterns.find(sides)
    assert (found.kind, found.size) == ("mirror", {"x": 5.0})
    assert set(found.features) == {"hole-1", "hole-2", "hole-3", "hole-4"}
    assert "hole-1 and hole-2" in patterns.words(found)


def test_the_first_of_a_pattern_tells_it() -> None:
    told = patterns.noted(placed([(0, 0), (10, 0), (20, 0)]))
    assert [len(f.notes) for f in told] == [1, 0, 0]
    assert told[0].notes[0].startswith("3 alike in a line, 10 apart")
