"""A digest comes back from JSON as it went in, to the last bit."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.part import digest
from firstoff.part.shapes import ModelDatum, ModelLimit, Vector, View
from tests.part import models

numbers = st.floats(allow_nan=False, allow_infinity=False)
vectors = st.tuples(numbers, numbers, numbers)


@pytest.mark.parametrize("name", models.NAMES)
def test_a_part_comes_back(name: str) -> None:
    part = models.example(name)
    assert digest.from_json(digest.to_json(part)) == part
    assert hash(digest.from_json(digest.to_json(part)).faces) == hash(part.faces), "tuples all through"


@given(vectors, numbers, st.none() | numbers, st.text())
def test_any_number_comes_back(corner: Vector, volume: float, value: float | None, remark: str) -> None:
    limit = ModelLimit("flatness", (1, 2), value)
    part = replace(models.example("cap"), low=corner, volume=volume, limits=(limit,), remarks=(remark,))
    assert digest.from_json(digest.to_json(part)) == part


@given(st.lists(st.lists(st.tuples(numbers, numbers), min_size=2).map(tuple), max_size=3).map(tuple), vectors)
def test_drawings_come_back(lines: tuple[tuple[tuple[float, float], ...], ...], up: Vector) -> None:
    view = View("plan", up, lines, lines, (0.0, 0.0), up, up)
    assert digest.views_of(json.loads(digest.views_json([view, view]))) == (view, view)


def test_what_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="JSON"):
        digest.to_json(replace(models.example("cap"), volume=float("nan")))


def test_the_parts_of_a_plan_come_back_and_a_broken_text_is_none() -> None:
    parts = {name: models.example(name) for name in models.NAMES}
    text = digest.parts_json(parts)
    assert digest.parts_of(text, {}) == parts
    again = digest.parts_of(text, parts)
    assert again == parts and all(again[name] is parts[name] for name in parts), "of the same model it is at hand"
    for broken in (text[:-20], "", "[]", '{"parts": 3}', '{"parts": {"body": {}}}'):
        assert digest.parts_of(broken, {}) == {}


def test_limits_and_datums_come_back() -> None:
    limit = ModelLimit("position", (1, 2), 0.05, datums=("A", "B-C"), text="at least material", between=((1,), (2,)))
    part = replace(models.example("cap"), limits=(limit,), datums=(ModelDatum("A", (3,), ("A1",)),))
    assert digest.from_json(digest.to_json(part)) == part
