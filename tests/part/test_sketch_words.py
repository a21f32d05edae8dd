"""Numbers, limits, fits and threads as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.part.sketch import Size, Sketch, SketchError
from firstoff.part.sketch_words import LARGEST, Words


def words(line: str, unit: str = "mm") -> Words:
    """The pieces of a line."""
    return Words(line, 7, Sketch(unit=unit, file="part.toml"))


@pytest.mark.parametrize(("line", "kinds"), [
    ("hole M4 deep 9 at 10,7; 10,27 # two",
     "word thread word number word number mark number mark number mark number"),
    ("pocket 26.4x13.4", "word number word number"), ("4 H7", "number fit"), ("34 h9", "number fit"),
    ("at 8 js7, 2", "word number fit mark number"), ("corner R2", "word word number"),
    ("Ø4.5 ±0.05 +0.1/-0", "number both two"), ("9.6 × 90°", "number mark number"), ("M5x0.5", "thread"),
])
def test_pieces(line: str, kinds: str) -> None:
    assert " ".join(token.kind for token in words(line).tokens) == kinds


@pytest.mark.parametrize(("text", "unit", "value"), [
    ("4", "mm", 4.0), ("4.5", "mm", 4.5), (".5", "mm", 0.5), ("4.", "mm", 4.0), ("1/4", "in", 6.35),
    ("1 1/4", "in", 31.75), ("1-1/4", "in", 31.75), ("6 mm", "in", 6.0), ("6mm", "in", 6.0), ('1/2"', "mm", 12.7),
    ("2 in", "mm", 50.8), ("-3", "mm", -3.0), ("+3", "mm", 3.0),
])
def test_lengths(text: str, unit: str, value: float) -> None:
    assert words(text, unit).length("size", None) == pytest.approx(value)


@pytest.mark.parametrize(("text", "size"), [
    ("5 ±0.05", Size(5, -0.05, 0.05)), ("5 +/-0.05", Size(5, -0.05, 0.05)), ("5 +0.1/-0", Size(5, 0.0, 0.1)),
    ("5 +0.1 / -0.05", Size(5, -0.05, 0.1)), ("5 0/-0.1", Size(5, -0.1, 0.0)),
    ("5 -0.02/-0.05", Size(5, -0.05, -0.02)),
    ("5 +0.05/+0.02", Size(5, 0.02, 0.05)), ("5 H7", Size(5, fit="H7")),
    ("5 h6", Size(5, fit="h6")), ("5 q6", Size(5)), ("5", Size(5)),
    ("5 +0.1/0", Size(5, 0.0, 0.1)),
])
def test_limits(text: str, size: Size) -> None:
    assert words(text).size("size") == size


def test_limits_are_in_the_unit_of_the_file() -> None:
    size = words("1 ±0.001", "in").size("size")
    assert (size.value, size.lower, size.upper) == pytest.approx((25.4, -0.0254, 0.0254))


@pytest.mark.parametrize(("text", "at", "says"), [
    ("0", "0", "nothing"), ("-2", "-2", "negative"), ("4,5", "4,5", "comma"), ("four", "four", "should come"),
    ("90 deg", "90 deg", "angle"), ("1/0", "1/0", "divides by nothing"), ("9999999", "9999999", "too large"),
    ("4000 in", "4000 in", "too large"), ("", "", "the line ends"), ("5 ±0", "±0", "no room"),
    ("5 ±0,05", "±0", "has a comma"),
    ("5 ±6", "±6", "be nothing"), ("?", "?", "not understood"),
])
def test_a_wrong_size_is_told_with_its_word(text: str, at: str, says: str) -> None:
    if text == "4000 in":
        text = at = "4001 in"
    with pytest.raises(SketchError, match=says) as caught:
        words(text).size("size")
    assert caught.value.where == "part.toml, line 7" + (f", at {at!r}" if at else "")


def test_a_word_that_is_nearly_right_is_guessed() -> None:
    with pytest.raises(SketchError) as caught:
        words("thruogh").word(("through", "deep"), "how deep")
    assert caught.value.right == "did you mean 'through'?"


@given(st.floats(min_value=1e-4, max_value=LARGEST / 26), st.sampled_from(["mm", "in"]))
def test_a_decimal_is_read_to_the_last_digit(value: float, unit: str) -> None:
    text = f"{value:.9f}"
    assert words(text, unit).length("size") == pytest.approx(float(text) * {"mm": 1.0, "in": 25.4}[unit], rel=1e-15)
