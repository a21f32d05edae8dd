"""Lines without comments and blanks, in capitals."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.program.words import SHOWN, NotUnderstood, block_of, keyword_at, shown


@pytest.mark.parametrize(("raw", "text"), [
    ("g1 x 1 . 5 y-2", "G1X1.5Y-2"),
    ("(all of it)", ""),
    ("G1 (feed) X1 (more) Y2", "G1X1Y2"),
    ("G1 X1 ; and (this) too", "G1X1"),
    ("G1 (a ; b) X1", "G1X1"),
    ("; (never closed", ""),
    ("% anything", ""),
    ("\tG0\r", "G0"), ("G1\0X1\x1a", "G1X1"),
    ("/ G0 X1", "G0X1"),
])
def test_a_block_is_its_words(raw: str, text: str) -> None:
    block = block_of(raw, 7)
    assert (block.text, block.told, block.line) == (text, (), 7)
    assert block.optional == raw.startswith("/")


@pytest.mark.parametrize(("raw", "text", "sign"), [
    ("G1 X1 (never closed Y2", "G1X1", "("), ("G1) X1", "G1X1", ")"), ("G1 (a (b) c) X1", "G1", "("),
])
def test_a_comment_without_its_other_end_is_told(raw: str, text: str, sign: str) -> None:
    block = block_of(raw, 1)
    assert block.text == text and sign in block.told[0]


@given(st.text(st.characters(codec="latin-1")))
def test_any_line_has_words_without_blanks(raw: str) -> None:
    assert not set(block_of(raw, 1).text) & set(" \t\r")


@given(st.text())
def test_what_is_shown_is_short_and_does_nothing_to_a_terminal(word: str) -> None:
    assert len(shown(word)) <= SHOWN + 1 and shown(word).isprintable()


@pytest.mark.parametrize(("text", "word"), [
    ("IF[#1]GOTO5", "IF"), ("WHILE[1]DO1", "WHILE"), ("GOTO5", "GOTO"), ("END1", "END"), ("DO1", "DO"), ("D1", ""),
    ("IFX1", ""), ("G0", ""), ("", ""),
])
def test_a_keyword_stands_before_a_bracket_or_a_number(text: str, word: str) -> None:
    assert keyword_at(text, 0) == word


def test_what_is_not_understood_is_an_error_of_input() -> None:
    assert str(NotUnderstood("why", where="line 3")) == "line 3: why"
