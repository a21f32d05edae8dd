"""Blocks: each letter once, G and M words by their groups, and a reason for all that is not understood."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.program.blocks import Words, read_words
from firstoff.program.expressions import Variables
from firstoff.program.words import block_of


def words(text: str, variables: Variables | None = None) -> Words:
    return read_words(block_of(text, 5), variables or Variables())


def test_letters_and_groups() -> None:
    found = words("N10 G90 G1 X1 y-2.5 F[1+2] M3 M8 S100")
    assert found.numbers == {"X": 1.0, "Y": -2.5, "F": 3.0, "S": 100.0}
    assert found.g == {"distance": 900, "motion": 10} and found.m == {"spindle": 3, "coolant": 8}
    assert not found.told and not found.broken and not found.partly


def test_decimals_of_g_words_count() -> None:
    assert words("G59.1").g == {"zero": 591} and words("G01").g == {"motion": 10}
    assert words("G38.2").g == {"motion": 382} and words("G90.1G91").g == {"centre": 901, "distance": 910}


def test_variables_are_set_after_the_block_is_read() -> None:
    variables = Variables()
    variables[1] = 5.0
    assert words("#1=7 X#1 #2=#1", variables).numbers == {"X": 5.0}
    assert (variables[1], variables[2]) == (7.0, 5.0)


def test_a_variable_that_nobody_set_is_told_and_its_word_unknown() -> None:
    found = words("G1 X#33")
    assert math.isnan(found.numbers["X"]) and "X#33: #33 was never set" in found.told[0][0]


@pytest.mark.parametrize(("text", "piece"), [
    ("G1 X1 X2", "X2: X stands twice"), ("G0 G1", "G1: it excludes G0"), ("M3 M5", "M5: it excludes M3"),
    ("G1 X", "X: there is no number"), ("G1 X1.2.3", ".3: no word begins like this"), ("#1 5", "wants = and a value"),
    ("X[1/0]", "divides by zero"), ("N X1", "no number after N"), ("N1.5", "a whole one"), ("G1 Xa5", "is no number"),
    ("$H", "no word begins like this"), ("G1 X10,5 Y3", "X10,5: a comma; the decimals of a"),
    ("X[3,5]", "X[3,5: a comma"),
    (",5", ",5: a comma"), ("#0=1", "whole number"), ("X99999999999999", "too large"),
])
def test_a_block_that_cannot_be_read_is_broken_and_says_where(text: str, piece: str) -> None:
    found = words(text)
    assert found.broken and found.lasting and piece in found.told[0][0], found.told


@pytest.mark.parametrize(("text", "piece", "lasting"), [
    ("G5 X1", "G5 is not understood", True), ("G1.5", "G1.5 is not understood", True), ("G#9", "G#9", True),
    ("G1 A90", "A90: a rotary axis", True), ("G1 U5", "U5: another axis", True), ("G1 X1 E0.5", "E0.5: E has", False),
    ("M77", "M77 is not understood", False), ("M3.5", "M3.5 is not understood", False),
])
def test_a_word_that_is_not_understood_is_told(text: str, piece: str, lasting: bool) -> None:
    found = words(text)
    assert any(piece in what for what, _ in found.told) and found.lasting == lasting and not found.broken


def test_numbers_of_blocks_and_programs_may_be_huge() -> None:
    assert not words("N" + "9" * 300 + " G0").broken
    assert words("O00123 G0").program == 123 and not words("O" + "9" * 300).broken


def test_what_nothing_used_is_left_over() -> None:
    found = words("G1 X1 P2")
    assert found.take("X") == 1.0 and found.take("Y") is None
    assert found.leftovers() == ["P"]
    assert found.has("PQ") and not found.has("YZ")


@given(st.text("0123456789.-+[]#=GXYZFMTNO /%()*", max_size=60))
def test_any_line_is_read_or_told(text: str) -> None:
    found = words(text)
    assert found.broken <= bool(found.told)
    assert all(what.isprintable() for what, _ in found.told)


def test_a_line_that_comes_again_is_read_with_the_variables_as_they_are_then() -> None:
    variables = Variables()
    for k in (4.0, 2.0, 0.0):
        variables[1] = k
        found = words("G1 X[8/#1] Y#1 #1=[#1-1]", variables)
        assert found.broken == (k == 0.0)
        if found.broken:
            assert "8 / 0 divides by zero" in found.told[0][0] and "X[8/#1]" in found.told[0][0]
        else:
            assert found.numbers == {"X": 8.0 / k, "Y": k} and variables[1] == k - 1.0
    assert variables[1] == 0.0
    assert math.isnan(words("G1 X[8/#1] Y#1 #1=[#1-1]").numbers["X"])
